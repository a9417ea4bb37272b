//! Reads what stands above the data: comments, the option line, the keywords of version 2.

use std::io::BufRead;

use crate::draft::{Draft, Step};
use crate::error::{Located, TouchstoneError, placed};
use crate::file_name::ports_of_name;
use crate::header::Header;
use crate::keyword::Keyword;
use crate::lines::Lines;
use crate::option_line::starts_a_number;
use crate::problem::Problem;
use crate::text::{before_comment, words};

/// Bytes read ahead to find the number of ports where the name doesn't tell.
const AHEAD_BYTES: usize = 4 << 20;

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
