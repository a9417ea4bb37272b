//! Which fixture to solder, in four lines.

use jigwise_physics::{Cause, Coverage, Fixture};

use crate::readout::{Bench, Readout};
use crate::scenario::NamedInstrument;
use crate::words::{USUAL_WANTED, answer, fixture_key, modulus_interval, omitted_words};
use jigwise_quantity::{engineering, fixed, percent};

/// The advice: which fixture knows the part, which is for the value and which for the change, how
/// good each would be with what its budget leaves out, and why. `None` where the bench has no instrument.
pub fn plan(bench: &Bench, instrument: &NamedInstrument) -> Option<[String; 4]> {
    let readout = bench.readout();
    let appraisal = readout.appraisal.as_ref()?;
    let part = match readout.device.impedance() {
        Some(z) => engineering(z.norm(), "Ω", 4),
        None => "an open".to_owned(),
    };
    let at = readout.freq_hz.map_or(String::new(), |hz| {
        format!(" at {}", engineering(hz, "Hz", 4))
    });
    let on = if readout.freq_hz.is_some() {
        instrument.name.clone()
    } else {
        instrument.words_at(None)
    };
    let choice = match (appraisal.best_for_value, appraisal.best_for_change) {
        (Some(value), Some(change)) if value == change => {
            format!("Use {}, for value and for change", fixture_key(value))
        }
        (Some(value), Some(change)) => format!(
            "Use {} for its value, {} to see it change",
            fixture_key(value),
            fixture_key(change)
        ),
        (Some(value), None) => format!(
            "Use {} for its value; no fixture shows it change",
            fixture_key(value)
        ),
        (None, _) => "No percentage has a meaning at an end of the scale".to_owned(),
    };
    Some([
        answer(bench, instrument, USUAL_WANTED)?.line,
        format!("{choice}: {part}{at} on the {on}."),
        format!(
            "{}.{}",
            quality(bench, &readout),
            left_out(&readout, instrument)
        ),
        why(bench, &readout),
    ])
}

fn quality(bench: &Bench, readout: &Readout) -> String {
    let intervals = bench.modulus_intervals();
    let each = Fixture::ALL.map(|fixture| {
        let Some(seen) = readout.appraisal_of(fixture) else {
            return String::new();
        };
        let bar = intervals[fixture as usize].map(|interval| modulus_interval(&interval));
        let value = seen.figure_of_merit.map_or_else(
            || format!("|Z| {}", bar.unwrap_or_else(|| "unknown".to_owned())),
            |e| {
                let within = 100.0 * Coverage::P95.radius_in_rms() * e;
                if within >= 100.0 {
                    "R and X unknown within 100\u{202f}%".to_owned()
                } else {
                    format!("R and X within {}\u{202f}%", two_digits(within))
                }
            },
        );
        let change = seen.resolvable.and_then(|both| both.increase.value());
        let change = change.map_or("shows no increase".to_owned(), |share| {
            format!("shows {}", percent(share))
        });
        format!("{}: {value}, {change}", fixture_key(fixture))
    });
    format!("At 95\u{202f}%, {}", each.join("; "))
}

/// What the best value of these leaves out; empty where that would not count.
fn left_out(readout: &Readout, instrument: &NamedInstrument) -> String {
    let said = || {
        let fixture = readout.appraisal.as_ref()?.best_for_value?;
        let e = readout.appraisal_of(fixture)?.figure_of_merit?;
        let within_ohm = Coverage::P95.radius_in_rms() * e * readout.device.impedance()?.norm();
        let figures = instrument.figures_at(readout.freq_hz).ok()?;
        omitted_words(&figures, fixture, within_ohm)
    };
    said().map_or(String::new(), |said| format!(" {}.", sentence_case(&said)))
}

fn sentence_case(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// By what factor K·|S| a relative error of the reading becomes a relative error of Z, and which
/// cause contributes most. K·|S| is near zero for reflect at a match, where the reading vanishes.
fn why(bench: &Bench, readout: &Readout) -> String {
    let each = Fixture::ALL.map(|fixture| {
        let name = fixture_key(fixture);
        let Some(reading) = readout.of(fixture).reading else {
            return format!("(no reading) in {name}");
        };
        let k = fixture.relative_sensitivity(readout.device, readout.reference);
        let growth = k * reading.norm();
        let growth = if growth.is_finite() {
            format!("{} times", two_digits(growth))
        } else {
            "beyond bounds".to_owned()
        };
        let worst = worst_cause(bench, fixture);
        let worst = worst.map_or(String::new(), |worst| format!(" (most from: {worst})"));
        format!("{growth} in {name}{worst}")
    });
    format!(
        "Why: an error in proportion to the reading comes back in the ohms {}.",
        each.join(", ")
    )
}

fn worst_cause(bench: &Bench, fixture: Fixture) -> Option<&'static str> {
    let shares = causes_by_share(bench, fixture);
    shares.first().map(|(worst, _)| worst.name())
}

/// The causes of a fixture's uncertainty with their shares of its square, the largest first.
/// Empty without an instrument and at the pole of an active part.
pub fn causes_by_share(bench: &Bench, fixture: Fixture) -> Vec<(Cause, f64)> {
    let Some(budget) = bench.budget() else {
        return Vec::new();
    };
    let mut shares: Vec<(Cause, f64)> = Cause::ALL
        .into_iter()
        .filter_map(|each| {
            let scatter = budget.contribution(each, fixture, bench.device())?;
            Some((each, scatter.trace()))
        })
        .filter(|(_, square)| *square > 0.0)
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    let sum: f64 = shares.iter().map(|(_, square)| square).sum();
    for (_, square) in &mut shares {
        *square /= sum;
    }
    shares
}

fn two_digits(value: f64) -> String {
    let decimals = if value >= 10.0 {
        0
    } else if value >= 1.0 {
        1
    } else {
        2
    };
    fixed(value, decimals)
}
