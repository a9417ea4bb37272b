use std::io::Write;

use jigwise_physics::{DiscImage, FixtureAppraisal, Nudge};
use serde::Serialize;

use super::CommandError;
use super::table::Table;
use jigwise_bench::words::{
    beside_an_end, circle, fixture_key, fixture_title, limit_key, modulus_interval,
    nothing_resolves, resolvable, trust, trust_key, verdict, verdict_key,
};
use jigwise_bench::{Bench, ModulusInterval, Readout, direction_key};
use jigwise_quantity::{engineering, percent};

/// What an instrument makes of one fixture, in JSON.
#[derive(Serialize)]
pub(super) struct AppraisalJson {
    u_r_ohm: Option<f64>,
    u_x_ohm: Option<f64>,
    correlation: Option<f64>,
    relative_u: Option<f64>,
    region: Option<RegionJson>,
    /// Where |Z| of one reading comes out with 95 % probability; the part is always inside.
    magnitude: Option<MagnitudeJson>,
    trust: &'static str,
    resolvable_increase: Option<f64>,
    resolvable_decrease: Option<f64>,
    limited_by: Option<&'static str>,
    limited_by_increase: Option<&'static str>,
    limited_by_decrease: Option<&'static str>,
    separation_sigma: Option<f64>,
    verdict: &'static str,
}

/// The 95 % region: a circle, in or outside of which the part is.
#[derive(Serialize)]
struct RegionJson {
    side: &'static str,
    r_ohm: f64,
    x_ohm: f64,
    radius_ohm: f64,
}

impl RegionJson {
    fn of(region: DiscImage) -> Option<Self> {
        let (side, center, radius) = match region {
            DiscImage::Inside { center, radius } => ("inside", center, radius),
            DiscImage::Outside { center, radius } => ("outside", center, radius),
            DiscImage::HalfPlane => return None,
        };
        radius.is_finite().then_some(Self {
            side,
            r_ohm: center.re,
            x_ohm: center.im,
            radius_ohm: radius,
        })
    }
}

/// An end that is `null` is at zero or at infinity.
#[derive(Serialize)]
struct MagnitudeJson {
    from_ohm: Option<f64>,
    to_ohm: Option<f64>,
}

impl From<ModulusInterval> for MagnitudeJson {
    fn from(interval: ModulusInterval) -> Self {
        Self {
            from_ohm: Some(interval.low_ohm).filter(|low| *low > 0.0),
            to_ohm: finite(interval.high_ohm),
        }
    }
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

impl AppraisalJson {
    pub(super) fn of(
        seen: &FixtureAppraisal,
        modulus: Option<ModulusInterval>,
        nudge: Nudge,
    ) -> Self {
        let up = seen.resolvable.map(|both| both.increase);
        let down = seen.resolvable.map(|both| both.decrease);
        let key = |change: Option<jigwise_physics::ResolvableChange>| {
            change.map(|change| limit_key(change.limited_by()))
        };
        Self {
            u_r_ohm: seen.ohms.and_then(|u| finite(u.u_r_ohm)),
            u_x_ohm: seen.ohms.and_then(|u| finite(u.u_x_ohm)),
            correlation: seen.ohms.and_then(|u| finite(u.correlation)),
            relative_u: seen.figure_of_merit.and_then(finite),
            region: seen.region.and_then(RegionJson::of),
            magnitude: modulus.map(MagnitudeJson::from),
            trust: trust_key(seen.trust),
            resolvable_increase: up.and_then(|change| change.value()),
            resolvable_decrease: down.and_then(|change| change.value()),
            limited_by: key(if nudge.amount() > 0.0 { up } else { down }),
            limited_by_increase: key(up),
            limited_by_decrease: key(down),
            separation_sigma: seen.separation_sigma.and_then(finite),
            verdict: verdict_key(seen.verdict),
        }
    }
}

/// What a figure called u is, in the words below every table that holds one.
pub(super) const STANDARD_UNCERTAINTY: &str = "u: standard uncertainty, k = 1";

/// A 95 % region behind the words that send there; nothing for half the plane, which has no circle.
fn region(region: &DiscImage) -> String {
    let told = match *region {
        DiscImage::Inside { center, radius } => circle(center, radius, true),
        DiscImage::Outside { center, radius } => circle(center, radius, false),
        DiscImage::HalfPlane => return String::new(),
    };
    format!(", {told}")
}

/// The second table of `read`: how far each fixture can be trusted and what it shows.
pub(super) fn write_appraisal(
    instrument: &str,
    bench: &Bench,
    readout: &Readout,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let Some(appraisal) = readout.appraisal else {
        return Ok(());
    };
    let nudge = readout.nudge;
    writeln!(
        out,
        "\nInstrument: {instrument} (figures of the presets are invented); nudge {} along {}, {}\n",
        percent(nudge.amount()),
        direction_key(nudge.direction()),
        if nudge.is_swapped() {
            "part swapped"
        } else {
            "in place"
        }
    )?;
    table_of(&appraisal.fixtures, &bench.modulus_intervals()).write(out)?;
    writeln!(out, "{STANDARD_UNCERTAINTY}")?;
    for seen in &appraisal.fixtures {
        let has_ohms = seen.ohms.is_some();
        if has_ohms && seen.trust != jigwise_physics::Trust::Linear {
            writeln!(
                out,
                "{}: {}{}",
                fixture_title(seen.fixture),
                trust(seen.trust),
                seen.region.as_ref().map_or(String::new(), region)
            )?;
        }
    }
    let best = |fixture: Option<jigwise_physics::Fixture>| fixture.map_or("none", fixture_key);
    writeln!(
        out,
        "Best for value: {}; best for change: {}",
        best(appraisal.best_for_value),
        best(appraisal.best_for_change)
    )?;
    for sentence in beside_an_end(readout, bench) {
        writeln!(out, "{sentence}")?;
    }
    if let Some(sentence) = nothing_resolves(readout, bench) {
        writeln!(out, "{sentence}")?;
    }
    Ok(())
}

/// A relative uncertainty. Beside a part far below what is resolved it has hundreds of digits.
fn relative(e: f64) -> String {
    const MOST_SHOWN: f64 = 1e4;
    let over = if e > MOST_SHOWN { "over " } else { "" };
    format!(
        "{over}{}",
        percent(e.min(MOST_SHOWN)).trim_start_matches('+')
    )
}

/// What each fixture makes of the value and of the nudge, a row each.
fn table_of(fixtures: &[FixtureAppraisal], intervals: &[Option<ModulusInterval>]) -> Table {
    let mut table = Table::new([
        "Fixture",
        "u(R)",
        "u(X)",
        "u(Z)/|Z|",
        "|Z| comes out, 95\u{202f}%",
        "Up shows",
        "Down shows",
        "Nudge",
    ]);
    for (seen, interval) in fixtures.iter().zip(intervals) {
        let u = |pick: fn(&jigwise_physics::OhmUncertainty) -> f64| {
            seen.ohms
                .filter(|_| seen.trust.has_deviation())
                .map_or("–".into(), |ohms| engineering(pick(&ohms), "Ω", 3))
        };
        let change = |of: fn(&jigwise_physics::Resolvable) -> jigwise_physics::ResolvableChange| {
            seen.resolvable
                .map_or("–".into(), |both| resolvable(of(&both)))
        };
        table.row([
            fixture_title(seen.fixture).to_owned(),
            u(|ohms| ohms.u_r_ohm),
            u(|ohms| ohms.u_x_ohm),
            seen.figure_of_merit
                .filter(|_| seen.trust.has_deviation())
                .map_or("–".into(), relative),
            interval.as_ref().map_or("–".into(), modulus_interval),
            change(|both| both.increase),
            change(|both| both.decrease),
            verdict(seen),
        ]);
    }
    table
}
