//! What comes with a part, by the model that the scenario gives of it.

use jigwise_physics::{Complex64, Equivalents, Fixture, Immittance, Part};
use jigwise_quantity::{engineering, fixed, grouped};

use crate::device::Device;
use crate::readout::Bench;
use crate::scenario::Scenario;

/// f/f0 at which a capacitor or coil with one resonance at f0 and no losses seems larger by
/// `share`, a part of one above zero: 1/(1 − (f/f0)²) = 1 + share.
///
/// ```
/// use jigwise_bench::quotes::seems_larger_at;
///
/// assert!((seems_larger_at(0.01) - 0.0995).abs() < 5e-5);
/// assert!((seems_larger_at(0.1) - 0.3015).abs() < 5e-5);
/// ```
pub fn seems_larger_at(share: f64) -> f64 {
    (1.0 - 1.0 / (1.0 + share)).sqrt()
}

pub(super) fn of_scenario(
    key: &str,
    scenario: &Scenario,
    bench: &Bench,
    digits: usize,
) -> Option<String> {
    let show = |value: f64, unit: &str| engineering(value, unit, digits);
    let hz = |value: f64| show(value, "Hz");
    let part = match &scenario.device {
        Device::Part(part) if !part.is_ideal() => Some(*part),
        _ => None,
    };
    let resonance = || resonance_hz(&part?);
    let seen = || Equivalents::new(bench.device(), scenario.readout_hz()?).ok();
    Some(match key {
        "self-resonance" => hz(resonance()?),
        "high-by-1-percent" => hz(resonance()? * seems_larger_at(0.01)),
        "high-by-10-percent" => hz(resonance()? * seems_larger_at(0.1)),
        "q" => match part {
            Some(Part::Crystal(crystal)) => whole(crystal.q(), digits),
            Some(Part::SeriesRlc(rlc)) => whole(rlc.q(), digits),
            Some(Part::ParallelRlc(rlc)) => whole(rlc.q(), digits),
            _ => whole(seen()?.q().filter(|q| q.is_finite() && *q > 0.0)?, digits),
        },
        "width" => hz(match part? {
            Part::Crystal(crystal) => crystal.width_hz(0.0),
            Part::SeriesRlc(rlc) => rlc.width_hz(),
            Part::ParallelRlc(rlc) => rlc.width_hz(),
            _ => return None,
        }),
        "drive-at-1mw" => show(1e-3 * share_in_part(scenario, bench)?, "W"),
        "drive-at-100uw" => show(1e-4 * share_in_part(scenario, bench)?, "W"),
        "apparent-capacitance" => show(seen()?.series_capacitance_f()?, "F"),
        "apparent-inductance" => show(seen()?.series_inductance_h()?, "H"),
        "parallel-resistance" => show(seen()?.parallel()?.r_ohm?, "Ω"),
        "parallel-capacitance" => show(seen()?.parallel_capacitance_f()?, "F"),
        "parallel-inductance" => show(seen()?.parallel_inductance_h()?, "H"),
        key => of_one_kind(key, &part?, scenario, show)?,
    })
}

/// What one kind of part has and others have not.
fn of_one_kind(
    key: &str,
    part: &Part,
    scenario: &Scenario,
    show: impl Fn(f64, &str) -> String,
) -> Option<String> {
    Some(match (key, part) {
        ("esr", Part::Capacitor(part)) => show(part.esr_ohm, "Ω"),
        ("esl", Part::Capacitor(part)) => show(part.esl_h, "H"),
        ("resistance", Part::Resistor(part)) => show(part.resistance_ohm, "Ω"),
        ("leads", Part::Resistor(part)) => show(part.series_inductance_h, "H"),
        ("compensated", Part::Resistor(part)) => show(part.compensated_ohm()?, "Ω"),
        ("across", Part::Resistor(part)) => show(part.parallel_capacitance_f, "F"),
        ("across", Part::Inductor(part)) => show(part.parallel_capacitance_f, "F"),
        ("across", Part::Choke(part)) => show(part.winding_capacitance_f, "F"),
        ("across", Part::Crystal(part)) => show(part.parallel_capacitance_f, "F"),
        ("parallel-resonance", Part::Crystal(part)) => show(part.parallel_resonance_hz(), "Hz"),
        ("parallel-offset", Part::Crystal(part)) => show(part.parallel_offset_hz(), "Hz"),
        ("motional-resistance", Part::Crystal(part)) => show(part.motional_resistance_ohm, "Ω"),
        ("motional-inductance", Part::Crystal(part)) => show(part.motional_inductance_h(), "H"),
        ("motional-capacitance", Part::Crystal(part)) => show(part.motional_capacitance_f, "F"),
        ("width-in-series", Part::Crystal(part)) => {
            show(part.width_hz(2.0 * scenario.reference.ohm()), "Hz")
        }
        ("relaxation", Part::Choke(part)) => show(part.relaxation_hz, "Hz"),
        ("core-resistance", Part::Choke(part)) => show(part.core_resistance_ohm(), "Ω"),
        ("quarter-wave", Part::Stub(part)) => show(part.quarter_wave_hz(), "Hz"),
        _ => return None,
    })
}

/// Where a part with one main resonance has it.
fn resonance_hz(part: &Part) -> Option<f64> {
    match part {
        Part::Capacitor(part) => part.self_resonance_hz(),
        Part::Inductor(part) => part.self_resonance_hz(),
        Part::Choke(part) => part.self_resonance_hz(),
        Part::SeriesRlc(part) => Some(part.resonance_hz()),
        Part::ParallelRlc(part) => Some(part.resonance_hz()),
        Part::Crystal(part) => Some(part.series_resonance_hz),
        _ => None,
    }
}

/// The share of the available power that the part takes in series-through,
/// 1 − |S11|² − |S21|² with S11 = 1 − S21.
fn share_in_part(scenario: &Scenario, bench: &Bench) -> Option<f64> {
    let part: Immittance = bench.device();
    let s21 = Fixture::SeriesThrough
        .reading(part, scenario.reference)
        .value()?;
    Some(1.0 - (Complex64::ONE - s21).norm_sqr() - s21.norm_sqr())
}

/// A plain number with so many significant digits, thousands parted from ten thousand up.
fn whole(value: f64, digits: usize) -> String {
    const PARTED_FROM: f64 = 1e4;
    let leading = value.abs().log10().floor() as i32;
    let power = 10f64.powi(leading + 1 - digits as i32);
    let decimals = (digits as i32 - 1 - leading).max(0) as usize;
    let rounded = (value / power).round() * power;
    if decimals == 0 && rounded.abs() >= PARTED_FROM {
        grouped(rounded)
    } else {
        fixed(rounded, decimals)
    }
}
