//! The key: what the teacher alone has.

use std::fmt::{self, Write as _};

use jigwise_bench::ScenarioError;
use jigwise_bench::file::{Keyed, Place, RawTable};
use maud::html;

use super::form::quoted;
use super::group::{Group, Question};
use super::lab::lab;
use super::make::{MOST_GROUPS, TraySet};
use super::page::page;
use super::seed::Seed;
use crate::solution::value_words;

/// Where the key is in a folder of trays.
pub const PATH: &str = "teacher/key.toml";
/// What a key is called, in a folder or by itself.
const FILE: &str = "key.toml";
/// The version of the key.
const VERSION: u32 = 1;
/// The version of the program that draws.
const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// True for the path of a key, by itself or in a folder of trays.
pub fn is_key(path: &str) -> bool {
    path == FILE || path == PATH || path.ends_with(&format!("/{PATH}"))
}

/// The key of a set of trays.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    set: TraySet,
}

/// Why a key can't be used.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyError(Fault);

#[derive(Debug, Clone, PartialEq)]
enum Fault {
    File(ScenarioError),
    Said(String),
}

impl std::error::Error for KeyError {}

impl fmt::Display for KeyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Fault::File(error) => error.fmt(f),
            Fault::Said(message) => f.write_str(message),
        }
    }
}

impl From<ScenarioError> for KeyError {
    fn from(error: ScenarioError) -> Self {
        Self(Fault::File(error))
    }
}

impl Key {
    /// Reads a key; `name` is what errors call it.
    ///
    /// # Errors
    /// [`KeyError`] for text that is no key, for a lab of another edition, and where the seed no
    /// longer gives what the key says.
    pub fn read(text: &str, name: &str) -> Result<Self, KeyError> {
        let place = Place { file: name, text };
        let raw = RawTable::parse(&place)?;
        let known = [
            "version", "program", "lab", "edition", "tray", "seed", "groups", "group",
        ];
        let file = Keyed::document(&place, &raw, "a key", Some(&known))?;
        let word = |key| -> Result<String, ScenarioError> {
            Ok(file.needed(key, "…", file.text(key)?)?.into_owned())
        };
        let lab = lab(&word("lab")?).map_err(|error| file.error("lab", error.to_string()))?;
        let edition = file.needed("edition", "1", file.count("edition", 1, 1_000_000)?)?;
        let seed = file.needed("seed", "…", file.read("seed", str::parse::<Seed>)?)?;
        let groups = file.needed("groups", "10", file.count("groups", 1, MOST_GROUPS.into())?)?;
        // The count is at most MOST_GROUPS.
        let set = TraySet::new(lab, seed, groups as u32);
        let same_lab = u64::from(lab.edition) == edition;
        if !same_lab || word("tray")? != set.code() {
            let program = word("program")?;
            return Err(KeyError(Fault::Said(format!(
                "{name}: this key was made by Jigwise {program} with edition {edition} of the lab \
                 \"{}\", and this is Jigwise {PROGRAM} with edition {}; grade with the version that \
                 made the trays",
                lab.key, lab.edition
            ))));
        }
        // The first group's answers show whether the seed still gives the same parts.
        let first = set.group(1)?;
        let written = file.tables("group", "group", &GROUP_KEYS)?;
        let stale = written.first().is_none_or(|table| {
            table.text("answers").ok().flatten().as_deref() != Some(&fingerprint(&first))
        });
        if stale {
            return Err(KeyError(Fault::Said(format!(
                "{name}: the seed gives other answers than the key holds, so the key was changed or \
                 made by another version; grade with the version that made the trays"
            ))));
        }
        Ok(Self { set })
    }

    /// The trays it is of.
    pub fn set(&self) -> &TraySet {
        &self.set
    }
}

const GROUP_KEYS: [&str; 4] = ["number", "answers", "drawn", "possible"];

/// The right answers of a group in one line.
fn fingerprint(group: &Group) -> String {
    let each: Vec<String> = group
        .questions
        .iter()
        .map(|question| format!("{} {}", question.name, question.task.answer_words()))
        .collect();
    each.join("; ")
}

/// What could be known, for a question with a ±.
fn possible(question: &Question) -> Option<String> {
    let knowable = question.task.knowable()?;
    Some(match knowable.can_be_told() {
        true => format!(
            "±{}",
            value_words(knowable.possible, question.task.asks().unit(), 2)
        ),
        false => "can't be told".to_owned(),
    })
}

pub(super) fn toml(set: &TraySet, groups: &[Group]) -> String {
    let mut out = format!(
        "# The key to a set of trays. Keep it from the students: whoever has the seed has all answers.\n\
         version = {VERSION}\nprogram = {}\nlab = {}\nedition = {}\ntray = {}\nseed = {}\n\
         groups = {}\n",
        quoted(PROGRAM),
        quoted(&set.lab.key),
        set.lab.edition,
        quoted(&set.code()),
        quoted(&set.seed.to_string()),
        set.groups
    );
    for group in groups {
        let drawn: Vec<String> = group
            .drawn
            .iter()
            .map(|(name, value)| format!("{name} {}", value.trim().replace('\n', " ")))
            .collect();
        let possible: Vec<String> = group
            .questions
            .iter()
            .filter_map(|question| Some(format!("{} {}", question.name, possible(question)?)))
            .collect();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            "\n[[group]]\nnumber = {}\nanswers = {}\npossible = {}\ndrawn = {}\n",
            group.number,
            quoted(&fingerprint(group)),
            quoted(&possible.join("; ")),
            quoted(&drawn.join("; "))
        );
    }
    out
}

pub(super) fn key_page(set: &TraySet, groups: &[Group]) -> String {
    let title = format!("Key: {}", set.lab.title);
    let worked = groups.first().map(|group| &group.questions);
    let inside = html! {
        header {
            p.from { "Jigwise lab, tray " (set.code()) ", for the teacher alone" }
            h1 { (title) }
        }
        p { "The seed is " code { (set.seed) } ". Whoever has it has all answers." }
        @if !set.seed.is_sealed() {
            p.caution {
                "This seed is short, so a student can find it by trying. Make the trays again without \
                 --seed where marks depend on them."
            }
        }
        h2 { "Right answers" }
        @for group in groups {
            table {
                caption { "Group " (group.number) }
                thead { tr { th.text { "Question" } th.text { "Answer" } th { "Possible" } th { "Points" } } }
                tbody {
                    @for question in &group.questions {
                        tr {
                            th scope="row" { (question.name) " " (question.task.title()) }
                            td.text { (question.task.answer_words()) }
                            td { (possible(question).unwrap_or_default()) }
                            td { (question.points) }
                        }
                    }
                }
            }
        }
        h2 { "Worked, for the first group" }
        @for question in worked.into_iter().flatten() {
            h3 { (question.name) ". " (question.task.title()) }
            ul { @for step in question.task.solution() { li { (step) } } }
        }
    };
    page(&title, &inside)
}
