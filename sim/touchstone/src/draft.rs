use crate::error::{Located, Problem};
use crate::header::{Header, Layout, note};
use crate::keyword::{Keyword, KeywordLine, argument, mixed_modes, positive_count};
use crate::lines::{decoded, words};
use crate::number::number_at;
use crate::option_line::{OptionLine, positive_ohm};
use crate::{MOST_PORTS, Mode, Parameter, Remark, Version};

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

    pub fn version_one(mut self, ports: usize) -> Result<Header, (Option<usize>, Located)> {
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

    pub fn version_two(mut self) -> Result<Header, Located> {
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
