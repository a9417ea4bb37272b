//! What one group gets: its parts, drawn from the seed, and its questions.

use std::collections::{HashMap, HashSet};
use std::sync::{Arc, Mutex, PoisonError};

use jigwise_bench::file::{Keyed, Place, RawTable};
use jigwise_bench::quotes::{QuoteError, fill};
use jigwise_bench::words::fixture_key;
use jigwise_bench::{Fixture, Scenario, ScenarioError};

use super::lab::{DrawnOf, Lab};
use super::seed::{Purpose, Seed, Stream};
use crate::read_task::{TASK_KEYS, read_task};
use crate::task::{Setup, Task};

/// What one group gets.
#[derive(Debug, Clone)]
pub struct Group {
    /// Its number, from 1.
    pub number: u32,
    pub(crate) parts: Vec<Part>,
    pub(crate) questions: Vec<Question>,
    /// The drawn values by name, for the key.
    pub(crate) drawn: Vec<(String, String)>,
}

/// A part of a group.
#[derive(Debug, Clone)]
pub(crate) struct Part {
    /// Its key in the lab, which no student sees.
    pub(crate) key: String,
    /// What its files are called.
    pub(crate) name: String,
    pub(crate) fixtures: Vec<Fixture>,
    pub(crate) is_repeated: bool,
    pub(crate) setup: Arc<Setup>,
}

impl Part {
    pub(crate) fn scenario(&self) -> &Scenario {
        self.setup.scenario()
    }

    /// What the file of its measurement in a fixture is called.
    pub(crate) fn file_name(&self, fixture: Fixture) -> String {
        let ports = match fixture {
            Fixture::Reflect => 1,
            Fixture::ShuntThrough | Fixture::SeriesThrough => 2,
        };
        format!("{}-{}.s{ports}p", self.name, fixture_key(fixture))
    }
}

/// A question of a group.
#[derive(Debug, Clone)]
pub struct Question {
    /// Its name on the form: q1, q2 and so on.
    pub name: String,
    /// The question itself.
    pub task: Task,
    /// What it is worth.
    pub points: u32,
    /// The form of the answer, where the usual sentence would tell too much.
    pub(crate) form: Option<String>,
}

impl Question {
    /// The form that the answer must have, in a sentence.
    pub fn form(&self) -> String {
        self.form.clone().unwrap_or_else(|| self.task.form())
    }
}

impl Group {
    /// The group's questions.
    pub fn questions(&self) -> &[Question] {
        &self.questions
    }

    /// Each part with each fixture that it is measured in.
    pub(crate) fn measured(&self) -> impl Iterator<Item = (&Part, Fixture)> {
        let parts = self.parts.iter();
        parts.flat_map(|part| part.fixtures.iter().map(move |fixture| (part, *fixture)))
    }

    /// The points that all questions are worth.
    pub fn points(&self) -> u32 {
        self.questions.iter().map(|question| question.points).sum()
    }
}

/// Draws groups of one lab from one seed.
pub(crate) struct Drawing<'a> {
    lab: &'a Lab,
    seed: Seed,
    place: Place<'a>,
    raw: RawTable<'a>,
    /// The parts that questions name, where groups are drawn to be graded; else `None`.
    graded: Option<HashSet<String>>,
    /// Hidden parts by their text: those of many groups are alike.
    hidden: Mutex<HashMap<String, Arc<Setup>>>,
}

impl<'a> Drawing<'a> {
    pub(crate) fn new(lab: &'a Lab, seed: Seed) -> Result<Self, ScenarioError> {
        let place = Place {
            file: lab.file,
            text: lab.text,
        };
        Ok(Self {
            lab,
            seed,
            raw: RawTable::parse(&place)?,
            place,
            graded: None,
            hidden: Mutex::default(),
        })
    }

    /// Draws groups to be graded: without the words of their questions, and without the parts that
    /// no question names, whose scenarios would be read for nothing.
    pub(crate) fn for_grading(self) -> Result<Self, ScenarioError> {
        let mut named = HashSet::new();
        for table in self
            .lab_file()?
            .tables("question", "question", &known_keys())?
        {
            named.extend(table.text("scenario")?.map(|name| name.into_owned()));
            let options = table.words("option-scenarios")?.unwrap_or_default();
            named.extend(options.into_iter().map(|(_, name)| name.into_owned()));
        }
        Ok(Self {
            graded: Some(named),
            ..self
        })
    }

    fn lab_file(&self) -> Result<Keyed<'_>, ScenarioError> {
        Keyed::document(&self.place, &self.raw, "a lab", None)
    }

    /// The group of a number.
    pub(crate) fn group(&self, number: u32) -> Result<Group, ScenarioError> {
        let mut stream = self.seed.stream(Purpose::Parts, number);
        let drawn: Vec<(String, String)> = self
            .lab
            .draws
            .iter()
            .map(|draw| (draw.name.clone(), value(&draw.of, &mut stream)))
            .collect();
        let count = self.lab.parts.len();
        let places = match self.lab.shuffled {
            true => stream.order(count),
            false => (0..count).collect(),
        };
        let mut noise = self.seed.stream(Purpose::Noise, number);
        let mut parts: Vec<Part> = Vec::with_capacity(count);
        let mut hidden: Vec<(String, Arc<Setup>)> = Vec::new();
        let mut seeds: Vec<(&str, u64)> = Vec::with_capacity(count);
        for (plan, place) in self.lab.parts.iter().zip(&places) {
            let own = noise.seed();
            let shared = plan.seed_of.as_ref().and_then(|of| {
                let known = seeds.iter().find(|(key, _)| key == of);
                known.map(|(_, seed)| *seed)
            });
            let seed = shared.unwrap_or(own);
            seeds.push((&plan.key, seed));
            let is_needed = self
                .graded
                .as_ref()
                .is_none_or(|graded| graded.contains(&plan.key));
            if !is_needed {
                continue;
            }
            let text = self.filled(&plan.scenario, &drawn)?;
            if plan.is_hidden {
                hidden.push((plan.key.clone(), self.hidden(text)?));
                continue;
            }
            let mut scenario = Scenario::from_toml(&text, self.lab.file)?;
            scenario.seed = seed;
            let letter = char::from(b'A' + (*place as u8 % 26));
            if self.lab.shuffled {
                scenario.title = Some(format!("part {letter}"));
            }
            let name = match self.lab.shuffled {
                true => format!("part-{}", letter.to_ascii_lowercase()),
                false => plan.key.clone(),
            };
            parts.push(Part {
                key: plan.key.clone(),
                name,
                fixtures: plan.fixtures.clone(),
                is_repeated: plan.is_repeated,
                setup: Setup::new(scenario),
            });
        }
        let questions = self.questions(&parts, &hidden)?;
        parts.sort_by(|a, b| match self.lab.shuffled {
            true => a.name.cmp(&b.name),
            false => std::cmp::Ordering::Equal,
        });
        Ok(Group {
            number,
            parts,
            questions,
            drawn,
        })
    }

    /// A part that is only asked about. Nobody measures it, so it has no seed of its own, and groups
    /// with the same text share it.
    fn hidden(&self, text: String) -> Result<Arc<Setup>, ScenarioError> {
        const MOST_KEPT: usize = 256;
        let mut known = self.hidden.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(setup) = known.get(&text) {
            return Ok(Arc::clone(setup));
        }
        let setup = Setup::new(Scenario::from_toml(&text, self.lab.file)?);
        if known.len() < MOST_KEPT {
            known.insert(text, Arc::clone(&setup));
        }
        Ok(setup)
    }

    fn filled(&self, text: &str, drawn: &[(String, String)]) -> Result<String, ScenarioError> {
        let filled = fill(text, |name| {
            let found = drawn.iter().find(|(known, _)| known == name);
            let Some((_, value)) = found else {
                return Err(QuoteError::NotClosed);
            };
            Ok(value.clone())
        });
        filled.map_err(|_| {
            ScenarioError::free(format!(
                "{}: a scenario quotes something that is not drawn; add a [[draw]] with its name",
                self.lab.file
            ))
        })
    }

    fn questions(
        &self,
        parts: &[Part],
        hidden: &[(String, Arc<Setup>)],
    ) -> Result<Vec<Question>, ScenarioError> {
        let table = self.lab_file()?;
        let known = known_keys();
        let lookup = |name: &str| {
            let of_part = parts.iter().find(|part| part.key == name);
            let setup = of_part.map(|part| &part.setup).or_else(|| {
                let hit = hidden.iter().find(|(key, _)| key == name);
                hit.map(|(_, setup)| setup)
            });
            setup
                .cloned()
                .ok_or_else(|| format!("there is no [[part]] \"{name}\""))
        };
        let name_of = |key: &str| {
            let part = parts.iter().find(|part| part.key == key);
            part.map_or(String::new(), |part| part.name.clone())
        };
        let mut questions = Vec::new();
        for table in table.tables("question", "question", &known)? {
            let task = read_task(&table, &lookup, self.graded.is_none())?;
            let points = table.needed("points", "2", table.count("points", 1, 100)?)?;
            let form = table.text("form")?.map(|form| form.into_owned());
            let of = table.text("scenario")?.unwrap_or_default();
            questions.push((
                name_of(&of),
                Question {
                    name: String::new(),
                    task,
                    // The count is in the range of its type.
                    points: points as u32,
                    form,
                },
            ));
        }
        if self.lab.shuffled {
            questions.sort_by(|a, b| a.0.cmp(&b.0));
        }
        let named = (1..).zip(questions).map(|(at, (_, question))| Question {
            name: format!("q{at}"),
            ..question
        });
        Ok(named.collect())
    }
}

/// The keys of a question's table.
fn known_keys() -> Vec<&'static str> {
    TASK_KEYS.into_iter().chain(["points", "form"]).collect()
}

/// A drawn value as the text that takes its place in a scenario.
fn value(of: &DrawnOf, stream: &mut Stream) -> String {
    match of {
        DrawnOf::Between(from, to) => {
            let value = from * (to / from).powf(stream.uniform());
            // Five digits: nobody finds a round value by its looks.
            format!("{value:.4e}")
        }
        DrawnOf::OneOf(texts) => texts[stream.below(texts.len())].clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tray::labs;

    #[test]
    fn a_group_to_be_graded_has_the_parts_and_answers_of_the_one_handed_out() {
        let seed: Seed = "b3d07c4e915a2f68d4e0917bc65a38f2".parse().unwrap();
        for lab in labs() {
            let made = Drawing::new(lab, seed).unwrap();
            let graded = Drawing::new(lab, seed).unwrap().for_grading().unwrap();
            for number in [1, 2, 30] {
                let (made, graded) = (made.group(number).unwrap(), graded.group(number).unwrap());
                assert_eq!(made.questions.len(), graded.questions.len());
                for (made, graded) in made.questions.iter().zip(&graded.questions) {
                    let of = |question: &Question| {
                        let task = &question.task;
                        let answer = (task.answer_words(), task.knowable());
                        (question.name.clone(), task.scenario().clone(), answer)
                    };
                    assert_eq!(of(made), of(graded), "{} group {number}", lab.key());
                }
            }
        }
    }
}
