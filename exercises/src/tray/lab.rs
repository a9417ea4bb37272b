//! A lab: what is drawn for each group, what it measures and what it is asked.

use std::fmt;
use std::sync::LazyLock;

use jigwise_bench::file::{Keyed, Place, RawTable};
use jigwise_bench::words::fixture_key;
use jigwise_bench::{Fixture, MAX_QUOTED, ScenarioError, Unit, excerpt, hint, parse_value};

/// A lab, read from its file.
#[derive(Debug, Clone)]
pub struct Lab {
    pub(crate) key: String,
    pub(crate) title: String,
    pub(crate) edition: u32,
    pub(crate) minutes: u32,
    pub(crate) about: Vec<String>,
    pub(crate) steps: Vec<String>,
    pub(crate) draws: Vec<Drawn>,
    /// True where the parts get their letters in a drawn order.
    pub(crate) shuffled: bool,
    /// The part whose instrument the card on the sheet is of.
    pub(crate) card_of: String,
    pub(crate) parts: Vec<PartPlan>,
    /// The file itself, whose questions are read again for each group.
    pub(crate) text: &'static str,
    pub(crate) file: &'static str,
}

/// A value that is drawn for each group.
#[derive(Debug, Clone)]
pub(crate) struct Drawn {
    pub(crate) name: String,
    pub(crate) of: DrawnOf,
}

#[derive(Debug, Clone)]
pub(crate) enum DrawnOf {
    /// Log-uniform between two positive numbers.
    Between(f64, f64),
    /// One of some texts.
    OneOf(Vec<String>),
}

/// Something that a group measures.
#[derive(Debug, Clone)]
pub(crate) struct PartPlan {
    pub(crate) key: String,
    pub(crate) fixtures: Vec<Fixture>,
    /// A scenario file in which `{{name}}` stands for a drawn value.
    pub(crate) scenario: String,
    /// True for readings one after the other without touching anything: the frequencies of the sweep
    /// only count them.
    pub(crate) is_repeated: bool,
    /// True for a part that is not handed out and only asked about.
    pub(crate) is_hidden: bool,
    /// The part with which it shares its calibration and its noise.
    pub(crate) seed_of: Option<String>,
}

/// That no lab has a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownLab {
    name: String,
}

impl std::error::Error for UnknownLab {}

impl fmt::Display for UnknownLab {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names: Vec<&str> = labs().iter().map(Lab::key).collect();
        write!(
            f,
            "\"{}\" is no lab{}",
            excerpt(&self.name, MAX_QUOTED),
            hint(&self.name, &names)
        )
    }
}

macro_rules! lab_files {
    ($($name:literal),* $(,)?) => {
        const FILES: &[(&str, &str)] = &[
            $((concat!("exercises/labs/", $name, ".toml"),
               include_str!(concat!("../../labs/", $name, ".toml")))),*
        ];
    };
}

lab_files!["three-ways", "crossover", "junk-box", "broken-calibration"];

/// The labs that come with Jigwise.
pub fn labs() -> &'static [Lab] {
    static BUILT_IN: LazyLock<Vec<Lab>> = LazyLock::new(|| {
        let read = |(file, text): &(&'static str, &'static str)| {
            Lab::from_toml(text, file)
                .unwrap_or_else(|error| panic!("{error}; the labs built in are read by a test"))
        };
        FILES.iter().map(read).collect()
    });
    &BUILT_IN
}

/// The lab of a name.
///
/// # Errors
/// [`UnknownLab`], which names the nearest.
pub fn lab(name: &str) -> Result<&'static Lab, UnknownLab> {
    labs()
        .iter()
        .find(|lab| lab.key == name)
        .ok_or_else(|| UnknownLab {
            name: name.to_owned(),
        })
}

const KEYS: [&str; 11] = [
    "version", "key", "title", "edition", "minutes", "about", "steps", "shuffled", "card-of",
    "draw", "part",
];

impl Lab {
    /// Its name in commands and files.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Its title.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Changes where a seed would give other trays than before.
    pub fn edition(&self) -> u32 {
        self.edition
    }

    /// How long a group works on it.
    pub fn minutes(&self) -> u32 {
        self.minutes
    }

    pub(crate) fn from_toml(text: &'static str, file: &'static str) -> Result<Self, ScenarioError> {
        let place = Place { file, text };
        let raw = RawTable::parse(&place)?;
        let known: Vec<&str> = KEYS.into_iter().chain(["question"]).collect();
        let table = Keyed::document(&place, &raw, "a lab", Some(&known))?;
        let word = |key| -> Result<String, ScenarioError> {
            Ok(table.needed(key, "…", table.text(key)?)?.into_owned())
        };
        let words = |key| -> Result<Vec<String>, ScenarioError> {
            let found = table.words(key)?.unwrap_or_default();
            Ok(found
                .into_iter()
                .map(|(_, word)| word.into_owned())
                .collect())
        };
        let count = |key, most| table.needed(key, "1", table.count(key, 1, most)?);
        let draws = table.tables("draw", "draw", &["name", "from", "to", "one-of"])?;
        let part_keys = [
            "key", "fixtures", "scenario", "hidden", "repeated", "seed-of",
        ];
        let parts = table.tables("part", "part", &part_keys)?;
        Ok(Self {
            key: word("key")?,
            title: word("title")?,
            // Both counts are in the range of their types.
            edition: count("edition", 1_000_000)? as u32,
            minutes: count("minutes", 600)? as u32,
            about: words("about")?,
            steps: words("steps")?,
            shuffled: table.flag("shuffled")?.unwrap_or(false),
            card_of: word("card-of")?,
            draws: draws.iter().map(read_draw).collect::<Result<_, _>>()?,
            parts: parts.iter().map(read_part).collect::<Result<_, _>>()?,
            text,
            file,
        })
    }
}

fn read_draw(table: &Keyed<'_>) -> Result<Drawn, ScenarioError> {
    let name = table.needed("name", "r", table.text("name")?)?.into_owned();
    let of = match table.words("one-of")? {
        Some(words) => DrawnOf::OneOf(words.into_iter().map(|(_, w)| w.into_owned()).collect()),
        None => {
            let end = |key| -> Result<f64, ScenarioError> {
                let read = |text: &str| parse_value(text, Unit::One);
                table.needed(key, "4.7k", table.read(key, read)?)
            };
            DrawnOf::Between(end("from")?, end("to")?)
        }
    };
    Ok(Drawn { name, of })
}

fn read_part(table: &Keyed<'_>) -> Result<PartPlan, ScenarioError> {
    let word = |key| -> Result<String, ScenarioError> {
        Ok(table.needed(key, "…", table.text(key)?)?.into_owned())
    };
    let mut fixtures = Vec::new();
    for (at, name) in table.words("fixtures")?.unwrap_or_default() {
        let known = Fixture::ALL.into_iter().find(|f| fixture_key(*f) == name);
        let names = Fixture::ALL.map(fixture_key);
        fixtures.push(known.ok_or_else(|| {
            table.error_at(
                at,
                format!("\"{name}\" is no fixture{}", hint(&name, &names)),
            )
        })?);
    }
    Ok(PartPlan {
        key: word("key")?,
        fixtures,
        scenario: word("scenario")?,
        is_repeated: table.flag("repeated")?.unwrap_or(false),
        is_hidden: table.flag("hidden")?.unwrap_or(false),
        seed_of: table.text("seed-of")?.map(|text| text.into_owned()),
    })
}
