//! Which fixture to solder, in three lines.

use jigwise_physics::{Coverage, Fixture, Verdict};

use crate::readout::{Bench, Readout};
use crate::show::{engineering, fixed};
use crate::words::{fixture_key, percent};

/// The advice: which fixture for the value and for the change, how good each would be, and
/// why. `None` where the bench has no instrument.
pub fn plan(bench: &Bench, instrument: &str) -> Option<[String; 3]> {
    let readout = bench.readout();
    let appraisal = readout.appraisal.as_ref()?;
    let part = match readout.device.impedance() {
        Some(z) => engineering(z.norm(), "Ω", 4),
        None => "an open".to_owned(),
    };
    let at = readout.freq_hz.map_or(String::new(), |hz| {
        format!(" at {}", engineering(hz, "Hz", 4))
    });
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
        (None, _) => "No fixture is best, a relative uncertainty has no meaning here".to_owned(),
    };
    Some([
        format!("{choice}: {part}{at} on the {instrument}."),
        format!("{}.", quality(&readout)),
        why(&readout),
    ])
}

fn quality(readout: &Readout) -> String {
    let each = Fixture::ALL.map(|fixture| {
        let Some(seen) = readout.appraisal_of(fixture) else {
            return String::new();
        };
        let value = seen.figure_of_merit.map_or("no value".to_owned(), |e| {
            let within = 100.0 * Coverage::P95.radius_in_rms() * e;
            if within >= 100.0 {
                "value unknown within 100\u{202f}%".to_owned()
            } else {
                format!("value within {}\u{202f}%", two_digits(within))
            }
        });
        let change = seen.resolvable.and_then(|both| both.increase.value());
        let change = change.map_or("shows no increase".to_owned(), |share| {
            format!("shows {}", percent(share))
        });
        format!("{}: {value}, {change}", fixture_key(fixture))
    });
    format!("At 95\u{202f}%, {}", each.join("; "))
}

fn why(readout: &Readout) -> String {
    let gain = |fixture: Fixture| fixture.relative_sensitivity(readout.device, readout.reference);
    let each = Fixture::ALL.map(|fixture| {
        let is_pole = readout
            .appraisal_of(fixture)
            .is_some_and(|seen| seen.verdict == Verdict::NoReading);
        if is_pole {
            return format!("(no reading) in {}", fixture_key(fixture));
        }
        let k = gain(fixture);
        let k = if k.is_finite() {
            two_digits(k)
        } else {
            "without bound".to_owned()
        };
        format!("{k} in {}", fixture_key(fixture))
    });
    format!(
        "Why: an error of the reading comes back in the ohms, as a part of them, {} times as \
         large.",
        each.join(", ")
    )
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
