//! The index of tasks.

use std::fmt;
use std::sync::LazyLock;

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Fixture, Scenario, Unit, above_zero, engineering, expected_one_of, hint};
use serde::Deserialize;
use toml::Spanned;

use crate::quote::{Quote, QuoteError, fill};
use crate::scenarios::scenario;
use crate::tolerance::Tolerance;

/// What a task asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Asks {
    /// The level of the reading, dB, from the device.
    Level,
    /// R + jX in ohms, from the reading; like the next three of the part itself, with known
    /// strays and a known wrong load taken out.
    Impedance,
    /// R in ohms, from the reading.
    Resistance,
    /// The capacitance in farads, from the reading.
    Capacitance,
    /// The inductance in henries, from the reading; of a coil without the capacitance across it.
    Inductance,
    /// The fixture in which the level moves most when the device grows by a tenth.
    Fixture,
    /// The formula from the reading to the impedance.
    Formula,
    /// The fixture that shows the nudge, and the only one.
    FixtureThatSees,
    /// What sets the smallest change that shows, noise or display.
    Limit,
    /// The averages that show the nudge, a whole number.
    Averages,
    /// The smallest change that shows, percent of |Z|, in the nudge's direction.
    Change,
    /// The length of the arm, from the reading of an open at its end.
    Length,
    /// Where a part resonates with what comes with it, from both values.
    SelfResonance,
    /// The Q of a crystal by itself, from its width in the series-through fixture.
    Quality,
}

impl Asks {
    const ALL: [(&'static str, Self); 14] = [
        ("level", Self::Level),
        ("impedance", Self::Impedance),
        ("resistance", Self::Resistance),
        ("capacitance", Self::Capacitance),
        ("inductance", Self::Inductance),
        ("fixture", Self::Fixture),
        ("formula", Self::Formula),
        ("fixture-that-sees", Self::FixtureThatSees),
        ("limit", Self::Limit),
        ("averages", Self::Averages),
        ("change", Self::Change),
        ("length", Self::Length),
        ("self-resonance", Self::SelfResonance),
        ("quality", Self::Quality),
    ];

    /// The unit of the answer; `None` where it is no number.
    pub fn unit(self) -> Option<Unit> {
        match self {
            Self::Level => Some(Unit::Decibel),
            Self::Impedance | Self::Resistance => Some(Unit::Ohm),
            Self::Capacitance => Some(Unit::Farad),
            Self::Inductance => Some(Unit::Henry),
            Self::Averages => Some(Unit::One),
            Self::Change => Some(Unit::Percent),
            Self::Length => Some(Unit::Metre),
            Self::SelfResonance => Some(Unit::Hertz),
            Self::Quality => Some(Unit::One),
            Self::Fixture | Self::FixtureThatSees | Self::Limit | Self::Formula => None,
        }
    }

    /// An answer of the right form, for the hand that types one.
    pub fn example(self) -> &'static str {
        match self {
            Self::Level => "-20.8 dB",
            Self::Impedance => "330 - j120",
            Self::Resistance => "120 ohm",
            Self::Capacitance => "330 pF",
            Self::Inductance => "2.2 uH",
            Self::Fixture | Self::FixtureThatSees => "reflect",
            Self::Formula => "Z0*S",
            Self::Limit => "noise",
            Self::Averages => "64",
            Self::Change => "30 %",
            Self::Length => "12.5 mm",
            Self::SelfResonance => "7.10 MHz",
            Self::Quality => "120",
        }
    }
}

/// A question with a checked answer.
#[derive(Debug, Clone)]
pub struct Task {
    key: String,
    title: String,
    fixture: Fixture,
    scenario: Scenario,
    asks: Asks,
    tolerance: Tolerance,
    prompt: String,
    hints: Vec<String>,
}

impl Task {
    /// Its name in the index.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// A few words.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The fixture it practises.
    pub fn fixture(&self) -> Fixture {
        self.fixture
    }

    /// The physical question behind it.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// What it asks for.
    pub fn asks(&self) -> Asks {
        self.asks
    }

    /// How near an answer has to come.
    pub fn tolerance(&self) -> Tolerance {
        self.tolerance
    }

    /// The question, with its numbers.
    pub fn prompt(&self) -> &str {
        &self.prompt
    }

    /// Hints, from gentle to plain.
    pub fn hints(&self) -> &[String] {
        &self.hints
    }

    /// What is asked of the answer's form, in a sentence.
    pub fn form(&self) -> String {
        match (self.asks, self.tolerance) {
            (Asks::Fixture | Asks::FixtureThatSees, _) => {
                let names = Fixture::ALL.map(fixture_key);
                format!("Answer with one of {}.", names.join(", "))
            }
            (Asks::Formula, _) => "Answer with a formula in S and Z0.".to_owned(),
            (Asks::Limit, _) => "Answer with noise or display.".to_owned(),
            (Asks::Averages, _) => format!("Give a whole number, as in {}.", self.asks.example()),
            (Asks::Quality, Tolerance::Digits(digits)) => format!(
                "Give {digits} significant digits, as in {}.",
                self.asks.example()
            ),
            (_, Tolerance::Digits(digits)) => format!(
                "Give {digits} significant digits and the unit, as in {}.",
                self.asks.example()
            ),
            (asks, Tolerance::Uncertainty(distance)) => format!(
                "Within {} counts; give the unit, as in {}.",
                engineering(distance, asks.unit().map_or("", Unit::sign), 2),
                asks.example()
            ),
        }
    }
}

/// All tasks, in order.
#[derive(Debug, Clone)]
pub struct Catalogue {
    tasks: Vec<Task>,
}

/// The tasks that come with Jigwise.
pub fn catalogue() -> &'static Catalogue {
    static BUILT_IN: LazyLock<Catalogue> = LazyLock::new(|| {
        Catalogue::from_toml(include_str!("../tasks.toml"), "exercises/tasks.toml")
            .unwrap_or_else(|error| panic!("{error}; the index built in is read by a test"))
    });
    &BUILT_IN
}

/// An index that can't be used, or a name that it does not hold.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogueError {
    place: Option<(String, Option<usize>)>,
    message: String,
    unknown_task: bool,
}

impl CatalogueError {
    /// The line of the index, from 1.
    pub fn line(&self) -> Option<usize> {
        self.place.as_ref()?.1
    }

    /// True where a task of that name does not exist.
    pub fn is_unknown_task(&self) -> bool {
        self.unknown_task
    }
}

impl std::error::Error for CatalogueError {}

impl fmt::Display for CatalogueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((file, line)) = &self.place {
            f.write_str(file)?;
            if let Some(line) = line {
                write!(f, ", line {line}")?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.message)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CatalogueFile {
    version: Spanned<i64>,
    task: Vec<Spanned<TaskTable>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TaskTable {
    key: Spanned<String>,
    title: String,
    fixture: Spanned<String>,
    scenario: Spanned<String>,
    asks: Spanned<String>,
    digits: Option<Spanned<i64>>,
    uncertainty: Option<Spanned<String>>,
    prompt: Spanned<String>,
    hints: Spanned<Vec<Spanned<String>>>,
}

struct Place<'a> {
    file: &'a str,
    text: &'a str,
}

impl Place<'_> {
    fn error(&self, offset: Option<usize>, message: String) -> CatalogueError {
        let line = offset.map(|offset| {
            let upto = &self.text.as_bytes()[..offset.min(self.text.len())];
            upto.iter().filter(|b| **b == b'\n').count() + 1
        });
        CatalogueError {
            place: Some((self.file.to_owned(), line)),
            message,
            unknown_task: false,
        }
    }

    fn at<T>(&self, spanned: &Spanned<T>, message: String) -> CatalogueError {
        self.error(Some(spanned.span().start), message)
    }
}

impl Catalogue {
    /// Reads an index from text; `name` is what errors call it.
    ///
    /// # Errors
    /// [`CatalogueError`] naming file, line and value.
    pub fn from_toml(text: &str, name: &str) -> Result<Self, CatalogueError> {
        let place = Place { file: name, text };
        let file: CatalogueFile = toml::from_str(text).map_err(|error| {
            place.error(
                error.span().map(|span| span.start),
                format!(
                    "{}; expected version = 1 and [[task]] tables",
                    error.message().trim()
                ),
            )
        })?;
        if *file.version.get_ref() != 1 {
            let version = file.version.get_ref();
            return Err(place.at(&file.version, format!("version is {version}, expected 1")));
        }
        let mut tasks: Vec<Task> = Vec::new();
        for table in &file.task {
            let table = table.get_ref();
            if tasks.iter().any(|task| task.key == *table.key.get_ref()) {
                let key = table.key.get_ref();
                return Err(place.at(
                    &table.key,
                    format!("there is a task \"{key}\" already; give this one another key"),
                ));
            }
            tasks.push(task(&place, table)?);
        }
        Ok(Self { tasks })
    }

    /// All tasks, in order.
    pub fn tasks(&self) -> &[Task] {
        &self.tasks
    }

    /// The task of a name.
    ///
    /// # Errors
    /// [`CatalogueError`], which names the nearest.
    pub fn task(&self, key: &str) -> Result<&Task, CatalogueError> {
        self.tasks
            .iter()
            .find(|task| task.key == key)
            .ok_or_else(|| {
                let keys: Vec<&str> = self.tasks.iter().map(Task::key).collect();
                CatalogueError {
                    place: None,
                    message: format!("\"{key}\" is no task{}", hint(key, &keys)),
                    unknown_task: true,
                }
            })
    }
}

fn task(place: &Place<'_>, table: &TaskTable) -> Result<Task, CatalogueError> {
    let fixture = one_of(
        place,
        &table.fixture,
        "fixture",
        &Fixture::ALL.map(|fixture| (fixture_key(fixture), fixture)),
    )?;
    let asks = one_of(place, &table.asks, "asks", &Asks::ALL)?;
    let scenario = scenario(table.scenario.get_ref())
        .map_err(|error| place.at(&table.scenario, error.to_string()))?;
    let tolerance = tolerance(place, table, asks)?;
    let quoted = |spanned: &Spanned<String>| {
        filled(spanned.get_ref(), &scenario, tolerance, asks)
            .map_err(|error| place.at(spanned, error.to_string()))
    };
    if table.hints.get_ref().is_empty() {
        return Err(place.at(&table.hints, "no hint; write at least one".to_owned()));
    }
    Ok(Task {
        key: table.key.get_ref().clone(),
        title: table.title.clone(),
        fixture,
        asks,
        tolerance,
        prompt: quoted(&table.prompt)?,
        hints: table
            .hints
            .get_ref()
            .iter()
            .map(quoted)
            .collect::<Result<_, _>>()?,
        scenario,
    })
}

fn one_of<T: Copy>(
    place: &Place<'_>,
    word: &Spanned<String>,
    what: &str,
    known: &[(&str, T)],
) -> Result<T, CatalogueError> {
    let found = known.iter().find(|(name, _)| name == word.get_ref());
    found.map(|(_, value)| *value).ok_or_else(|| {
        let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
        place.at(
            word,
            format!(
                "{what} is \"{}\", {}",
                word.get_ref(),
                expected_one_of(word.get_ref(), &names)
            ),
        )
    })
}

fn tolerance(
    place: &Place<'_>,
    table: &TaskTable,
    asks: Asks,
) -> Result<Tolerance, CatalogueError> {
    // A count is right or it is not.
    let unit = asks.unit().filter(|_| asks != Asks::Averages);
    match (unit, &table.digits, &table.uncertainty) {
        (Some(_), Some(digits), None) => u32::try_from(*digits.get_ref())
            .ok()
            .filter(|digits| (1..=9).contains(digits))
            .map(Tolerance::Digits)
            .ok_or_else(|| {
                let found = digits.get_ref();
                place.at(digits, format!("digits is {found}, expected 1 to 9"))
            }),
        (Some(unit), None, Some(text)) => above_zero(text.get_ref(), unit)
            .map(Tolerance::Uncertainty)
            .map_err(|error| place.at(text, format!("uncertainty: {error}"))),
        (Some(_), _, _) => Err(place.at(
            &table.asks,
            "a task that asks for a number needs either digits or uncertainty".to_owned(),
        )),
        (None, None, None) => Ok(Tolerance::Uncertainty(0.0)),
        (None, _, _) => Err(place.at(
            &table.asks,
            "a task that asks for a choice, a count or a formula has neither digits nor \
             uncertainty; take it out"
                .to_owned(),
        )),
    }
}

fn filled(
    text: &str,
    scenario: &Scenario,
    tolerance: Tolerance,
    asks: Asks,
) -> Result<String, QuoteError> {
    fill(text, |inside| match tolerance {
        Tolerance::Uncertainty(distance) if inside == "uncertainty" => Ok(format!(
            "±{}",
            engineering(distance, asks.unit().map_or("", Unit::sign), 2)
        )),
        _ => inside.parse::<Quote>()?.of(scenario),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"version = 1
[[task]]
key = "one"
title = "One"
fixture = "reflect"
scenario = "match"
asks = "resistance"
digits = 3
prompt = "Of {{reference 2}}?"
hints = ["h"]
"#;

    #[test]
    fn wrong_entries_have_their_line() {
        assert!(Catalogue::from_toml(GOOD, "t").is_ok());
        for (from, to, line, reason) in [
            ("version = 1", "version = 2", 1, "expected 1"),
            ("reflect", "reflekt", 5, "expected one of"),
            ("\"match\"", "\"mach\"", 6, "did you mean \"match\"?"),
            ("\"resistance\"", "\"ohms\"", 7, "expected one of"),
            ("digits = 3", "digits = 0", 8, "expected 1 to 9"),
            ("digits = 3", "", 7, "needs either"),
            ("digits = 3", "uncertainty = \"2 V\"", 8, "uncertainty"),
            (
                "{{reference 2}}",
                "{{refrence}}",
                9,
                "did you mean \"reference\"?",
            ),
            ("[\"h\"]", "[]", 10, "at least one"),
            ("title", "titel", 4, "unknown field"),
            ("\"resistance\"", "\"formula\"", 7, "neither digits nor"),
        ] {
            let text = GOOD.replacen(from, to, 1);
            let error = Catalogue::from_toml(&text, "tasks.toml").unwrap_err();
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
        let twice = format!("{GOOD}{}", &GOOD["version = 1\n".len()..]);
        let error = Catalogue::from_toml(&twice, "tasks.toml").unwrap_err();
        assert_eq!(error.line(), Some(12), "{error}");
    }

    #[test]
    fn there_are_three_tasks_a_fixture_at_least() {
        for fixture in Fixture::ALL {
            let count = catalogue()
                .tasks()
                .iter()
                .filter(|task| task.fixture() == fixture)
                .count();
            assert!(count >= 3, "{fixture:?}");
        }
    }
}
