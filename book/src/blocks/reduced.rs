//! `reduced WHAT FOLDER`: a shipped measurement, reduced when the book is built. The body says
//! how, a line each: `part FILE FIXTURE`, `calibration FILE`, `blank FILE`, `instrument NAME`,
//! `at FREQUENCY`.

mod tables;

use std::path::{Path, PathBuf};

use jigwise_bench::{
    Budget, Fixture, LEFT_SHARE, NamedInstrument, ReferenceImpedance, Sweep, Unit, nearest,
    parse_value, read_file,
};
use jigwise_reduce::report::{Gatherer, figures};
use jigwise_reduce::{CalibrationFile, Ensemble, Findings, FitInput, Recipe, Reducer, Wanted};

use super::Block;
use super::figure::figure;
use crate::page::PageError;
use crate::press::project;

/// Where the shipped measurements are, below the project.
const MEASUREMENTS: &str = "exercises/measurements";
const WHAT: [&str; 6] = ["steps", "magnitude", "fit", "stated", "apparent", "causes"];
const KEYS: [&str; 5] = ["part", "calibration", "blank", "instrument", "at"];

/// A measurement with how it is reduced.
struct Measured {
    name: String,
    fixture: Fixture,
    sweep: Sweep,
    recipe: Recipe,
    instrument: Option<NamedInstrument>,
    budget: Option<Budget>,
    /// Where it is looked at, Hz.
    at_hz: Vec<f64>,
}

pub(super) fn html(block: &Block<'_>) -> Result<String, PageError> {
    let [what, folder] = block.words[..] else {
        return Err(block.error("expected reduced WHAT FOLDER, as in reduced steps choke"));
    };
    if !WHAT.contains(&what) {
        return Err(block.error(not_among(
            what,
            "nothing that is shown of a reduction",
            &WHAT,
        )));
    }
    let measured = Measured::of(block, folder)?;
    match what {
        "steps" => tables::steps(block, &measured),
        "magnitude" => magnitude(block, &measured),
        "fit" => tables::fit(block, &measured),
        "stated" => tables::stated(block, &measured),
        "apparent" => tables::apparent(block, &measured),
        _ => tables::causes(block, &measured),
    }
}

fn not_among(found: &str, is: &str, known: &[&str]) -> String {
    match nearest(found, known) {
        Some(near) => format!("\"{found}\" is {is}; did you mean {near}?"),
        None => format!("\"{found}\" is {is}; there are {}", known.join(", ")),
    }
}

impl Measured {
    fn of(block: &Block<'_>, folder: &str) -> Result<Self, PageError> {
        let folder = project().join(MEASUREMENTS).join(folder);
        if !folder.is_dir() {
            return Err(block.error(format!(
                "there is no measurement in {}; name a folder of {MEASUREMENTS}",
                below_project(&folder)
            )));
        }
        let mut part: Option<(String, Sweep, Fixture)> = None;
        let mut calibration: Option<(usize, PathBuf)> = None;
        let mut recipe = Recipe {
            blank_share: LEFT_SHARE,
            ..Recipe::default()
        };
        let mut instrument = None;
        let mut at_hz = Vec::new();
        for (index, line) in block.fence.body.lines().enumerate() {
            let refused = |message: String| block.body_error(index, message);
            let read = |name: &str| {
                read_file(folder.join(name))
                    .map_err(|error| refused(without_project(&error.to_string())))
            };
            let (key, rest) = line.trim().split_once(' ').unwrap_or((line.trim(), ""));
            let rest = rest.trim();
            match key {
                "" => {}
                "part" => {
                    let Some((name, fixture)) = rest.split_once(' ') else {
                        return Err(refused(
                            "expected part FILE FIXTURE, as in part choke.s2p series-through"
                                .to_owned(),
                        ));
                    };
                    let fixture = block
                        .fixture(fixture.trim())
                        .map_err(|error| refused(error.message().to_owned()))?;
                    part = Some((name.to_owned(), read(name)?, fixture));
                }
                "calibration" => calibration = Some((index, folder.join(rest))),
                "blank" => recipe.blanks.push(read(rest)?),
                "instrument" => {
                    let named = NamedInstrument::named_or_read(rest)
                        .map_err(|error| refused(error.to_string()))?;
                    instrument = Some(named);
                }
                "at" => at_hz.push(
                    parse_value(rest, Unit::Hertz).map_err(|error| refused(error.to_string()))?,
                ),
                other => {
                    return Err(refused(not_among(other, "no line of a reduction", &KEYS)));
                }
            }
        }
        let Some((name, sweep, fixture)) = part else {
            return Err(block.error("no part; say which file, as in part choke.s2p series-through"));
        };
        let reference = ReferenceImpedance::new(sweep.references_ohm()[0])
            .map_err(|error| block.error(error))?;
        if let Some((index, path)) = calibration {
            let file = CalibrationFile::read(&path, reference)
                .map_err(|error| block.body_error(index, without_project(&error.to_string())))?;
            recipe.standards = Some(file.standards);
        }
        let budget = instrument
            .as_ref()
            .map(|named: &NamedInstrument| Budget::new(&named.figures, reference, 0))
            .transpose()
            .map_err(|error| block.error(error))?;
        recipe.budget = budget;
        let measured = Self {
            name,
            fixture,
            sweep,
            recipe,
            instrument,
            budget,
            at_hz,
        };
        measured.reducer(block, &measured.recipe)?;
        Ok(measured)
    }

    fn reducer<'a>(
        &'a self,
        block: &Block<'_>,
        recipe: &'a Recipe,
    ) -> Result<Reducer<'a>, PageError> {
        Reducer::new(&self.sweep, self.fixture, recipe).map_err(|error| block.error(error))
    }

    fn fit_input(&self, block: &Block<'_>) -> Result<FitInput, PageError> {
        let reducer = self.reducer(block, &self.recipe)?;
        reducer.fit_input().map_err(|error| block.error(error))
    }

    fn findings(&self, block: &Block<'_>) -> Result<Findings, PageError> {
        let input = self.fit_input(block)?;
        Findings::of(&input, &Wanted::Automatic).map_err(|error| block.error(error))
    }

    /// How many points the blanks can't correct.
    fn left_out(&self, block: &Block<'_>) -> Result<usize, PageError> {
        let survey = self.reducer(block, &self.recipe)?.survey();
        survey
            .map(|found| found.left_out)
            .map_err(|error| block.error(error))
    }

    /// The measured point nearest to each frequency asked for.
    fn points(&self, block: &Block<'_>) -> Result<Vec<usize>, PageError> {
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

    fn instrument_words(&self) -> String {
        match &self.instrument {
            Some(named) => format!("instrument: {} (invented)", named.name),
            None => "no instrument".to_owned(),
        }
    }
}

/// A path as seen from the project's folder.
fn below_project(path: &Path) -> String {
    path.strip_prefix(project())
        .unwrap_or(path)
        .display()
        .to_string()
}

/// A message without the folder of this checkout.
fn without_project(message: &str) -> String {
    message.replace(&format!("{}/", project().display()), "")
}

/// The report's figure of |Z|, with its band and the circuit through it.
fn magnitude(block: &Block<'_>, measured: &Measured) -> Result<String, PageError> {
    let reducer = measured.reducer(block, &measured.recipe)?;
    let ensemble = Ensemble::new(vec![reducer], measured.budget.as_ref())
        .map_err(|error| block.error(error))?;
    let mut gatherer = Gatherer::new(&ensemble);
    ensemble
        .each(
            |point| {
                gatherer.take(point);
                Ok::<(), jigwise_reduce::ReduceError>(())
            },
            |_| {},
        )
        .map_err(|error| block.error(error))?;
    let gathered = gatherer.finish();
    let findings = measured.findings(block)?;
    let Some(found) = figures(&gathered, Some(&findings))
        .into_iter()
        .find(|f| f.name == "magnitude")
    else {
        return Err(block.error("the report has no figure of |Z|; name another"));
    };
    let mut scene = found.scene;
    scene.description = format!(
        "{} {}.",
        found.caption,
        capital(&measured.instrument_words())
    );
    Ok(figure(&scene, &block.id))
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
