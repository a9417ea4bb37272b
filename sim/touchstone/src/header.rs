//! What stands above the data: comments, the option line, the keywords of version 2.

use std::io::BufRead;

use crate::error::{Located, Problem, TouchstoneError};
use crate::keyword::{Keyword, KeywordLine, argument, mixed_modes, positive_count};
use crate::lines::{Lines, before_comment, decoded, words};
use crate::number::number_at;
use crate::option_line::{OptionLine, positive_ohm, starts_a_number};
use crate::{Format, MOST_PORTS, Mode, Parameter, Remark, Unit, Version};

/// Bytes of leading comments that are kept.
const COMMENT_BYTES: usize = 1 << 16;
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
    let mut draft = Draft {
        name_ports: ports_of_name(name),
        ..Draft::default()
    };
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

enum Step {
    Next,
    Data,
    VersionTwo,
}

#[derive(Default)]
struct Draft {
    name_ports: Option<usize>,
    version: Option<Version>,
    options: Option<(usize, OptionLine)>,
    ports: Option<usize>,
    two_port_order: Option<Layout>,
    frequencies: Option<usize>,
    noise_frequencies: Option<usize>,
    references_ohm: Option<Vec<f64>>,
    matrix: Option<Layout>,
    modes: Option<Vec<Mode>>,
    inside_information: bool,
    information_seen: bool,
    comments: Vec<String>,
    comment_bytes: usize,
    remarks: Vec<Remark>,
}

impl Draft {
    fn take(&mut self, line: &[u8], number: usize) -> Result<Step, Located> {
        if number == 1 && (line.starts_with(b"\xff\xfe") || line.starts_with(b"\xfe\xff")) {
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

    fn keyword(&mut self, line: &[u8], found: &KeywordLine) -> Result<Step, Located> {
        self.closed_references(line)?;
        let keyword = found.keyword;
        let order = |expected| {
            Err(Located::at(
                line,
                found.at,
                Problem::KeywordOrder {
                    found: keyword.name(),
                    expected,
                },
            ))
        };
        if keyword == Keyword::Version {
            if self.version.is_some() || self.options.is_some() {
                return order("it once, as the first line that is no comment");
            }
            self.version = Some(match argument(line, found)?.bytes {
                b"2.0" => Version::Two,
                b"2.1" => Version::TwoOne,
                other => {
                    return Err(Located::at(
                        line,
                        found.at,
                        Problem::Version {
                            found: crate::lines::shown(other),
                        },
                    ));
                }
            });
            return Ok(Step::Next);
        }
        if self.version.is_none() {
            return Err(Located::at(
                line,
                found.at,
                Problem::KeywordBeforeVersion {
                    found: keyword.name().to_owned(),
                },
            ));
        }
        if keyword != Keyword::BeginInformation && self.options.is_none() {
            return order("the option line, such as \"# MHz S RI R 50\", before it");
        }
        let ports = match (keyword, self.ports) {
            (Keyword::Ports, None) => {
                let ports = positive_count(line, found)?;
                if ports > MOST_PORTS {
                    return Err(Located::at(line, found.at, Problem::Ports { count: ports }));
                }
                self.ports = Some(ports);
                return Ok(Step::Next);
            }
            (Keyword::BeginInformation, ports) => ports.unwrap_or(0),
            (_, Some(ports)) => ports,
            (_, None) => return order("[Number of Ports] before it"),
        };
        let twice = match keyword {
            Keyword::TwoPortOrder => {
                if ports != 2 {
                    return order("it in two-port files only");
                }
                let order = argument(line, found)?;
                let layout = match order.bytes {
                    b"12_21" => Layout::Rows,
                    b"21_12" => Layout::DownFirst,
                    _ => return Err(found.refuse(line, order, "12_21 or 21_12")),
                };
                self.two_port_order.replace(layout).is_some()
            }
            Keyword::Frequencies => {
                let count = positive_count(line, found)?;
                self.frequencies.replace(count).is_some()
            }
            Keyword::NoiseFrequencies => {
                let count = positive_count(line, found)?;
                self.noise_frequencies.replace(count).is_some()
            }
            Keyword::Reference => {
                let mut references = Vec::new();
                for word in found.arguments(line) {
                    references.push(positive_ohm(line, word)?);
                    if references.len() > ports {
                        return Err(Located::at(
                            line,
                            word.at,
                            Problem::ReferenceCount {
                                found: references.len(),
                                ports,
                            },
                        ));
                    }
                }
                self.references_ohm.replace(references).is_some()
            }
            Keyword::MatrixFormat => {
                let format = argument(line, found)?;
                let layout = match format.bytes.to_ascii_lowercase().as_slice() {
                    b"full" => Layout::Rows,
                    b"lower" => Layout::Lower,
                    b"upper" => Layout::Upper,
                    _ => return Err(found.refuse(line, format, "Full, Lower or Upper")),
                };
                self.matrix.replace(layout).is_some()
            }
            Keyword::MixedModeOrder => {
                let modes = mixed_modes(line, found, ports)?;
                self.modes.replace(modes).is_some()
            }
            Keyword::BeginInformation => {
                self.inside_information = true;
                std::mem::replace(&mut self.information_seen, true)
            }
            Keyword::NetworkData => return Ok(Step::VersionTwo),
            Keyword::Version | Keyword::Ports => return order("it once"),
            Keyword::EndInformation | Keyword::NoiseData | Keyword::End => {
                return order("[Network Data] and its records before it");
            }
        };
        if twice {
            return order("it once");
        }
        Ok(Step::Next)
    }

    fn version_one(mut self, ports: usize) -> Result<Header, (Option<usize>, Located)> {
        let whole = |problem| (None, Located::whole_line(problem));
        let Some((line, options)) = self.options.take() else {
            return Err(whole(Problem::NoOptionLine));
        };
        check_ports(&options, ports).map_err(whole)?;
        let references_ohm = each_port(&options, ports).map_err(|located| (Some(line), located))?;
        if options.parameter != Parameter::S
            && references_ohm.iter().any(|r| *r != references_ohm[0])
        {
            let parameter = options.parameter.letter();
            let problem = Problem::NormalisedToUnequal { parameter };
            let located = Located {
                column: Some(options.references_at + 1),
                problem: Box::new(problem),
            };
            return Err((Some(line), located));
        }
        let layout = match ports {
            2 => Layout::DownFirst,
            _ => Layout::Rows,
        };
        Ok(self.finished(Version::One, ports, options, references_ohm, layout))
    }

    fn version_two(mut self) -> Result<Header, Located> {
        let missing = |keyword: Keyword, advice| {
            Located::whole_line(Problem::KeywordMissing {
                keyword: keyword.name(),
                advice,
            })
        };
        let (Some(version), Some((_, options)), Some(ports)) =
            (self.version, self.options.take(), self.ports)
        else {
            return Err(missing(
                Keyword::Ports,
                "write how many ports the data have",
            ));
        };
        if self.frequencies.is_none() {
            return Err(missing(
                Keyword::Frequencies,
                "write how many records follow",
            ));
        }
        let two_port_order = match (ports, self.two_port_order) {
            (2, None) => {
                return Err(missing(
                    Keyword::TwoPortOrder,
                    "a two-port file needs it. Write 12_21 where a record holds 11, 12, 21, 22 \
                     and 21_12 where it holds 11, 21, 12, 22",
                ));
            }
            (_, order) => order.unwrap_or(Layout::Rows),
        };
        check_ports(&options, ports).map_err(Located::whole_line)?;
        if let (Some(_), parameter @ (Parameter::Y | Parameter::Z | Parameter::H | Parameter::G)) =
            (&self.modes, options.parameter)
        {
            let parameter = parameter.letter();
            return Err(Located::whole_line(Problem::MixedModeParameter {
                parameter,
            }));
        }
        let references_ohm = match self.references_ohm.take() {
            Some(references) => references,
            None => each_port(&options, ports)?,
        };
        if let Some(name_ports) = self.name_ports.filter(|n| *n != ports) {
            note(&mut self.remarks, Remark::NameDiffers { name_ports, ports });
        }
        let layout = match self.matrix {
            None | Some(Layout::Rows) => two_port_order,
            Some(half) => half,
        };
        Ok(self.finished(version, ports, options, references_ohm, layout))
    }

    fn finished(
        mut self,
        version: Version,
        ports: usize,
        options: OptionLine,
        references_ohm: Vec<f64>,
        layout: Layout,
    ) -> Header {
        if ports == 1
            && let Some(port) = port_in(&self.comments)
        {
            note(&mut self.remarks, Remark::HeadedAs { port });
        }
        Header {
            version,
            unit: options.unit,
            parameter: options.parameter,
            format: options.format,
            ports,
            references_ohm,
            layout,
            frequencies: self.frequencies,
            noise_frequencies: self.noise_frequencies,
            modes: self.modes.unwrap_or_default(),
            comments: self.comments,
            remarks: self.remarks,
        }
    }
}

/// Keeps the first remark of each kind, so that their number is bounded.
pub(crate) fn note(remarks: &mut Vec<Remark>, remark: Remark) {
    let kind = std::mem::discriminant(&remark);
    if remarks.iter().all(|r| std::mem::discriminant(r) != kind) {
        remarks.push(remark);
    }
}

fn check_ports(options: &OptionLine, ports: usize) -> Result<(), Problem> {
    if !(1..=MOST_PORTS).contains(&ports) {
        return Err(Problem::Ports { count: ports });
    }
    if matches!(options.parameter, Parameter::H | Parameter::G) && ports != 2 {
        let parameter = options.parameter.letter();
        return Err(Problem::ParameterNeedsTwoPorts { parameter, ports });
    }
    Ok(())
}

fn each_port(options: &OptionLine, ports: usize) -> Result<Vec<f64>, Located> {
    match options.references_ohm.as_slice() {
        [one] => Ok(vec![*one; ports]),
        each if each.len() == ports => Ok(each.to_vec()),
        other => Err(Located {
            column: Some(options.references_at + 1),
            problem: Box::new(Problem::ReferenceCount {
                found: other.len(),
                ports,
            }),
        }),
    }
}

/// The port of a heading such as "S22" where no "S11" stands beside it.
fn port_in(comments: &[String]) -> Option<usize> {
    let mut other = None;
    for comment in comments {
        let text = comment.as_bytes();
        for (at, letters) in text.windows(3).enumerate() {
            let begins = at == 0 || !text[at - 1].is_ascii_alphanumeric();
            if begins && letters[0].eq_ignore_ascii_case(&b's') && letters[1] == letters[2] {
                match letters[1] {
                    b'1' => return None,
                    digit @ b'2'..=b'9' => other = other.or(Some(usize::from(digit - b'0'))),
                    _ => {}
                }
            }
        }
    }
    other
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
