//! The whole bench as a few sentences, for whoever hears the window instead of seeing it.

use jigwise_quantity::{angle, fixed};

use super::{
    answer, column_change, column_value, device_sentence, display_decimals, fixture_title,
    no_reading, verdict,
};
use crate::readout::{Bench, FixtureReadout, Readout};
use crate::scenario::NamedInstrument;

/// The part, the answer and why, then a sentence for each fixture: verdict, reading as the display
/// shows it, |Z| as it is known, the smallest change that shows.
///
/// `readout` is that of `bench`, or one with the readings of a certain calibration.
///
/// ```
/// use jigwise_bench::words::{USUAL_WANTED, spoken_bench};
/// use jigwise_bench::{Bench, NamedInstrument, Scenario};
///
/// let instrument = NamedInstrument::default();
/// let scenario = Scenario { instrument: Some(instrument.clone()), ..Scenario::default() };
/// let bench = Bench::new(&scenario)?;
/// let said = spoken_bench(&bench, &bench.readout(), &instrument, USUAL_WANTED);
/// assert_eq!(said.len(), 5);
/// assert!(said[1].starts_with("Series-through knows this part"));
/// assert!(said[4].starts_with("Series-through: sees it"));
/// # Ok::<(), jigwise_bench::ScenarioError>(())
/// ```
pub fn spoken_bench(
    bench: &Bench,
    readout: &Readout,
    instrument: &NamedInstrument,
    wanted: f64,
) -> Vec<String> {
    let mut said = vec![device_sentence(readout.device)];
    if let Some(answer) = answer(bench, instrument, wanted) {
        said.push(format!("{} {}", answer.line, answer.why));
    }
    let figures = instrument
        .figures_at(readout.freq_hz)
        .unwrap_or(instrument.figures);
    let decimals = display_decimals(&figures);
    let intervals = bench.modulus_intervals();
    for entry in &readout.fixtures {
        let fixture = entry.fixture;
        let title = fixture_title(fixture);
        if entry.reading.is_none() {
            let why = no_reading(fixture, readout.reference);
            said.push(format!("{title}: {why}."));
            continue;
        }
        let Some(appraisal) = readout.appraisal_of(fixture) else {
            said.push(format!("{title}: reading {}.", reading(entry, decimals)));
            continue;
        };
        let known = column_value(readout, fixture, intervals[fixture as usize].as_ref());
        let change = column_change(readout, bench, fixture);
        said.push(format!(
            "{title}: {}. Reading {}. |Z| {known}. A change: {change}.",
            verdict(appraisal),
            reading(entry, decimals)
        ));
    }
    said
}

fn reading(entry: &FixtureReadout, [of_db, of_deg]: [usize; 2]) -> String {
    match (entry.decibels(), entry.degrees()) {
        (Some(db), Some(deg)) => {
            format!("{}\u{202f}dB, {}", fixed(db, of_db), angle(deg, of_deg))
        }
        _ => "0, no decibels".to_owned(),
    }
}
