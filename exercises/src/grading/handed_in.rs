//! What counts as handed in: which files are forms, and how a time is written.

use std::fmt;

use jigwise_bench::{MAX_QUOTED, excerpt};

use crate::tray::is_key;

/// Folders within folders that are looked into for forms.
pub const DEEPEST: usize = 6;

/// True for the path of a form, with `/` between its parts, below the folder of all forms: a file
/// that ends in .toml or .txt. The key is no form, nor is what a system hides or lies too deep.
///
/// ```
/// use jigwise_exercises::grading::is_form;
///
/// assert!(is_form("group 3/Answers.TOML"));
/// assert!(!is_form("teacher/key.toml"));
/// assert!(!is_form("__MACOSX/._answers.toml"));
/// assert!(!is_form("answers.html"));
/// ```
pub fn is_form(path: &str) -> bool {
    let parts: Vec<&str> = path.split('/').collect();
    let is_hidden = parts
        .iter()
        .any(|part| part.starts_with('.') || *part == "__MACOSX");
    let ending = path.rsplit_once('.').map(|(_, ending)| ending);
    let is_text = ending.is_some_and(|ending| {
        ["toml", "txt"]
            .iter()
            .any(|known| ending.eq_ignore_ascii_case(known))
    });
    is_text && !is_hidden && !is_key(path) && parts.len() <= DEEPEST + 1
}

/// Text that is no time as forms have it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoTime(String);

impl std::error::Error for NoTime {}

impl fmt::Display for NoTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "\"{}\" is no time; write it as 2026-11-30T12:45",
            excerpt(&self.0, MAX_QUOTED)
        )
    }
}

/// Year first, to the minute: 2026-11-30T12:45, so that times are in the order of their letters.
///
/// # Errors
/// [`NoTime`] for anything else.
pub fn check_time(text: &str) -> Result<(), NoTime> {
    const SHAPE: &str = "dddd-dd-ddTdd:dd";
    let fits = text.len() == SHAPE.len()
        && text
            .chars()
            .zip(SHAPE.chars())
            .all(|(c, shape)| match shape {
                'd' => c.is_ascii_digit(),
                shape => c == shape,
            });
    match fits {
        true => Ok(()),
        false => Err(NoTime(text.to_owned())),
    }
}
