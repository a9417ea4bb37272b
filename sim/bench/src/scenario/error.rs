use std::fmt;
use std::path::Path;

use toml::Spanned;

use super::Scenario;
use crate::device::DeviceError;

/// A scenario that can't be used, and where in its file.
#[derive(Debug, Clone, PartialEq)]
pub struct ScenarioError {
    file: Option<String>,
    line: Option<usize>,
    message: String,
    unknown_key: bool,
}

impl ScenarioError {
    pub fn at(place: &Place<'_>, offset: Option<usize>, message: String) -> Self {
        Self {
            file: Some(place.file.to_owned()),
            line: offset.map(|offset| place.line(offset)),
            message,
            unknown_key: false,
        }
    }

    pub fn unknown_key_at(place: &Place<'_>, offset: usize, message: String) -> Self {
        Self {
            unknown_key: true,
            ..Self::at(place, Some(offset), message)
        }
    }

    /// An error that belongs to no file.
    pub fn free(message: String) -> Self {
        Self {
            file: None,
            line: None,
            message,
            unknown_key: false,
        }
    }

    pub(crate) fn of_device(scenario: &Scenario, error: DeviceError) -> Self {
        let message = match &scenario.title {
            Some(title) => format!("{title}: {error}"),
            None => error.to_string(),
        };
        Self::free(message)
    }

    /// The error with the file it came from, where it does not name one yet.
    pub fn in_file(mut self, path: &Path) -> Self {
        self.file.get_or_insert_with(|| path.display().to_string());
        self
    }

    /// The line of the file, from 1.
    pub fn line(&self) -> Option<usize> {
        self.line
    }

    /// True where a key is none that a scenario has.
    pub fn is_unknown_key(&self) -> bool {
        self.unknown_key
    }
}

impl std::error::Error for ScenarioError {}

impl fmt::Display for ScenarioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(file) = &self.file {
            f.write_str(file)?;
            if let Some(line) = self.line {
                write!(f, ", line {line}")?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.message)
    }
}

/// The text that is read, for the places of what is wrong in it.
pub struct Place<'a> {
    pub file: &'a str,
    pub text: &'a str,
}

impl Place<'_> {
    fn line(&self, offset: usize) -> usize {
        let upto = &self.text.as_bytes()[..offset.min(self.text.len())];
        upto.iter().filter(|b| **b == b'\n').count() + 1
    }
}

pub(super) fn syntax_error(place: &Place<'_>, error: &toml::de::Error) -> ScenarioError {
    let message = error.message().trim();
    let offset = error.span().map(|span| span.start);
    if let Some((unknown, known)) = unknown_field(message) {
        let hint = match nearest(unknown, &known) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("known here: {}", known.join(", ")),
        };
        return ScenarioError {
            unknown_key: true,
            ..ScenarioError::at(
                place,
                offset,
                format!("\"{unknown}\" is no key of a scenario; {hint}"),
            )
        };
    }
    let message = match message.strip_prefix("missing field `") {
        Some(rest) if rest.starts_with("instrument`") => {
            "there is no [instrument] table; an instrument file needs version = 1 and that table"
                .to_owned()
        }
        Some(rest) => format!(
            "\"{}\" is missing; a scenario needs version = 1 and a [device] with its kind and \
             value",
            rest.trim_end_matches('`')
        ),
        None => format!("{message}; expected a scenario file as the manual describes it"),
    };
    ScenarioError::at(place, offset, message)
}

/// Takes apart the parser's "unknown field `x`, expected one of `a`, `b`".
fn unknown_field(message: &str) -> Option<(&str, Vec<&str>)> {
    let rest = message.strip_prefix("unknown field `")?;
    let (unknown, rest) = rest.split_once('`')?;
    let known = rest.split('`').skip(1).step_by(2).collect();
    Some((unknown, known))
}

/// The candidate most like `word`, where one is near enough to be meant.
pub fn nearest<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    const LIKENESS: f64 = 0.75;
    candidates
        .iter()
        .map(|candidate| (*candidate, strsim::jaro_winkler(word, candidate)))
        .filter(|(_, likeness)| *likeness >= LIKENESS)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(candidate, _)| candidate)
}

/// A file's text and what errors call it.
pub fn text_of(path: &Path) -> Result<(String, String), ScenarioError> {
    let file = path.display().to_string();
    let whole = |message: String| ScenarioError {
        file: Some(file.clone()),
        line: None,
        message,
        unknown_key: false,
    };
    if path.is_dir() {
        return Err(whole(
            "is a folder; name a scenario file (.toml) inside it".into(),
        ));
    }
    let bytes = std::fs::read(path).map_err(|error| {
        whole(format!(
            "can't be read ({error}); check the name and the permissions"
        ))
    })?;
    let text = String::from_utf8(bytes)
        .map_err(|_| whole("is not text in UTF-8; expected a scenario file (.toml)".into()))?;
    Ok((text, file))
}

pub(super) fn check_version(
    place: &Place<'_>,
    version: &Spanned<i64>,
) -> Result<(), ScenarioError> {
    if *version.get_ref() == 1 {
        return Ok(());
    }
    Err(ScenarioError::at(
        place,
        Some(version.span().start),
        format!(
            "version is {}, expected 1; a newer Jigwise may read it",
            version.get_ref()
        ),
    ))
}
