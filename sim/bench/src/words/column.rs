//! What a column says of its fixture, in a few words each.

use jigwise_physics::Fixture;

use super::{beside_an_end, known_modulus, smallest_change};
use crate::ModulusInterval;
use crate::readout::{Bench, Readout};

/// |Z| as the fixture knows it: "4.7 ± 0.4 kΩ", or "2.2 to 16 kΩ".
pub fn column_value(
    readout: &Readout,
    fixture: Fixture,
    interval: Option<&ModulusInterval>,
) -> String {
    let appraisal = readout.appraisal_of(fixture);
    let known = appraisal.and_then(|appraisal| known_modulus(readout, appraisal, interval));
    known.unwrap_or_else(|| "no value".to_owned())
}

/// The smallest change that the fixture shows: "from +3.2 %". Beside an end of the scale, from
/// which value on it tells a part from that end.
pub fn column_change(readout: &Readout, bench: &Bench, fixture: Fixture) -> String {
    let appraisal = readout.appraisal_of(fixture);
    let change = appraisal.and_then(|appraisal| smallest_change(appraisal, readout.nudge));
    change.unwrap_or_else(|| {
        let told = beside_an_end(readout, bench);
        let own = told.get(fixture as usize);
        own.and_then(|sentence| sentence.split_once(": "))
            .map_or("none here".to_owned(), |(_, words)| words.to_owned())
    })
}
