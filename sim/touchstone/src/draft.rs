//! A header line by line, as far as it has been read.

mod finish;
mod keyword;

use crate::error::Located;
use crate::header::{Layout, note};
use crate::keyword::{Keyword, KeywordLine};
use crate::number::number_at;
use crate::option_line::{OptionLine, positive_ohm};
use crate::problem::Problem;
use crate::text::{decoded, words};
use crate::{Mode, Remark, Version};

/// Bytes of leading comments that are kept.
const COMMENT_BYTES: usize = 1 << 16;

/// What a line above the data was.
pub(crate) enum Step {
    Next,
    Data,
    VersionTwo,
}

/// A header as far as it has been read.
#[derive(Default)]
pub(crate) struct Draft {
    pub name_ports: Option<usize>,
    version: Option<Version>,
    options: Option<(usize, OptionLine)>,
    ports: Option<usize>,
    two_port_order: Option<Layout>,
    frequencies: Option<usize>,
    noise_frequencies: Option<usize>,
    references_ohm: Option<Vec<f64>>,
    matrix: Option<Layout>,
    modes: Option<Vec<Mode>>,
    pub inside_information: bool,
    information_seen: bool,
    comments: Vec<String>,
    comment_bytes: usize,
    remarks: Vec<Remark>,
}

impl Draft {
    pub fn new(name_ports: Option<usize>) -> Self {
        Self {
            name_ports,
            ..Self::default()
        }
    }

    pub fn take(&mut self, line: &[u8], number: usize) -> Result<Step, Located> {
        // With the mark of its byte order, or with a zero beside its first letter.
        let is_wide = line.starts_with(b"\xff\xfe")
            || line.starts_with(b"\xfe\xff")
            || matches!(line, [0, letter, ..] | [letter, 0, ..] if matches!(letter, b' '..=b'~'));
        if number == 1 && is_wide {
            return Err(Located::whole_line(Problem::WideText));
        }
        let Some(first) = words(line).next() else {
            self.comment(line, number);
            return Ok(Step::Next);
        };
        if self.inside_information {
            if first.bytes[0] == b'['
                && let Ok(found) = KeywordLine::parse(line)
                && found.keyword == Keyword::EndInformation
            {
                self.inside_information = false;
            }
            return Ok(Step::Next);
        }
        match first.bytes[0] {
            b'[' => {
                let found = KeywordLine::parse(line)?;
                self.keyword(line, &found)
            }
            b'#' => {
                self.closed_references(line)?;
                if self.options.is_some() {
                    note(&mut self.remarks, Remark::SecondOptionLine { line: number });
                } else if self.ports.is_some() {
                    return Err(Located::whole_line(Problem::KeywordOrder {
                        found: "the option line",
                        expected: "it between [Version] and [Number of Ports]",
                    }));
                } else {
                    self.options = Some((number, OptionLine::parse(line)?));
                }
                Ok(Step::Next)
            }
            _ => self.other(line),
        }
    }

    fn comment(&mut self, line: &[u8], number: usize) {
        let Some(text) = line.trim_ascii().strip_prefix(b"!") else {
            return;
        };
        if self.comment_bytes + text.len() > COMMENT_BYTES {
            self.comment_bytes = COMMENT_BYTES;
            note(&mut self.remarks, Remark::CommentsCut { line: number });
            return;
        }
        self.comment_bytes += text.len() + 1;
        let text = text.strip_prefix(b" ").unwrap_or(text);
        self.comments.push(decoded(text));
    }

    /// A line that is neither comment, option line nor keyword.
    fn other(&mut self, line: &[u8]) -> Result<Step, Located> {
        let ports = self.ports.unwrap_or(0);
        if let Some(references) = self.references_ohm.as_mut().filter(|r| r.len() < ports) {
            for word in words(line) {
                references.push(positive_ohm(line, word)?);
                if references.len() > ports {
                    let found = references.len();
                    return Err(Located::at(
                        line,
                        word.at,
                        Problem::ReferenceCount { found, ports },
                    ));
                }
            }
            return Ok(Step::Next);
        }
        let at = words(line).next().map_or(0, |word| word.at);
        if self.version.is_some() {
            number_at(line, at)?;
            return Err(Located::at(
                line,
                at,
                Problem::KeywordMissing {
                    keyword: Keyword::NetworkData.name(),
                    advice: "it stands on a line of its own above the numbers",
                },
            ));
        }
        number_at(line, at)?;
        if self.options.is_none() {
            return Err(Located::whole_line(Problem::NoOptionLine));
        }
        Ok(Step::Data)
    }

    fn closed_references(&self, line: &[u8]) -> Result<(), Located> {
        let ports = self.ports.unwrap_or(0);
        match &self.references_ohm {
            Some(references) if references.len() < ports => Err(Located::at(
                line,
                0,
                Problem::ReferenceCount {
                    found: references.len(),
                    ports,
                },
            )),
            _ => Ok(()),
        }
    }
}
