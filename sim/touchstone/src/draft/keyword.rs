//! The keywords of version 2 above the data.

use super::{Draft, Step};
use crate::error::Located;
use crate::header::Layout;
use crate::keyword::{Keyword, KeywordLine, argument, mixed_modes, positive_count};
use crate::option_line::positive_ohm;
use crate::problem::Problem;
use crate::{MOST_PORTS, Version};

fn out_of_order(line: &[u8], found: &KeywordLine, expected: &'static str) -> Located {
    Located::at(
        line,
        found.at,
        Problem::KeywordOrder {
            found: found.keyword.name(),
            expected,
        },
    )
}

impl Draft {
    pub(super) fn keyword(&mut self, line: &[u8], found: &KeywordLine) -> Result<Step, Located> {
        self.closed_references(line)?;
        let keyword = found.keyword;
        let order = |expected| Err(out_of_order(line, found, expected));
        if keyword == Keyword::Version {
            if self.version.is_some() || self.options.is_some() {
                return order("it once, as the first line that is no comment");
            }
            self.version = Some(version(line, found)?);
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
        match keyword {
            Keyword::NetworkData => return Ok(Step::VersionTwo),
            Keyword::Version | Keyword::Ports => return order("it once"),
            Keyword::EndInformation | Keyword::NoiseData | Keyword::End => {
                return order("[Network Data] and its records before it");
            }
            _ => {}
        }
        if self.was_given(line, found, ports)? {
            return order("it once");
        }
        Ok(Step::Next)
    }

    /// Takes a keyword that may stand once; true where it stood before.
    fn was_given(
        &mut self,
        line: &[u8],
        found: &KeywordLine,
        ports: usize,
    ) -> Result<bool, Located> {
        Ok(match found.keyword {
            Keyword::TwoPortOrder => {
                if ports != 2 {
                    return Err(out_of_order(line, found, "it in two-port files only"));
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
                let references = references(line, found, ports)?;
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
            Keyword::Version
            | Keyword::Ports
            | Keyword::NetworkData
            | Keyword::EndInformation
            | Keyword::NoiseData
            | Keyword::End => false,
        })
    }
}

fn version(line: &[u8], found: &KeywordLine) -> Result<Version, Located> {
    match argument(line, found)?.bytes {
        b"2.0" => Ok(Version::Two),
        b"2.1" => Ok(Version::TwoOne),
        other => Err(Located::at(
            line,
            found.at,
            Problem::Version {
                found: crate::text::shown(other),
            },
        )),
    }
}

/// The references on the keyword's own line; more may follow on the next ones.
fn references(line: &[u8], found: &KeywordLine, ports: usize) -> Result<Vec<f64>, Located> {
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
    Ok(references)
}
