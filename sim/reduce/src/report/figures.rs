//! The figures of a report.

use jigwise_physics::{Complex64, Extracted, Fixture, Model, Trust};

use super::{Gathered, PlotPoint};
use crate::{COVERAGE_FACTOR as K, Findings, Region, value_words};
use jigwise_bench::scene::{CurvePoint, Scene, SweepAxis, SweepFrame, ValueScale, chosen_strip};
use jigwise_bench::words::fixture_title;
use jigwise_quantity::{as_known, engineering, fixed};

/// A picture with the name of its file.
#[derive(Debug, Clone)]
pub struct Figure {
    /// A word for file and id.
    pub name: &'static str,
    /// The picture.
    pub scene: Scene,
    /// A sentence below it.
    pub caption: String,
}

const SIZE: [f64; 2] = [720.0, 300.0];

/// All figures of a report, in the order of the page: `all` is what the points told, `findings`
/// what the sweep says of the part.
pub fn figures(all: &Gathered, findings: Option<&Findings>) -> Vec<Figure> {
    let circuit = findings.and_then(Findings::values);
    let resonance = findings.and_then(|findings| {
        let value = findings.self_resonance()?;
        Some((value.value, value_words(&value, findings.has_budget)))
    });
    let resonance = resonance.as_ref();
    vec![
        magnitude(all, resonance, circuit),
        phase(all, resonance, circuit),
        part_of_z(
            all,
            resonance,
            circuit,
            "resistance",
            "Resistance R, Ω",
            |z| z.re,
            |u| u.0,
        ),
        part_of_z(
            all,
            resonance,
            circuit,
            "reactance",
            "Reactance X, Ω",
            |z| z.im,
            |u| u.1,
        ),
        strip(all),
    ]
}

fn frame(
    all: &Gathered,
    resonance: Option<&Resonance>,
    scale: ValueScale,
    unit: &'static str,
) -> SweepFrame {
    SweepFrame {
        size: SIZE,
        axis: axis(all),
        scale,
        unit,
        named_hz: resonance
            .map(|(hz, words)| (*hz, format!("self-resonance {words}")))
            .into_iter()
            .collect(),
        through: Vec::new(),
    }
}

/// The self-resonance, Hz, and its words.
type Resonance = (f64, String);
/// The circuit that describes the part, with its values.
type Circuit<'a> = Option<(Model, &'a Extracted)>;

/// The circuit's line through a figure, and what the caption says of it.
fn through(
    all: &Gathered,
    circuit: Circuit<'_>,
    of: impl Fn(Complex64) -> f64,
) -> (Vec<(f64, f64)>, String) {
    let Some((model, found)) = circuit else {
        return (Vec::new(), String::new());
    };
    let line = across(all).filter_map(|hz| Some((hz, of(found.impedance_ohm(hz)?))));
    (
        line.collect(),
        format!(" The thin line is {} with the values found.", model.words()),
    )
}

fn axis(all: &Gathered) -> SweepAxis {
    SweepAxis {
        first_hz: all.span_hz.0,
        last_hz: all.span_hz.1,
    }
}

fn is_linear(point: &PlotPoint) -> bool {
    point.trust.is_none_or(|trust| trust == Trust::Linear) || point.region.is_none()
}

/// The 95 % region's ends of |Z|.
fn ends_of_size(region: Region) -> (f64, f64) {
    let (far, radius) = (region.center_ohm.norm(), region.radius_ohm);
    if region.is_inside {
        ((far - radius).max(0.0), far + radius)
    } else {
        // Outside the circle: nearest to zero, where zero itself is not outside.
        ((radius - far).max(0.0), f64::INFINITY)
    }
}

/// The 95 % region's ends of the phase, degrees; `None` where it holds zero ohms, which have none.
fn ends_of_phase(region: Region) -> Option<(f64, f64)> {
    let (center, radius) = (region.center_ohm, region.radius_ohm);
    if !region.is_inside || center.norm() <= radius {
        return None;
    }
    let (middle, half) = (center.arg(), (radius / center.norm()).asin());
    Some(((middle - half).to_degrees(), (middle + half).to_degrees()))
}

fn curve(
    all: &Gathered,
    value: impl Fn(&PlotPoint) -> Option<f64>,
    band: impl Fn(&PlotPoint) -> Option<(f64, f64)>,
) -> Vec<CurvePoint> {
    all.plot
        .iter()
        .map(|point| CurvePoint {
            freq_hz: point.freq_hz,
            value: value(point),
            band: band(point),
            fixture: point.fixture,
        })
        .collect()
}

/// What a caption says of the band.
fn band_words(all: &Gathered) -> String {
    if all.is_known() {
        format!(
            "The band holds the value with about 95 % (k = {}; the exact region where that fails).",
            fixed(K, 0)
        )
    } else {
        "No band: the instrument is not known.".to_owned()
    }
}

/// Lowest and highest of a quantity, in words.
fn extremes(points: &[CurvePoint], unit: &str) -> String {
    let told = || points.iter().filter_map(|p| Some((p.value?, p)));
    let low = told().min_by(|a, b| a.0.total_cmp(&b.0));
    let high = told().max_by(|a, b| a.0.total_cmp(&b.0));
    let is_known = points.iter().any(|p| p.band.is_some());
    let shown = |(value, point): (f64, &CurvePoint)| {
        let spread = match point.band {
            Some((low, high)) => 0.5 * (high - low) / K,
            None if is_known => f64::INFINITY,
            None => 0.0,
        };
        let value = match unit {
            "°" => format!("{}°", fixed(value, if spread < 1.0 { 1 } else { 0 })),
            // Where no band is finite hardly more than the size is known.
            _ if !spread.is_finite() => {
                format!("about {}", as_known(value, 0.5 * value.abs(), unit, 1))
            }
            _ => as_known(value, spread, unit, 4),
        };
        format!("{value} at {}", engineering(point.freq_hz, "Hz", 4))
    };
    match (low, high) {
        (Some(low), Some(high)) => format!("lowest {}, highest {}", shown(low), shown(high)),
        _ => "no point has a value".to_owned(),
    }
}

/// Points of a circuit's line.
const THROUGH: usize = 400;

fn magnitude(all: &Gathered, resonance: Option<&Resonance>, circuit: Circuit<'_>) -> Figure {
    let size = |p: &PlotPoint| p.z_ohm.map(Complex64::norm).filter(|ohm| *ohm > 0.0);
    let curve = curve(all, size, |p| {
        if !is_linear(p) {
            return p.region.map(ends_of_size);
        }
        let (value, (along, _)) = (size(p)?, p.u_polar_ohm?);
        Some((value - K * along, value + K * along))
    });
    let mut frame = frame(all, resonance, ValueScale::Logarithmic, "Ω");
    let line;
    (frame.through, line) = through(all, circuit, Complex64::norm);
    let extremes = extremes(&curve, "Ω");
    Figure {
        name: "magnitude",
        scene: frame.scene(
            "Size of the impedance |Z|, Ω",
            &format!("|Z|: {extremes}.{line}"),
            &curve,
        ),
        caption: format!("|Z|: {extremes}. {}{line}", band_words(all)),
    }
}

/// Frequencies spread as the axis is.
fn across(all: &Gathered) -> impl Iterator<Item = f64> {
    let (first_hz, last_hz) = all.span_hz;
    let logarithmic = axis(all).is_logarithmic();
    (0..=THROUGH).map(move |k| {
        let share = k as f64 / THROUGH as f64;
        if logarithmic {
            first_hz * (last_hz / first_hz).powf(share)
        } else {
            first_hz + (last_hz - first_hz) * share
        }
    })
}

fn phase(all: &Gathered, resonance: Option<&Resonance>, circuit: Circuit<'_>) -> Figure {
    let angle = |p: &PlotPoint| {
        p.z_ohm
            .filter(|z| z.norm() > 0.0)
            .map(|z| z.arg().to_degrees())
    };
    let points = curve(all, angle, |p| {
        if !is_linear(p) {
            return p.region.and_then(ends_of_phase);
        }
        let (value, (_, across)) = (angle(p)?, p.u_polar_ohm?);
        let half = (K * across / p.z_ohm?.norm()).to_degrees();
        Some((value - half, value + half))
    });
    let largest = points
        .iter()
        .filter_map(|p| p.value)
        .fold(0.0f64, |largest, deg| largest.max(deg.abs()));
    let end = if largest > 95.0 { 185.0 } else { 95.0 };
    let mut frame = frame(all, resonance, ValueScale::Even(-end, end), "°");
    let line;
    (frame.through, line) = through(all, circuit, |z| z.arg().to_degrees());
    let extremes = extremes(&points, "°");
    Figure {
        name: "phase",
        scene: frame.scene(
            "Phase of the impedance, °",
            &format!("Phase: {extremes}.{line}"),
            &points,
        ),
        caption: format!(
            "Phase of Z: {extremes}. +90° is a coil, −90° a capacitor, 0° a resistor; beyond \
             ±90° the resistance is below zero. {}{line}",
            band_words(all)
        ),
    }
}

fn part_of_z(
    all: &Gathered,
    resonance: Option<&Resonance>,
    circuit: Circuit<'_>,
    name: &'static str,
    title: &str,
    part: fn(Complex64) -> f64,
    u: impl Fn((f64, f64)) -> f64,
) -> Figure {
    let value = |p: &PlotPoint| p.z_ohm.map(part);
    let points = curve(all, value, |p| {
        let (value, half) = (value(p)?, K * u(p.u_ohm?));
        match p.region.filter(|_| !is_linear(p)) {
            Some(region) if region.is_inside => {
                let (center, radius) = (part(region.center_ohm), region.radius_ohm);
                Some((center - radius, center + radius))
            }
            Some(_) => None,
            None => Some((value - half, value + half)),
        }
    });
    let mut frame = frame(all, resonance, signed_scale(&points), "Ω");
    let line;
    (frame.through, line) = through(all, circuit, part);
    let extremes = extremes(&points, "Ω");
    let symbol = if name == "resistance" { "R" } else { "X" };
    Figure {
        name,
        scene: frame.scene(title, &format!("{symbol}: {extremes}.{line}"), &points),
        caption: format!(
            "{symbol}: {extremes}. The scale is logarithmic on both sides of zero. {}{line}",
            band_words(all)
        ),
    }
}

/// Logarithmic down to where nine tenths of the points lie, at most five decades.
fn signed_scale(points: &[CurvePoint]) -> ValueScale {
    let mut sizes: Vec<f64> = points
        .iter()
        .filter_map(|p| p.value)
        .map(f64::abs)
        .filter(|size| *size > 0.0)
        .collect();
    sizes.sort_by(f64::total_cmp);
    let Some(&largest) = sizes.last() else {
        return ValueScale::Signed(1.0);
    };
    let tenth = sizes[sizes.len() / 10];
    let within = tenth.max(largest * 1e-5);
    ValueScale::Signed(10f64.powf(within.log10().floor()))
}

fn strip(all: &Gathered) -> Figure {
    let words = chosen_words(all);
    Figure {
        name: "fixtures",
        scene: chosen_strip([720.0, 132.0], &axis(all), &all.runs, all.measured, &words),
        caption: words,
    }
}

/// Where each fixture was chosen, in a sentence.
fn chosen_words(all: &Gathered) -> String {
    const MOST_TOLD: usize = 6;
    let measured: Vec<Fixture> = Fixture::ALL
        .into_iter()
        .filter(|fixture| all.measured[*fixture as usize])
        .collect();
    if let [only] = measured[..] {
        return format!(
            "{} alone was measured, so it is used at every frequency.",
            fixture_title(only)
        );
    }
    let by = if all.is_known() {
        "the least uncertainty"
    } else {
        "the least effect of an equal relative error of the readings, as no instrument is known"
    };
    if all.runs.len() > MOST_TOLD {
        let parts: Vec<String> = measured
            .into_iter()
            .map(|fixture| {
                let share = 100.0 * all.chosen[fixture as usize] as f64 / all.points.max(1) as f64;
                format!(
                    "{} at {}\u{202f}% of the points",
                    fixture_title(fixture),
                    fixed(share, 0)
                )
            })
            .collect();
        return format!("Chosen by {by}: {}.", parts.join(", "));
    }
    let parts: Vec<String> = all
        .runs
        .iter()
        .map(|(from, to, fixture)| {
            format!(
                "{} from {} to {}",
                fixture_title(*fixture),
                engineering(*from, "Hz", 4),
                engineering(*to, "Hz", 4)
            )
        })
        .collect();
    format!("Chosen by {by}: {}.", parts.join(", "))
}
