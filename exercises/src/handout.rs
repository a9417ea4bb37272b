//! Measurements as they are handed out: nothing in them says what was measured.

use jigwise_bench::{Complex64, NamedInstrument, Sweep};
use jigwise_touchstone::SweepError;

/// A file to hand out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DataFile {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub text: String,
}

/// Digits of each number: more than any instrument knows, and too few to find the draws by.
const DIGITS: i32 = 7;

/// The same sweep without its story, which would tell the part. `about` says which it is.
pub(crate) fn without_story(
    sweep: &Sweep,
    about: &str,
    instrument: Option<&NamedInstrument>,
) -> Result<Sweep, SweepError> {
    let ports = sweep.ports();
    let mut s = Vec::with_capacity(sweep.len() * ports * ports);
    for point in 0..sweep.len() {
        for row in 1..=ports {
            for column in 1..=ports {
                let value = sweep.s(point, row, column);
                s.push(Complex64::new(rounded(value.re), rounded(value.im)));
            }
        }
    }
    let on = instrument.map_or(String::new(), |instrument| {
        format!(", on the {}, an invented instrument", instrument.name)
    });
    let title = format!("{about}{on}; simulated by Jigwise, no instrument made it");
    Ok(Sweep::new(
        ports,
        sweep.references_ohm(),
        sweep.frequency_hz().to_vec(),
        s,
    )?
    .with_comments([title]))
}

fn rounded(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    // As text, so that the file holds no more digits than this.
    let digits = (DIGITS - 1) as usize;
    format!("{value:.digits$e}").parse().unwrap_or(value)
}
