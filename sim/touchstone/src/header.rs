//! What stands above the data: comments, the option line, the keywords of version 2.

use std::io::BufRead;

use crate::draft::{Draft, Step};
use crate::error::{Located, Problem, TouchstoneError};
use crate::keyword::Keyword;
use crate::lines::{Lines, before_comment, words};
use crate::option_line::starts_a_number;
use crate::{Format, Mode, Parameter, Remark, Unit, Version};

/// Bytes read ahead to find the number of ports where the name doesn't tell.
const AHEAD_BYTES: usize = 4 << 20;

/// How the cells of a matrix follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// Row by row.
    Rows,
    /// 11, 21, 12, 22.
    DownFirst,
    /// Row by row up to the diagonal, symmetric.
    Lower,
    /// Row by row from the diagonal, symmetric.
    Upper,
}

impl Layout {
    /// Cells written of a matrix.
    pub fn cells(self, ports: usize) -> usize {
        match self {
            Self::Rows | Self::DownFirst => ports * ports,
            Self::Lower | Self::Upper => ports * (ports + 1) / 2,
        }
    }
}

#[derive(Debug, Clone)]
pub(crate) struct Header {
    pub version: Version,
    pub unit: Unit,
    pub parameter: Parameter,
    pub format: Format,
    pub ports: usize,
    pub references_ohm: Vec<f64>,
    pub layout: Layout,
    pub frequencies: Option<usize>,
    pub noise_frequencies: Option<usize>,
    pub modes: Vec<Mode>,
    pub comments: Vec<String>,
    pub remarks: Vec<Remark>,
}

/// Reads up to the first line of data (version 1) or \[Network Data\] (version 2).
pub(crate) fn read_header<R: BufRead>(
    lines: &mut Lines<R>,
    name: &str,
) -> Result<Header, TouchstoneError> {
    let mut draft = Draft::new(ports_of_name(name));
    let mut text = Vec::new();
    loop {
        let line = lines
            .next()
            .map_err(|problem| TouchstoneError::whole(name, problem))?;
        let Some(line) = line else { break };
        let number = line.number;
        text.clear();
        text.extend_from_slice(line.bytes);
        let step = draft.take(&text, number);
        let step = step.map_err(|located| placed(name, number, located.on(&text)))?;
        match step {
            Step::Next => {}
            Step::VersionTwo => {
                return draft
                    .version_two()
                    .map_err(|located| placed(name, number, located.on(&text)));
            }
            Step::Data => {
                lines.put_back(number, &text);
                let ports = match draft.name_ports {
                    Some(ports) => ports,
                    None => ports_of_first_record(lines, name, &text, number)?,
                };
                return draft.version_one(ports).map_err(|(line, located)| {
                    let located = match line {
                        None => located.on(&text),
                        Some(_) => located,
                    };
                    placed(name, line.unwrap_or(number), located)
                });
            }
        }
    }
    let problem = match draft.inside_information {
        true => Problem::KeywordMissing {
            keyword: Keyword::EndInformation.name(),
            advice: "close the block that [Begin Information] opens",
        },
        false => Problem::Empty,
    };
    Err(TouchstoneError::whole(name, problem))
}

pub(crate) fn placed(name: &str, line: usize, located: Located) -> TouchstoneError {
    TouchstoneError {
        file: name.to_owned(),
        line: Some(line),
        column: located.column,
        problem: located.problem,
    }
}

/// N of `.sNp`.
pub(crate) fn ports_of_name(name: &str) -> Option<usize> {
    let extension = std::path::Path::new(name).extension()?.to_str()?;
    let extension = extension.to_ascii_lowercase();
    let digits = extension.strip_prefix('s')?.strip_suffix('p')?;
    let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| digits.parse().unwrap_or(usize::MAX))
}

/// Keeps the first remark of each kind, so that their number is bounded.
pub(crate) fn note(remarks: &mut Vec<Remark>, remark: Remark) {
    let kind = std::mem::discriminant(&remark);
    if remarks.iter().all(|r| std::mem::discriminant(r) != kind) {
        remarks.push(remark);
    }
}

/// The number of ports by the shape of the first record: its first line has an odd count of
/// numbers, a line that goes on with it an even one, and 1 + 2·N² there are in all.
fn ports_of_first_record<R: BufRead>(
    lines: &mut Lines<R>,
    name: &str,
    first: &[u8],
    first_number: usize,
) -> Result<usize, TouchstoneError> {
    let mut found = words(first).count();
    if found % 2 == 1 {
        loop {
            if lines.held_len() > AHEAD_BYTES {
                let bytes = AHEAD_BYTES;
                return Err(TouchstoneError::whole(name, Problem::LongLine { bytes }));
            }
            let line = lines
                .hold()
                .map_err(|problem| TouchstoneError::whole(name, problem))?;
            let Some(line) = line else { break };
            let text = before_comment(line.bytes);
            let Some(word) = words(text).next() else {
                continue;
            };
            if word.bytes[0] == b'#' {
                continue;
            }
            let count = words(text).count();
            if !starts_a_number(word.bytes) || count % 2 == 1 {
                break;
            }
            found += count;
        }
        let ports = (found / 2).isqrt();
        if ports > 0 && 1 + 2 * ports * ports == found {
            return Ok(ports);
        }
    }
    let problem = Problem::Count {
        found,
        expected: 3,
        advice: "a one-port record has 3 numbers, a two-port record 9, N ports 1 + 2·N·N; end the \
                 file's name in .s1p, .s2p and so on to say which it is",
    };
    Err(placed(name, first_number, Located::whole_line(problem)))
}
