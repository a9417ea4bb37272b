//! An answer form as it was handed in.

use std::borrow::Cow;
use std::fmt;

use jigwise_bench::file::{Keyed, Place, RawTable};
use jigwise_bench::{MAX_QUOTED, ScenarioError, excerpt};

use crate::tray::{Group, TraySet};

/// The largest form that is read, bytes: a full one has about two thousand.
pub const LARGEST: usize = 65_536;

/// A file that was handed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormFile {
    /// Its path, as the report calls it.
    pub name: String,
    /// What is in it; of a file above [`LARGEST`] the beginning is enough.
    pub bytes: Vec<u8>,
    /// Its size, bytes.
    pub size: u64,
    /// Why it can't be read, where it can't.
    pub fault: Option<String>,
}

impl FormFile {
    /// A file that was read whole.
    pub fn new(name: impl Into<String>, bytes: Vec<u8>) -> Self {
        Self {
            name: name.into(),
            size: bytes.len() as u64,
            bytes,
            fault: None,
        }
    }

    /// A file that can't be read, and why.
    pub fn unreadable(name: impl Into<String>, fault: String) -> Self {
        Self {
            fault: Some(fault),
            ..Self::new(name, Vec::new())
        }
    }
}

/// A form that fits the trays.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Form {
    pub(crate) group: u32,
    pub(crate) names: String,
    pub(crate) handed_in: String,
    pub(crate) remarks: Vec<String>,
    /// The text of every answer with its line, or why there is none.
    pub(crate) answers: Vec<Written>,
}

/// One answer as it was written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Written {
    Blank,
    Text { text: String, line: Option<usize> },
    Unreadable(String),
}

/// Why a form can't be graded, with its line where there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct FormError {
    said: String,
    group: Option<u32>,
}

impl FormError {
    fn new(said: String) -> Self {
        Self { said, group: None }
    }

    /// The group whose form it seems to be.
    pub(crate) fn group(&self) -> Option<u32> {
        self.group
    }
}

impl std::error::Error for FormError {}

impl fmt::Display for FormError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said)
    }
}

impl From<ScenarioError> for FormError {
    fn from(error: ScenarioError) -> Self {
        Self::new(error.to_string())
    }
}

const KEYS: [&str; 7] = [
    "version",
    "lab",
    "tray",
    "group",
    "names",
    "handed_in",
    "answers",
];

impl Form {
    /// Reads a form of the trays `set`, whose code is `code`; `group_of` gives the questions of a
    /// group.
    pub(crate) fn read<'g>(
        file: &FormFile,
        set: &TraySet,
        code: &str,
        group_of: impl FnOnce(u32) -> Result<Cow<'g, Group>, ScenarioError>,
    ) -> Result<(Self, Cow<'g, Group>), FormError> {
        let text = text_of(file)?;
        let place = Place {
            file: &file.name,
            text: &text,
        };
        let raw = RawTable::parse(&place)?;
        let form = Keyed::document(&place, &raw, "an answer form", None)?;
        let word = |key| -> Result<String, ScenarioError> {
            Ok(form.needed(key, "…", form.text(key)?)?.into_owned())
        };
        let most = u64::from(set.groups());
        let group = form.needed("group", "1", form.count("group", 1, most)?)?;
        let group = u32::try_from(group).unwrap_or(u32::MAX);
        let other = |key: &str, said: String| FormError {
            said: form.error(key, said).to_string(),
            group: None,
        };
        let lab = word("lab")?;
        if lab != set.lab().key() {
            return Err(other(
                "lab",
                format!(
                    "this form is of the lab \"{}\", and these trays are of \"{}\"; grade it with its \
                     own key",
                    excerpt(&lab, MAX_QUOTED),
                    set.lab().key()
                ),
            ));
        }
        let tray = word("tray")?;
        if !tray.trim().eq_ignore_ascii_case(code) {
            return Err(other(
                "tray",
                format!(
                    "this form is of the trays {}, and these are {code}; grade it with its own key",
                    excerpt(&tray, MAX_QUOTED)
                ),
            ));
        }
        let of_group = |error: ScenarioError| FormError {
            said: error.to_string(),
            group: Some(group),
        };
        let questions = group_of(group).map_err(of_group)?;
        let answers = form.any_table("answers", "answers").map_err(of_group)?;
        let mut remarks = Vec::new();
        for error in [
            form.check_keys(&KEYS).err(),
            answers.as_ref().and_then(|answers| {
                let known: Vec<&str> = questions.questions().iter().map(|q| &*q.name).collect();
                answers.check_keys(&known).err()
            }),
        ]
        .into_iter()
        .flatten()
        {
            remarks.push(error.to_string());
        }
        let free = |key| -> String {
            let found = form.text(key).ok().flatten();
            found.map_or(String::new(), |text| text.trim().to_owned())
        };
        let read = Self {
            group,
            names: excerpt(&free("names"), 200),
            handed_in: excerpt(&free("handed_in"), 32),
            remarks,
            answers: questions
                .questions()
                .iter()
                .map(|question| written(answers.as_ref(), &question.name))
                .collect(),
        };
        Ok((read, questions))
    }
}

fn written(answers: Option<&Keyed<'_>>, name: &str) -> Written {
    let Some(answers) = answers else {
        return Written::Blank;
    };
    match answers.text(name) {
        Ok(None) => Written::Blank,
        Ok(Some(text)) if text.trim().is_empty() => Written::Blank,
        Ok(Some(text)) => Written::Text {
            line: answers.error(name, "").line(),
            text: text.into_owned(),
        },
        Err(error) => Written::Unreadable(error.to_string()),
    }
}

/// The text of a form in UTF-8, or in UTF-16 as some editors save it.
fn text_of(file: &FormFile) -> Result<Cow<'_, str>, FormError> {
    let name = &file.name;
    if let Some(fault) = &file.fault {
        return Err(FormError::new(format!("{name}: {fault}; hand it in again")));
    }
    if file.size > LARGEST as u64 {
        return Err(FormError::new(format!(
            "{name}: this file has {} kB, and a form has at most {} kB; it is no answer form",
            file.size / 1_000,
            LARGEST / 1_000
        )));
    }
    let utf16 = |units: Vec<u16>| {
        String::from_utf16(&units).map(Cow::Owned).map_err(|_| {
            FormError::new(format!(
                "{name}: this is no text in UTF-16; save the form as UTF-8 and hand it in again"
            ))
        })
    };
    let pairs = |pair: fn([u8; 2]) -> u16| {
        file.bytes[2..]
            .chunks_exact(2)
            .map(|bytes| pair([bytes[0], bytes[1]]))
            .collect()
    };
    match &file.bytes[..] {
        [0xff, 0xfe, ..] => utf16(pairs(u16::from_le_bytes)),
        [0xfe, 0xff, ..] => utf16(pairs(u16::from_be_bytes)),
        bytes => {
            let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
            std::str::from_utf8(bytes).map(Cow::Borrowed).map_err(|error| {
                let before = &bytes[..error.valid_up_to()];
                let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
                FormError::new(format!(
                    "{name}, line {line}: a letter here is not in UTF-8; save the form as UTF-8 and \
                     hand it in again"
                ))
            })
        }
    }
}
