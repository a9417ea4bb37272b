//! What was predicted and which rounds were played, kept in a file and told in words. There are no
//! points in it, and it goes nowhere.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use jigwise_bench::ScenarioError;
use jigwise_bench::file::{Keyed, Place, RawTable};

use crate::predict::Uncovered;
use crate::round::{Code, Graded, Sort};
use crate::{Cover, Slip};

/// The most entries of each kind that are kept; the oldest go first.
const MOST: usize = 1_000;

/// What somebody did so far.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Progress {
    predicted: Vec<Predicted>,
    rounds: Vec<Played>,
}

/// One prediction.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Predicted {
    cover: Cover,
    is_good: bool,
    slip: Option<Slip>,
}

/// One round.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Played {
    code: Code,
    is_right: bool,
    slip: Option<Slip>,
}

/// What could be read of a file, and what could not.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// What could be read.
    pub progress: Progress,
    /// A sentence for each entry that could not.
    pub faults: Vec<String>,
}

fn slip_key(slip: Slip) -> String {
    let mut key = String::new();
    for letter in format!("{slip:?}").chars() {
        match letter {
            '(' => key.push(' '),
            ')' => {}
            upper if upper.is_ascii_uppercase() => {
                if !key.is_empty() && !key.ends_with(' ') {
                    key.push(' ');
                }
                key.push(upper.to_ascii_lowercase());
            }
            other => key.push(other),
        }
    }
    key
}

fn slip_of(key: &str) -> Option<Slip> {
    Slip::ALL.into_iter().find(|slip| slip_key(*slip) == key)
}

impl Progress {
    /// True where nothing was done yet.
    pub fn is_empty(&self) -> bool {
        self.predicted.is_empty() && self.rounds.is_empty()
    }

    /// Takes in a prediction.
    pub fn note_prediction(&mut self, uncovered: &Uncovered) {
        push(
            &mut self.predicted,
            Predicted {
                cover: uncovered.cover,
                is_good: uncovered.is_good,
                slip: uncovered.slip,
            },
        );
    }

    /// Takes in a round.
    pub fn note_round(&mut self, code: Code, graded: &Graded) {
        push(
            &mut self.rounds,
            Played {
                code,
                is_right: graded.is_right(),
                slip: graded.slip,
            },
        );
    }

    /// What was done well and what not, a sentence each.
    pub fn sentences(&self) -> Vec<String> {
        if self.is_empty() {
            return vec!["Nothing predicted and no round played yet.".to_owned()];
        }
        type Kind = fn(Cover) -> bool;
        let kinds: [(&str, Kind); 4] = [
            ("the best fixture", |c| c == Cover::BestFixture),
            ("levels", |c| matches!(c, Cover::Reading(_))),
            ("bars", |c| matches!(c, Cover::Bar(_))),
            ("who sees the nudge", |c| matches!(c, Cover::Verdict(_))),
        ];
        let mut sentences = Vec::new();
        for (name, is_kind) in kinds {
            let of: Vec<bool> = self
                .predicted
                .iter()
                .filter(|each| is_kind(each.cover))
                .map(|each| each.is_good)
                .collect();
            sentences.extend(counted(&format!("Predicted, {name}"), &of, "well"));
        }
        for sort in Sort::ALL {
            let of: Vec<bool> = self
                .rounds
                .iter()
                .filter(|each| each.code.sort() == sort)
                .map(|each| each.is_right)
                .collect();
            let name = format!("Unlabelled part, {}", sort.title().to_lowercase());
            sentences.extend(counted(&name, &of, "right"));
        }
        let mut slips: BTreeMap<String, u32> = BTreeMap::new();
        let predicted = self.predicted.iter().filter_map(|each| each.slip);
        let played = self.rounds.iter().filter_map(|each| each.slip);
        for slip in predicted.chain(played) {
            *slips.entry(slip.to_string()).or_default() += 1;
        }
        let most = slips.into_iter().max_by_key(|(_, count)| *count);
        if let Some((slip, count)) = most.filter(|(_, count)| *count > 1) {
            sentences.push(format!("The slip met most often, {count} times: {slip}."));
        }
        sentences
    }

    /// As a file.
    pub fn to_toml(&self) -> String {
        let mut text = "# What was predicted in the simulator, and which rounds were played.\n\
                        version = 1\n"
            .to_owned();
        let slip = |slip: Option<Slip>| {
            slip.map_or(String::new(), |slip| {
                format!("slip = \"{}\"\n", slip_key(slip))
            })
        };
        // Writing to a String can't fail.
        for each in &self.predicted {
            let _ = write!(
                text,
                "\n[[predicted]]\nwhat = \"{}\"\nwell = {}\n{}",
                each.cover.key(),
                each.is_good,
                slip(each.slip)
            );
        }
        for each in &self.rounds {
            let _ = write!(
                text,
                "\n[[round]]\ncode = \"{}\"\nright = {}\n{}",
                each.code,
                each.is_right,
                slip(each.slip)
            );
        }
        text
    }

    /// Reads a file; an entry that can't be read is left out, with a sentence.
    ///
    /// ```
    /// use jigwise_exercises::progress::Progress;
    ///
    /// let text = "version = 1\n\n[[predicted]]\nwhat = \"best fixture\"\nwell = true\n\n[[predic";
    /// let found = Progress::from_toml(text, "progress.toml");
    /// assert_eq!(found.progress.sentences(), ["Predicted, the best fixture: 1 of 1 well."]);
    /// assert!(found.faults[0].starts_with("progress.toml, line 7"));
    /// ```
    pub fn from_toml(text: &str, name: &str) -> Found {
        let mut found = Found::default();
        // Each entry is read by itself, on the line where it stands.
        let mut blocks: Vec<(usize, String)> = Vec::new();
        for (at, line) in text.lines().enumerate() {
            match blocks.last_mut() {
                Some((_, block)) if !line.starts_with("[[") => {
                    block.push_str(line);
                    block.push('\n');
                }
                _ => blocks.push((at, format!("{line}\n"))),
            }
        }
        for (at, block) in blocks {
            let is_entry = block.starts_with("[[");
            let whole = match is_entry {
                true => format!("version = 1{}{block}", "\n".repeat(at)),
                false => block,
            };
            if let Err(error) = found.progress.take(&whole, name, is_entry) {
                found.faults.push(error.to_string());
                if !is_entry {
                    // Another version means other entries.
                    break;
                }
            }
        }
        found
    }

    fn take(&mut self, text: &str, name: &str, is_entry: bool) -> Result<(), ScenarioError> {
        let place = Place { file: name, text };
        let raw = RawTable::parse(&place)?;
        let known = ["version", "predicted", "round"];
        let file = Keyed::document(&place, &raw, "a file of progress", Some(&known))?;
        if !is_entry {
            return Ok(());
        }
        let slip = |table: &Keyed<'_>| -> Result<Option<Slip>, ScenarioError> {
            let text = table.text("slip")?;
            // A slip that a newer Jigwise knows is no fault.
            Ok(text.and_then(|text| slip_of(&text)))
        };
        let flag = |table: &Keyed<'_>, key: &str| -> Result<bool, ScenarioError> {
            table.needed(key, "true", table.flag(key)?)
        };
        for table in file.tables("predicted", "predicted", &["what", "well", "slip"])? {
            let text = table.needed("what", "best fixture", table.text("what")?)?;
            let cover = Cover::keyed(&text).ok_or_else(|| {
                table.error(
                    "what",
                    format!("what is \"{text}\", which is never covered"),
                )
            })?;
            push(
                &mut self.predicted,
                Predicted {
                    cover,
                    is_good: flag(&table, "well")?,
                    slip: slip(&table)?,
                },
            );
        }
        for table in file.tables("round", "round", &["code", "right", "slip"])? {
            let read = |text: &str| text.parse::<Code>();
            push(
                &mut self.rounds,
                Played {
                    code: table.needed("code", "22222-22222", table.read("code", read)?)?,
                    is_right: flag(&table, "right")?,
                    slip: slip(&table)?,
                },
            );
        }
        Ok(())
    }
}

fn push<T>(all: &mut Vec<T>, one: T) {
    if all.len() == MOST {
        all.remove(0);
    }
    all.push(one);
}

fn counted(name: &str, of: &[bool], word: &str) -> Option<String> {
    let good = of.iter().filter(|is_good| **is_good).count();
    (!of.is_empty()).then(|| format!("{name}: {good} of {} {word}.", of.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jigwise_bench::Fixture;

    fn some() -> Progress {
        let mut progress = Progress::default();
        for (cover, slip) in Cover::all().zip(Slip::ALL) {
            progress.note_prediction(&Uncovered {
                cover,
                is_good: cover.fixture() == Some(Fixture::Reflect),
                slip: Some(slip),
                sentences: Vec::new(),
            });
        }
        for sort in Sort::ALL {
            progress.rounds.push(Played {
                code: Code::new(sort, 77),
                is_right: true,
                slip: Some(Slip::OtherFixture(Fixture::SeriesThrough)),
            });
        }
        progress
    }

    #[test]
    fn what_was_kept_comes_back() {
        let progress = some();
        let found = Progress::from_toml(&progress.to_toml(), "p.toml");
        assert_eq!(found.faults, Vec::<String>::new());
        assert_eq!(found.progress, progress);
        for slip in Slip::ALL {
            assert_eq!(slip_of(&slip_key(slip)), Some(slip));
        }
    }

    /// Whatever byte a file ends at, what was whole is kept, and at most one sentence is said.
    #[test]
    fn a_half_written_file_keeps_what_is_whole() {
        let text = some().to_toml();
        let mut kept = 0;
        for end in 0..text.len() {
            let found = Progress::from_toml(&text[..end], "p.toml");
            assert!(found.faults.len() <= 1, "{end}: {:?}", found.faults);
            let count = found.progress.predicted.len() + found.progress.rounds.len();
            // The entry that the file ends in may be lost, and no other.
            assert!(count + 1 >= kept, "{end}: {count} of {kept}");
            kept = kept.max(count);
        }
        assert!(kept >= 14, "{kept}");
    }

    #[test]
    fn another_version_is_said() {
        let found = Progress::from_toml("version = 2\n[[new]]\nx = 1\n", "p.toml");
        assert_eq!(found.faults.len(), 1);
        assert!(
            found.faults[0].contains("newer Jigwise"),
            "{:?}",
            found.faults
        );
        assert!(found.progress.is_empty());
    }

    #[test]
    fn the_words_count_what_was_done() {
        let words = some().sentences().join(" ");
        for part in [
            "the best fixture: 0 of 1 well",
            "levels: 1 of 3 well",
            "a resistor: 1 of 1 right",
            "met most often, 6 times",
        ] {
            assert!(words.contains(part), "{words}");
        }
    }
}
