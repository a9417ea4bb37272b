//! A task from its table in a file.

use std::sync::{Arc, OnceLock};

use jigwise_bench::file::Keyed;
use jigwise_bench::quotes::{Quote, QuoteError, Shown, fill};
use jigwise_bench::words::{causes_by_share, fixture_key};
use jigwise_bench::{
    Bench, Complex64, Fixture, FixtureReadout, Formula, Measurement, Scenario, ScenarioError, Unit,
    engineering, unsigned_percent,
};

use crate::area::Area;
use crate::choices::{Candidate, Choices, Criterion};
use crate::task::{Asks, Setup, Task};
use crate::tolerance::Tolerance;

/// The keys of a task's table.
pub(crate) const TASK_KEYS: [&str; 19] = [
    "key",
    "title",
    "area",
    "objective",
    "level",
    "minutes",
    "chapter",
    "fixture",
    "scenario",
    "asks",
    "digits",
    "uncertainty",
    "by",
    "options",
    "option-scenarios",
    "formula",
    "data",
    "prompt",
    "hints",
];

/// Finds a scenario by its name, or says why not.
pub(crate) type Lookup<'a> = dyn Fn(&str) -> Result<Arc<Setup>, String> + 'a;

/// Reads a task. Without `with_words` question and hints are left empty: whoever only checks answers
/// does without the numbers that they quote, which take the most time.
pub(crate) fn read_task(
    table: &Keyed<'_>,
    lookup: &Lookup<'_>,
    with_words: bool,
) -> Result<Task, ScenarioError> {
    let text = |key| table.needed(key, "…", table.text(key)?);
    let fixtures = Fixture::ALL.map(|fixture| (fixture_key(fixture), fixture));
    let fixture = table.needed("fixture", "reflect", table.choice("fixture", &fixtures)?)?;
    let asks = table.needed("asks", "resistance", table.choice("asks", &Asks::ALL)?)?;
    let setup = lookup(&text("scenario")?).map_err(|error| table.error("scenario", error))?;
    let tolerance = tolerance(table, asks)?;
    let formula = table.read("formula", str::parse::<Formula>)?;
    let choices = choices(table, asks, &setup, fixture, formula.as_ref(), lookup)?;
    let filler = Filler {
        scenario: setup.scenario(),
        fixture,
        tolerance,
        asks,
        formula: formula.as_ref(),
    };
    let quoted = |text: &str| match with_words {
        true => filler.filled(text),
        false => Ok(String::new()),
    };
    let prompt =
        quoted(&text("prompt")?).map_err(|error| table.error("prompt", error.to_string()))?;
    let hints = table.words("hints")?.unwrap_or_default();
    if hints.is_empty() {
        return Err(table.error("hints", "no hint; write at least one"));
    }
    let hints = hints
        .into_iter()
        .map(|(at, hint)| quoted(&hint).map_err(|error| table.error_at(at, error.to_string())))
        .collect::<Result<_, _>>()?;
    let areas = Area::ALL.map(|area| (area.key(), area));
    let count = |key, most| -> Result<u64, ScenarioError> {
        table.needed(key, "1", table.count(key, 1, most)?)
    };
    Ok(Task {
        key: text("key")?.into_owned(),
        title: text("title")?.into_owned(),
        area: table.needed("area", "reading", table.choice("area", &areas)?)?,
        objective: text("objective")?.into_owned(),
        // Both counts are in the range of their types.
        level: count("level", 3)? as u8,
        minutes: count("minutes", 60)? as u32,
        chapter: text("chapter")?.into_owned(),
        fixture,
        asks,
        tolerance,
        choices,
        formula,
        has_data: table.flag("data")?.unwrap_or(false),
        prompt,
        hints,
        setup,
        knowable: OnceLock::new(),
    })
}

fn tolerance(table: &Keyed<'_>, asks: Asks) -> Result<Tolerance, ScenarioError> {
    // A count is right or it is not, and a claim brings its own width.
    let unit = asks.unit().filter(|_| !asks.is_whole() && !asks.is_claim());
    let digits = table.count("digits", 1, 9)?;
    match (unit, digits, table.has("uncertainty")) {
        // The count is in the range of u32, so the conversion keeps it.
        (Some(_), Some(digits), false) => Ok(Tolerance::Digits(digits as u32)),
        (Some(unit), None, true) => {
            let distance = table.needed_positive("uncertainty", unit)?;
            Ok(Tolerance::Uncertainty(distance))
        }
        (Some(_), _, _) => Err(table.error(
            "asks",
            "a task that asks for a number needs either digits or uncertainty",
        )),
        (None, None, false) => Ok(Tolerance::Uncertainty(0.0)),
        (None, _, _) => Err(table.error(
            "asks",
            "a task that asks for a choice, a count, a formula or a value with its ± has neither \
             digits nor uncertainty; take it out",
        )),
    }
}

fn choices(
    table: &Keyed<'_>,
    asks: Asks,
    setup: &Setup,
    fixture: Fixture,
    formula: Option<&Formula>,
    lookup: &Lookup<'_>,
) -> Result<Option<Choices>, ScenarioError> {
    let criterion = table.choice("by", &Criterion::ALL)?;
    let criterion = match (asks.has_options(), criterion) {
        (false, None) => return Ok(None),
        (true, Some(criterion)) => criterion,
        (true, None) => return table.needed("by", "value", None),
        (false, Some(_)) => {
            return Err(table.error(
                "by",
                "only a choice or a ranking is by something; take it out",
            ));
        }
    };
    let texts = table.words("options")?.unwrap_or_default();
    let names = table.words("option-scenarios")?.unwrap_or_default();
    if criterion.compares_scenarios() && texts.len() != names.len() {
        return Err(table.error(
            "options",
            "expected as many option-scenarios as options, in the same order",
        ));
    }
    let mut candidates = Vec::with_capacity(texts.len());
    for (which, (at, text)) in texts.into_iter().enumerate() {
        let setup = match names.get(which) {
            None => None,
            Some((at, name)) => Some(lookup(name).map_err(|error| table.error_at(*at, error))?),
        };
        let text = match &setup {
            None => text.into_owned(),
            Some(setup) => fill(&text, |inside| {
                inside.parse::<Quote>()?.of(setup.scenario())
            })
            .map_err(|error| table.error_at(at, error.to_string()))?,
        };
        candidates.push(Candidate { text, setup });
    }
    let found = match asks {
        Asks::Ranking => Choices::ranking(criterion, setup, fixture, &candidates),
        _ => Choices::choice(criterion, setup, fixture, candidates, formula),
    };
    found
        .map(Some)
        .map_err(|error| table.error("by", format!("by: {error}")))
}

/// Fills in what a question quotes.
struct Filler<'a> {
    scenario: &'a Scenario,
    fixture: Fixture,
    tolerance: Tolerance,
    asks: Asks,
    formula: Option<&'a Formula>,
}

impl Filler<'_> {
    fn filled(&self, text: &str) -> Result<String, QuoteError> {
        fill(text, |inside| {
            let own = match inside.split_whitespace().collect::<Vec<_>>()[..] {
                ["uncertainty"] => self.uncertainty(),
                ["measured"] => self.measured(),
                ["formula"] => self.formula.map(ToString::to_string),
                ["cause", number] => self.cause(number),
                _ => None,
            };
            match own {
                Some(own) => Ok(own),
                None => inside.parse::<Quote>()?.of(self.scenario),
            }
        })
    }

    fn uncertainty(&self) -> Option<String> {
        let Tolerance::Uncertainty(distance) = self.tolerance else {
            return None;
        };
        let unit = self.asks.unit().map_or("", Unit::sign);
        Some(format!("±{}", engineering(distance, unit, 2)))
    }

    /// A reading of the task's fixture with noise and what the calibration leaves.
    fn measured(&self) -> Option<String> {
        let reading = measured_reading(self.scenario, self.fixture)?;
        let entry = FixtureReadout {
            fixture: self.fixture,
            reading: Some(reading),
            got_back: None,
        };
        Some(Shown::of(&entry)?.to_string())
    }

    /// The cause that is `number`th in size, with what it alone does to |Z|.
    fn cause(&self, number: &str) -> Option<String> {
        let which: usize = number.parse().ok()?;
        let (name, share) = cause_in_percent(self.scenario, self.fixture, which)?;
        Some(format!("{name} {}", unsigned_percent(share)))
    }
}

/// The reading of a scenario's measurement at its one frequency.
pub(crate) fn measured_reading(scenario: &Scenario, fixture: Fixture) -> Option<Complex64> {
    let at_one = Scenario {
        sweep: None,
        ..scenario.clone()
    };
    let measured = Measurement::of(&at_one, fixture).ok()?;
    let corrected = measured.points.first()?.corrected;
    Some(match fixture {
        Fixture::Reflect => corrected.s11,
        Fixture::ShuntThrough | Fixture::SeriesThrough => corrected.s21,
    })
}

/// The cause that is `which`th in size from 1, with its standard uncertainty as a part of |Z|,
/// rounded as a question prints it.
pub(crate) fn cause_in_percent(
    scenario: &Scenario,
    fixture: Fixture,
    which: usize,
) -> Option<(&'static str, f64)> {
    let bench = Bench::new(scenario).ok()?;
    let (cause, share) = *causes_by_share(&bench, fixture).get(which.checked_sub(1)?)?;
    let readout = bench.readout();
    let whole = readout.appraisal_of(fixture)?.figure_of_merit?;
    let part = whole * share.sqrt();
    let digits = 10f64.powf(1.0 - part.log10().floor());
    Some((cause.name(), (part * digits).round() / digits))
}
