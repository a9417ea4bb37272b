//! The sweeps of one part with what they say, before anything is written.

use std::io::Write;

use jigwise_quantity::engineering;
use jigwise_reduce::{Columns, Ensemble, Findings, Survey, Wanted};

use super::inputs::Inputs;
use crate::CommandError;

/// A sweep file set that belongs to one part, gone through once.
pub(super) struct Prepared<'a> {
    pub(super) inputs: &'a Inputs,
    pub(super) ensemble: Ensemble<'a>,
    pub(super) surveys: Vec<Survey>,
    /// Why its fixture is told apart from the others of the part, where it is.
    pub(super) contradiction: Option<String>,
}

impl<'a> Prepared<'a> {
    pub(super) fn new(inputs: &'a Inputs) -> Result<Self, CommandError> {
        let ensemble = inputs.ensemble()?;
        let surveys = ensemble
            .sweeps()
            .map(|sweep| {
                sweep
                    .survey()
                    .map_err(|error| inputs.refused(sweep.fixture(), error))
            })
            .collect::<Result<Vec<_>, CommandError>>()?;
        Ok(Self {
            inputs,
            ensemble,
            surveys,
            contradiction: None,
        })
    }

    /// The columns of its points.
    pub(super) fn columns(&self) -> Columns {
        Columns {
            has_instrument: self.inputs.budget.is_some(),
            is_several: self.ensemble.fixtures() > 1,
        }
    }

    pub(super) fn findings(&self, wanted: &Wanted) -> Result<Findings, CommandError> {
        let in_file = |message: String| CommandError::InFile {
            file: self.inputs.title(),
            message,
        };
        if let Some(why) = &self.contradiction {
            return Err(in_file(why.clone()));
        }
        let input = self
            .ensemble
            .fit_input()
            .map_err(|error| in_file(error.to_string()))?;
        if input.freq_hz.is_empty() {
            return Err(in_file(
                "no point has ohms that a circuit could be fitted to: all read as an open, or \
                 without an uncertainty that is finite. Use a fixture that sees the part; jig plan \
                 names it"
                    .to_owned(),
            ));
        }
        Findings::of(&input, wanted).map_err(|error| in_file(error.to_string()))
    }

    /// Remarks of the files as files, and of the ohms, with the name of the file.
    pub(super) fn remarks(&self) -> Vec<(&str, String)> {
        let mut remarks = Vec::new();
        if let Some(why) = &self.contradiction {
            remarks.push((self.inputs.names[0].as_str(), why.clone()));
        }
        for (name, sweep) in self.inputs.names.iter().zip(&self.inputs.sweeps) {
            remarks.extend(
                sweep
                    .remarks()
                    .iter()
                    .map(|r| (name.as_str(), r.to_string())),
            );
        }
        for (name, what) in self.inputs.given_twice() {
            remarks.push((
                name,
                format!(
                    "the same file is given as {what}: what comes out follows from that alone, \
                     and tells nothing of a part"
                ),
            ));
        }
        for (sweep, survey) in self.ensemble.sweeps().zip(&self.surveys) {
            let name = self.inputs.name_of(sweep.fixture());
            remarks.extend(survey.remarks.iter().map(|r| (name, r.to_string())));
            if let Some(first) = &survey.first_left_out {
                let (count, of) = (survey.left_out, sweep.len());
                remarks.push((
                    name,
                    format!("{count} of {of} points are left out; {first}"),
                ));
            }
        }
        remarks
    }

    /// Refuses a frequency outside the sweep, where the nearest point is no measurement of it.
    pub(super) fn check_within(&self, at_hz: &[f64]) -> Result<(), CommandError> {
        let all = self.ensemble.freq_hz();
        let (Some(first), Some(last)) = (all.first(), all.last()) else {
            return Ok(());
        };
        match at_hz.iter().find(|f| !(first..=last).contains(f)) {
            None => Ok(()),
            Some(freq_hz) => Err(CommandError::InFile {
                file: self.inputs.title(),
                message: format!(
                    "{} was not measured: the sweep runs from {} to {}; ask for a frequency \
                     within it, or sweep farther",
                    engineering(*freq_hz, "Hz", 4),
                    engineering(*first, "Hz", 4),
                    engineering(*last, "Hz", 4)
                ),
            }),
        }
    }

    pub(super) fn write_remarks(&self, err: &mut dyn Write) -> Result<(), CommandError> {
        for (name, remark) in self.remarks() {
            writeln!(err, "jig: {name}: {remark}")?;
        }
        Ok(())
    }
}
