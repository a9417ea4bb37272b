//! A draft becomes a header once the data begin.

use super::Draft;
use crate::error::Located;
use crate::header::{Header, Layout, note};
use crate::keyword::Keyword;
use crate::option_line::OptionLine;
use crate::problem::Problem;
use crate::{MOST_PORTS, Parameter, Remark, Version};

impl Draft {
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
