//! A whole sweep in ohms at once.

use jigwise_physics::{BlankError, Fixture, ReferenceImpedance};
use jigwise_touchstone::Sweep;

use crate::laws::LawTally;
use crate::{Recipe, ReduceError, ReducedPoint, Reducer, Remark};

/// A sweep turned into impedances.
#[derive(Debug, Clone)]
pub struct Reduction {
    /// The fixture the part was measured in.
    pub fixture: Fixture,
    /// The reference of the readings: the file's, and port 1's where the file has several.
    pub reference: ReferenceImpedance,
    /// One entry per frequency, rising.
    pub points: Vec<ReducedPoint>,
    /// Frequencies, Hz, that blanks could not correct, and why.
    pub left_out: Vec<(f64, BlankError)>,
}

impl Reduction {
    /// What should be said beside the numbers.
    pub fn remarks(&self) -> Vec<Remark> {
        let mut tally = LawTally::default();
        for point in &self.points {
            tally.add(point, self.fixture, self.reference);
        }
        tally.remarks(self.fixture)
    }
}

/// Reduces a sweep measured in `fixture`: from S11 for reflect, from S21 for the others.
///
/// Where the ports have different references, a through reading is first brought to that of
/// port 1 at both; reflect needs port 1 alone.
///
/// # Errors
/// [`ReduceError`] where the sweep does not hold the reading that the fixture needs.
pub fn reduce(sweep: &Sweep, fixture: Fixture) -> Result<Reduction, ReduceError> {
    reduce_with(sweep, fixture, &Recipe::default())
}

/// As [`reduce`], with standards, blanks, a moved plane and an instrument.
///
/// Points that the blanks can't correct are left out and kept count of in
/// [`Reduction::left_out`].
///
/// # Errors
/// [`ReduceError`] where the sweep does not hold the reading that the fixture needs, a standard
/// or blank does not fit the sweep, the standards can't be solved, or the blanks can correct no
/// point at all.
pub fn reduce_with(
    sweep: &Sweep,
    fixture: Fixture,
    recipe: &Recipe,
) -> Result<Reduction, ReduceError> {
    let reducer = Reducer::new(sweep, fixture, recipe)?;
    let mut points = Vec::with_capacity(reducer.len());
    let mut left_out = Vec::new();
    for found in reducer.run(0..reducer.len()) {
        match found {
            Ok(point) => points.push(point),
            Err(ReduceError::Blank { freq_hz, error }) => left_out.push((freq_hz, error)),
            Err(error) => return Err(error),
        }
    }
    if let (true, Some(&(freq_hz, error))) = (points.is_empty(), left_out.first()) {
        return Err(ReduceError::Blank { freq_hz, error });
    }
    Ok(Reduction {
        fixture,
        reference: reducer.reference(),
        points,
        left_out,
    })
}
