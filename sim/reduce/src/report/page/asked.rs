//! The values at the frequencies that were asked for.

use jigwise_bench::words::circle;
use jigwise_physics::Trust;
use jigwise_quantity::{engineering, fixed, plus_minus};
use maud::{Markup, html};

use super::paragraph;
use crate::report::Gathered;
use crate::{COVERAGE_FACTOR as K, PartPoint};

/// Nothing where none was asked for.
pub(super) fn section(all: &Gathered) -> Markup {
    if all.asked.is_empty() {
        return html! {};
    }
    let inside = html! {
        @for (asked_hz, point) in &all.asked {
            h3 { "At " (hertz(*asked_hz)) } "\n"
            @match point {
                Some(point) => { (told(*asked_hz, point)) }
                None => { (paragraph("No point of this sweep could be told there.")) }
            }
        }
        @if all.is_known() {
            (paragraph(&format!("± is k = {} times the standard uncertainty, about 95\u{202f}%.", fixed(K, 0))))
        }
    };
    super::section("asked", "At the frequencies asked for", &inside)
}

fn hertz(freq_hz: f64) -> String {
    jigwise_quantity::without_zeros(&engineering(freq_hz, "Hz", 7))
}

fn told(asked_hz: f64, point: &PartPoint) -> Markup {
    let rows = rows(point);
    html! {
        @if (point.freq_hz - asked_hz).abs() > 1e-6 * asked_hz {
            (paragraph(&format!("The nearest point that was measured is {}.", hertz(point.freq_hz))))
        }
        dl class="values" { "\n"
            @for (name, value) in rows { dt { (name) } dd { (value) } "\n" }
        } "\n"
    }
}

/// One value for each quantity, with its ± where that has a meaning and the region where it has
/// not.
fn rows(point: &PartPoint) -> Vec<(&'static str, String)> {
    let Some(z) = point.device().impedance() else {
        return vec![("Z", "open".to_owned())];
    };
    let is_linear = point.trust() == Some(Trust::Linear);
    let region = point
        .region()
        .filter(|_| point.trust().is_some() && !is_linear);
    if let Some(region) = region {
        let region = circle(region.center_ohm, region.radius_ohm, region.is_inside);
        return vec![("Z, 95\u{202f}%", region)];
    }
    let value = |value: f64, u: Option<f64>, unit| match u {
        Some(u) => plus_minus(value, K * u, unit),
        None => engineering(value, unit, 5),
    };
    let (u_r, u_x) = point.uncertainty_ohm().unzip();
    let (along, across) = point.polar_uncertainty_ohm().unzip();
    let size = z.norm();
    let angle = across.map(|across| (across / size).to_degrees());
    let mut rows = vec![
        ("R", value(z.re, u_r, "Ω")),
        ("X", value(z.im, u_x, "Ω")),
        ("|Z|", value(size, along, "Ω")),
    ];
    if size > 0.0 {
        let deg = z.arg().to_degrees();
        let told = match angle {
            Some(u) => {
                let decimals = (1.0 - (K * u).log10().floor()).clamp(0.0, 3.0) as usize;
                format!("{} ± {}°", fixed(deg, decimals), fixed(K * u, decimals))
            }
            None => jigwise_quantity::angle(deg, 2),
        };
        rows.push(("Phase", told));
    }
    rows
}
