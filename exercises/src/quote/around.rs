//! What comes with a part, what the fixture adds around it, and how it was calibrated.

use super::UNIT_GAP;
use jigwise_bench::percent;
use jigwise_bench::{
    Bench, CalibrationPlan, Complex64, Device, Equivalents, Fixture, Immittance, Part, Scenario,
    Termination, engineering, fixed, method_key,
};

/// What can be quoted of the scenario.
pub(super) const OF_THE_SCENARIO: [&str; 39] = [
    "resistance",
    "esr",
    "esl",
    "leads",
    "across",
    "compensated",
    "self-resonance",
    "high-by-1-percent",
    "high-by-10-percent",
    "parallel-resonance",
    "parallel-offset",
    "motional-resistance",
    "motional-inductance",
    "motional-capacitance",
    "q",
    "width",
    "width-in-series",
    "drive-at-1mw",
    "drive-at-100uw",
    "relaxation",
    "core-resistance",
    "quarter-wave",
    "apparent-capacitance",
    "apparent-inductance",
    "parallel-resistance",
    "parallel-capacitance",
    "parallel-inductance",
    "gap",
    "ground",
    "pin",
    "contact",
    "braid",
    "arm",
    "arm-velocity",
    "arm-turn",
    "method",
    "load",
    "load-share",
    "standard-stray",
];

/// What can be quoted of each fixture: of the ohms got back from a reading with all its digits.
pub(super) const OF_A_FIXTURE: [&str; 8] = [
    "back-z",
    "back-r",
    "back-x",
    "back-magnitude",
    "back-capacitance",
    "back-inductance",
    "back-off",
    "back-error",
];

/// f/f0 at which a capacitor or coil with one resonance at f0 and no losses seems larger by
/// `share`, a part of one above zero: 1/(1 − (f/f0)²) = 1 + share.
///
/// ```
/// use jigwise_exercises::seems_larger_at;
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
    let strays = &scenario.fixtures.strays;
    let present = |value: f64, unit: &str| (value > 0.0).then(|| show(value, unit));
    let plan = scenario.calibration.as_ref();
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
        "gap" => present(strays.gap_f, "F")?,
        "ground" => present(strays.ground_h, "H")?,
        "pin" => present(strays.pin_f, "F")?,
        "contact" => present(strays.contact_ohm, "Ω")?,
        "braid" => present(strays.braid_ohm, "Ω")?,
        "arm" => present(strays.before.length_m, "m")?,
        "arm-velocity" => {
            present(strays.before.length_m, "m")?;
            fixed(strays.before.velocity_factor, 2)
        }
        "arm-turn" => {
            let turn = strays.before.one_way_degrees(scenario.readout_hz()?).ok()?;
            format!("{}°", fixed(turn, digits))
        }
        "method" => method_key(plan?.method).to_owned(),
        "load" => show(load_ohm(plan?)?, "Ω"),
        "load-share" => percent(scenario.reference.ohm() / load_ohm(plan?)? - 1.0),
        "standard-stray" => {
            let reflections = &plan?.standards.reflections;
            let of = |termination| match termination {
                Termination::Open { capacitance } => present(capacitance[0], "F"),
                Termination::Short { inductance } => present(inductance[0], "H"),
                _ => None,
            };
            of(reflections.open.termination).or_else(|| of(reflections.short.termination))?
        }
        key => of_part(key, &part?, scenario, show)?,
    })
}

/// What one kind of part has and others have not.
fn of_part(
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

pub(super) fn of_fixture(
    key: &str,
    bench: &Bench,
    fixture: Fixture,
    digits: usize,
) -> Option<String> {
    let readout = bench.readout();
    let back = readout.of(fixture).got_back?;
    let z = back.impedance();
    let seen = || Equivalents::new(back, readout.freq_hz?).ok();
    let true_z = || readout.device.impedance().filter(|z| z.norm() > 0.0);
    let ohms = |value| engineering(value, "Ω", digits);
    Some(match key {
        "back-z" => jigwise_bench::complex_ohm(z?, digits),
        "back-r" => ohms(z?.re),
        "back-x" => ohms(z?.im),
        "back-magnitude" => ohms(z?.norm()),
        "back-capacitance" => engineering(seen()?.series_capacitance_f()?, "F", digits),
        "back-inductance" => engineering(seen()?.series_inductance_h()?, "H", digits),
        "back-off" => percent(z?.norm() / true_z()?.norm() - 1.0),
        "back-error" => percent((z? - true_z()?).norm() / true_z()?.norm())
            .trim_start_matches('+')
            .to_owned(),
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

/// The resistance of the load standard.
pub(crate) fn load_ohm(plan: &CalibrationPlan) -> Option<f64> {
    match plan.standards.reflections.load.termination {
        Termination::Load { resistance_ohm, .. } => Some(resistance_ohm),
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

/// A plain number with so many significant digits, thousands parted.
fn whole(value: f64, digits: usize) -> String {
    let leading = value.abs().log10().floor() as i32;
    let power = 10f64.powi(leading + 1 - digits as i32);
    let decimals = (digits as i32 - 1 - leading).max(0) as usize;
    let text = fixed((value / power).round() * power, decimals);
    match text.len() {
        length @ 5..=6 if decimals == 0 => {
            let (thousands, rest) = text.split_at(length - 3);
            format!("{thousands}{UNIT_GAP}{rest}")
        }
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use crate::quote::Quote;
    use crate::scenario;

    /// Handbook formulas; the crystal's by 1/(2π√(LC)) and fs·√(1 + C1/C0).
    #[test]
    fn what_comes_with_a_part_is_quoted_with_its_unit() {
        for (name, text, expected) in [
            ("bypass-capacitor", "esr 2", "35\u{202f}mΩ"),
            ("bypass-capacitor", "self-resonance 3", "14.5\u{202f}MHz"),
            ("bypass-capacitor", "high-by-1-percent 3", "1.45\u{202f}MHz"),
            (
                "bypass-capacitor",
                "high-by-10-percent 3",
                "4.38\u{202f}MHz",
            ),
            ("ladder-crystal", "parallel-offset 4", "19.26\u{202f}kHz"),
            ("ladder-crystal", "q 3", "70\u{202f}200"),
            ("ferrite-choke", "core-resistance 3", "738\u{202f}Ω"),
            ("trimmer-gap", "gap 2", "350\u{202f}fF"),
            ("arm-part", "arm 2", "23\u{202f}mm"),
            ("termination-wrong-load", "load 2", "51\u{202f}Ω"),
            ("termination-wrong-load", "load-share", "−1.96\u{202f}%"),
            (
                "termination-wrong-load",
                "reflect.back-off",
                "−1.96\u{202f}%",
            ),
            (
                "trimmer-gap-removed",
                "series-through.back-error",
                "0.000\u{202f}%",
            ),
        ] {
            let quote: Quote = text.parse().unwrap();
            let told = quote.of(&scenario(name).unwrap());
            assert_eq!(told.as_deref(), Ok(expected), "{name} {text}");
        }
    }
}
