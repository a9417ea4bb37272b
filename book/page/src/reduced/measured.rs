//! A measurement with how it is reduced, from the lines of a block.

use jigwise_bench::{
    Fixture, LEFT_SHARE, NamedInstrument, ReferenceImpedance, Sweep, Unit, engineering, hint,
    parse_value,
};
use jigwise_reduce::{Findings, FitInput, Recipe, Reducer, Wanted};

use crate::block::{Block, BlockError};

const KEYS: [&str; 5] = ["part", "calibration", "blank", "instrument", "at"];

/// A measurement with how it is reduced.
pub(crate) struct Measured {
    pub(crate) name: String,
    pub(crate) fixture: Fixture,
    pub(crate) sweep: Sweep,
    pub(crate) recipe: Recipe,
    pub(crate) instrument: Option<NamedInstrument>,
    /// Where it is looked at, Hz.
    at_hz: Vec<f64>,
}

pub(crate) fn not_among(found: &str, is: &str, known: &[&str]) -> String {
    format!("\"{found}\" is {is}{}", hint(found, known))
}

/// The lines of a block, read.
#[derive(Default)]
struct Lines<'a> {
    part: Option<(&'a str, Sweep, Fixture)>,
    /// The line of the body with the name in it: it is read once the reference is known.
    calibration: Option<(usize, &'a str)>,
    blanks: Vec<Sweep>,
    instrument: Option<NamedInstrument>,
    at_hz: Vec<f64>,
}

impl<'a> Lines<'a> {
    fn of(block: &Block<'a>, folder: &str) -> Result<Self, BlockError> {
        let mut lines = Self::default();
        for (index, line) in block.lines() {
            lines.take(block, folder, index, line)?;
        }
        Ok(lines)
    }

    fn take(
        &mut self,
        block: &Block<'a>,
        folder: &str,
        index: usize,
        line: &'a str,
    ) -> Result<(), BlockError> {
        let refused = |message: String| block.body_error(index, message);
        let read = |name: &str| {
            let sweep = block.measurements.sweep(folder, name);
            sweep.map_err(|error| block.body_error(index, error))
        };
        let (key, rest) = line.split_once(' ').unwrap_or((line, ""));
        let rest = rest.trim();
        match key {
            "part" => {
                let Some((name, fixture)) = rest.split_once(' ') else {
                    return Err(refused(
                        "expected part FILE FIXTURE, as in part choke.s2p series-through"
                            .to_owned(),
                    ));
                };
                let fixture = block
                    .fixture(fixture.trim())
                    .map_err(|error| block.body_error(index, error))?;
                self.part = Some((name, read(name)?, fixture));
            }
            "calibration" => self.calibration = Some((index, rest)),
            "blank" => self.blanks.push(read(rest)?),
            "instrument" => {
                let named = NamedInstrument::preset(rest).ok_or_else(|| {
                    let known = NamedInstrument::preset_names();
                    refused(not_among(rest, "none of the instruments", &known))
                })?;
                self.instrument = Some(named);
            }
            "at" => self.at_hz.push(
                parse_value(rest, Unit::Hertz).map_err(|error| block.body_error(index, error))?,
            ),
            other => return Err(refused(not_among(other, "no line of a reduction", &KEYS))),
        }
        Ok(())
    }
}

impl Measured {
    pub(crate) fn of(block: &Block<'_>, folder: &str) -> Result<Self, BlockError> {
        let measurements = block.measurements;
        measurements
            .find(folder)
            .map_err(|error| block.error(error))?;
        let lines = Lines::of(block, folder)?;
        let Some((name, sweep, fixture)) = lines.part else {
            return Err(block.error("no part; say which file, as in part choke.s2p series-through"));
        };
        let reference = ReferenceImpedance::new(sweep.references_ohm()[0])
            .map_err(|error| block.error(error))?;
        let standards = lines
            .calibration
            .map(|(index, file)| {
                measurements
                    .standards(folder, file, reference)
                    .map_err(|error| block.body_error(index, error))
            })
            .transpose()?;
        let budget = lines
            .instrument
            .as_ref()
            .map(|named| named.budgets(reference, 0))
            .transpose()
            .map_err(|error| block.error(error))?;
        let measured = Self {
            name: name.to_owned(),
            fixture,
            sweep,
            recipe: Recipe {
                standards,
                blanks: lines.blanks,
                blank_share: LEFT_SHARE,
                budget,
                ..Recipe::default()
            },
            instrument: lines.instrument,
            at_hz: lines.at_hz,
        };
        measured.reducer(block, &measured.recipe)?;
        Ok(measured)
    }

    pub(crate) fn reducer<'a>(
        &'a self,
        block: &Block<'_>,
        recipe: &'a Recipe,
    ) -> Result<Reducer<'a>, BlockError> {
        Reducer::new(&self.sweep, self.fixture, recipe).map_err(|error| block.error(error))
    }

    pub(crate) fn fit_input(&self, block: &Block<'_>) -> Result<FitInput, BlockError> {
        let reducer = self.reducer(block, &self.recipe)?;
        reducer.fit_input().map_err(|error| block.error(error))
    }

    pub(crate) fn findings(&self, block: &Block<'_>) -> Result<Findings, BlockError> {
        let input = self.fit_input(block)?;
        Findings::of(&input, &Wanted::Automatic).map_err(|error| block.error(error))
    }

    /// How many points the blanks can't correct.
    pub(crate) fn left_out(&self, block: &Block<'_>) -> Result<usize, BlockError> {
        let survey = self.reducer(block, &self.recipe)?.survey();
        survey
            .map(|found| found.left_out)
            .map_err(|error| block.error(error))
    }

    /// The measured point nearest to each frequency asked for.
    pub(crate) fn points(&self, block: &Block<'_>) -> Result<Vec<usize>, BlockError> {
        if self.at_hz.is_empty() {
            return Err(block.error("no frequency; give one, as in at 1 MHz"));
        }
        let all = self.sweep.frequency_hz();
        let nearest = |hz: f64| {
            let far = |k: &usize| (all[*k] / hz).ln().abs();
            (0..all.len()).min_by(|a, b| far(a).total_cmp(&far(b)))
        };
        Ok(self.at_hz.iter().filter_map(|hz| nearest(*hz)).collect())
    }

    pub(crate) fn instrument_words(&self) -> String {
        match &self.instrument {
            Some(named) => format!("instrument: {} (invented)", named.name),
            None => "no instrument".to_owned(),
        }
    }
}

/// A frequency in a caption or a row.
pub(crate) fn hertz(hz: f64) -> String {
    engineering(hz, "Hz", 3)
}
