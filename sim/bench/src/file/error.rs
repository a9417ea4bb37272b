//! A file that can't be used, and where in it.

use std::fmt;
use std::path::Path;

use jigwise_quantity::excerpt;

use super::raw::RawTable;

/// A scenario, instrument or calibration that can't be used, and where in its file.
#[derive(Debug, Clone, PartialEq)]
pub struct ScenarioError {
    file: Option<String>,
    line: Option<usize>,
    message: String,
    unknown_key: bool,
    incomplete: bool,
    /// The tables that may be at fault, as paths, where the file is not at hand.
    tables: Vec<String>,
}

impl ScenarioError {
    /// An error at an offset in bytes of the text, or of the whole file.
    pub fn at(place: &Place<'_>, offset: Option<usize>, message: impl Into<String>) -> Self {
        Self {
            file: Some(place.file.to_owned()),
            line: offset.map(|offset| place.line(offset)),
            message: message.into(),
            unknown_key: false,
            incomplete: false,
            tables: Vec::new(),
        }
    }

    /// An error about a key that the table doesn't have.
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
            incomplete: false,
            tables: Vec::new(),
        }
    }

    /// The same error about text that was typed and is in no file.
    pub(crate) fn without_place(self) -> Self {
        Self {
            file: None,
            line: None,
            ..self
        }
    }

    /// The same error about the first of these tables that a file has: paths such as
    /// `calibration.open`.
    pub(crate) fn about(self, tables: Vec<String>) -> Self {
        Self { tables, ..self }
    }

    /// True for an error about this table, where the file is not at hand.
    pub fn is_about(&self, table: &str) -> bool {
        self.tables.iter().any(|path| path == table)
    }

    /// The error with the file it came from, where it does not name one yet, and the line of the
    /// table that it is about.
    pub fn in_file(mut self, path: &Path) -> Self {
        if self.file.is_none() {
            self.file = Some(path.display().to_string());
            self.line = text_of(path).ok().and_then(|(text, file)| {
                let place = Place {
                    file: &file,
                    text: &text,
                };
                let raw = RawTable::parse(&place).ok()?;
                let start = self.tables.iter().find_map(|table| raw.start_of(table))?;
                Some(place.line(start))
            });
        }
        self
    }

    /// The line of the file, from 1.
    pub fn line(&self) -> Option<usize> {
        self.line
    }

    /// The same error, told of a key that lacks another.
    pub(crate) fn for_lack_of_a_key(self) -> Self {
        Self {
            incomplete: true,
            ..self
        }
    }

    /// True where nothing is wrong but that a key is not there yet.
    pub fn is_incomplete(&self) -> bool {
        self.incomplete
    }

    /// True where the file has a key that is not known.
    pub fn is_unknown_key(&self) -> bool {
        self.unknown_key
    }
}

impl std::error::Error for ScenarioError {}

impl fmt::Display for ScenarioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(file) = &self.file {
            f.write_str(&excerpt(file, usize::MAX))?;
            if let Some(line) = self.line {
                write!(f, ", line {line}")?;
            }
            f.write_str(": ")?;
        }
        // A message may quote the file, whose control characters a terminal would obey.
        f.write_str(&excerpt(&self.message, usize::MAX))
    }
}

/// A file's text with its name, for the places of what is wrong in it.
pub struct Place<'a> {
    /// What errors call the file.
    pub file: &'a str,
    /// The text that is read.
    pub text: &'a str,
}

impl Place<'_> {
    /// The line at an offset in bytes, without its end.
    pub(super) fn line_text(&self, offset: usize) -> &str {
        self.text
            .split('\n')
            .nth(self.line(offset) - 1)
            .unwrap_or_default()
    }

    fn line(&self, offset: usize) -> usize {
        let upto = &self.text.as_bytes()[..offset.min(self.text.len())];
        upto.iter().filter(|b| **b == b'\n').count() + 1
    }
}

/// What the system said, without the number that it has for it.
fn without_number(error: &std::io::Error) -> String {
    let said = error.to_string();
    let end = said.find(" (os error").unwrap_or(said.len());
    said[..end].to_owned()
}

/// A file's text and what errors call it.
///
/// # Errors
/// [`ScenarioError`] for a folder, and for a file that can't be read or is no text.
pub fn text_of(path: &Path) -> Result<(String, String), ScenarioError> {
    let file = path.display().to_string();
    let whole = |message: &str| {
        let place = Place {
            file: &file,
            text: "",
        };
        ScenarioError::at(&place, None, message)
    };
    if path.is_dir() {
        return Err(whole("is a folder; name a file (.toml) inside it"));
    }
    let bytes = jigwise_touchstone::files::read(path).map_err(|error| {
        whole(&format!(
            "can't be read ({}); check the name and the permissions",
            without_number(&error)
        ))
    })?;
    // UTF-16 without a byte order mark is UTF-8 with a NUL beside every letter.
    match String::from_utf8(bytes) {
        Ok(text) if !text.contains('\0') => Ok((text, file)),
        _ => Err(whole(
            "is not text in UTF-8; save it as UTF-8, expected a TOML file (.toml)",
        )),
    }
}
