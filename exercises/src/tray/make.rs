//! The files of a class: a folder for each group and one for the teacher, from bytes to bytes.

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Fixture, Measurement, ScenarioError};
use jigwise_touchstone::{Options, write_text};

use super::group::{Drawing, Group, Part};
use super::lab::Lab;
use super::seed::Seed;
use super::{form, key, sheet};
use crate::handout::without_story;

/// The most groups that one set of trays is made for.
pub const MOST_GROUPS: u32 = 10_000;

/// The most groups whose sheets are put into one page.
pub const MOST_PRINTED: u32 = 200;

/// A file with its path in the folder of trays.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrayFile {
    /// The path, with `/` between its parts.
    pub path: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// A set of trays: one lab, one seed, so many groups.
#[derive(Debug, Clone, Copy)]
pub struct TraySet {
    pub(crate) lab: &'static Lab,
    pub(crate) seed: Seed,
    pub(crate) groups: u32,
}

impl TraySet {
    /// A set of trays for `groups` groups, 1 to [`MOST_GROUPS`].
    pub fn new(lab: &'static Lab, seed: Seed, groups: u32) -> Self {
        Self {
            lab,
            seed,
            groups: groups.clamp(1, MOST_GROUPS),
        }
    }

    /// The code that stands on every sheet and form of this set.
    pub fn code(&self) -> String {
        self.seed.code()
    }

    /// The lab.
    pub fn lab(&self) -> &'static Lab {
        self.lab
    }

    /// How many groups there are.
    pub fn groups(&self) -> u32 {
        self.groups
    }

    /// How many trays of which lab, with their code.
    pub fn title(&self) -> String {
        format!(
            "{} {} of \"{}\", code {}",
            self.groups,
            if self.groups == 1 { "tray" } else { "trays" },
            self.lab.title,
            self.code()
        )
    }

    /// One group with its right answers.
    ///
    /// # Errors
    /// [`ScenarioError`] where the lab's file is wrong.
    pub fn group(&self, number: u32) -> Result<Group, ScenarioError> {
        self.press()?.group(number)
    }

    /// Draws any of the groups, the lab's file read once.
    pub(crate) fn press(&self) -> Result<Drawing<'static>, ScenarioError> {
        Drawing::new(self.lab, self.seed)
    }

    /// The folder of a group.
    pub fn folder(&self, number: u32) -> String {
        let width = self.groups.to_string().len().max(2);
        format!("group-{number:0width$}")
    }

    /// All that one group gets.
    ///
    /// # Errors
    /// [`ScenarioError`] where the lab's file is wrong.
    pub fn files_of(&self, group: &Group) -> Result<Vec<TrayFile>, ScenarioError> {
        let folder = self.folder(group.number);
        let mut files = Vec::new();
        let mut add = |name: &str, text: String| {
            files.push(TrayFile {
                path: format!("{folder}/{name}"),
                bytes: text.into_bytes(),
            });
        };
        for (part, fixture) in group.measured() {
            let text = measured(part, fixture)?;
            add(&format!("data/{}", part.file_name(fixture)), text);
        }
        add("sheet.html", sheet::sheet(self, group));
        add(
            &form::file_name(self, group.number),
            form::toml(self, group),
        );
        add("answers.html", form::answer_page(self, group));
        Ok(files)
    }

    /// What the teacher alone gets: the key, the worked answers as a page, and all sheets in one page
    /// to print, up to [`MOST_PRINTED`] groups.
    ///
    /// # Errors
    /// [`ScenarioError`] where the lab's file is wrong.
    pub fn teachers_files(&self) -> Result<Vec<TrayFile>, ScenarioError> {
        let drawing = self.press()?;
        let groups = (1..=self.groups)
            .map(|number| drawing.group(number))
            .collect::<Result<Vec<_>, _>>()?;
        let mut files = vec![
            TrayFile {
                path: key::PATH.to_owned(),
                bytes: key::toml(self, &groups).into_bytes(),
            },
            TrayFile {
                path: "teacher/key.html".to_owned(),
                bytes: key::key_page(self, &groups).into_bytes(),
            },
        ];
        if self.groups <= MOST_PRINTED {
            files.push(TrayFile {
                path: "teacher/sheets.html".to_owned(),
                bytes: sheet::sheets(self, &groups).into_bytes(),
            });
        }
        Ok(files)
    }
}

/// The measurement of a part in a fixture as a file, without a word of the part.
fn measured(part: &Part, fixture: Fixture) -> Result<String, ScenarioError> {
    let free = |error: &dyn std::fmt::Display| ScenarioError::free(error.to_string());
    let about = format!("{} in {}", part.name, fixture_key(fixture));
    let measurement = match part.is_repeated {
        true => Measurement::repeated(part.scenario(), fixture)?,
        false => Measurement::of(part.scenario(), fixture)?,
    };
    let sweep = measurement.corrected().map_err(|error| free(&error))?;
    let sweep = without_story(&sweep, &about, part.scenario().instrument.as_ref())
        .map_err(|error| free(&error))?;
    write_text(&sweep, &Options::default()).map_err(|error| free(&error))
}
