//! Keywords among and after the data, and whether the blocks they end are whole.

use std::io::BufRead;

use super::{NOISE_NUMBERS, Stage, State};
use crate::error::{Located, TouchstoneError, placed};
use crate::header::note;
use crate::keyword::{Keyword, KeywordLine};
use crate::lines::{Line, Lines};
use crate::problem::Problem;
use crate::text::words;
use crate::{Remark, Version};

impl State {
    /// A keyword among or after the data; true for \[End\].
    pub(super) fn keyword(&mut self, line: &Line<'_>) -> Result<bool, TouchstoneError> {
        let found = KeywordLine::parse(line.bytes)
            .map_err(|located| placed(&self.name, line.number, located))?;
        let place = |problem| {
            let located = Located::at(line.bytes, found.at, problem);
            placed(&self.name, line.number, located)
        };
        if self.header.version == Version::One {
            return Err(place(Problem::KeywordBeforeVersion {
                found: found.keyword.name().to_owned(),
            }));
        }
        match (found.keyword, self.stage) {
            (Keyword::NoiseData, Stage::Network) => {
                if self.header.ports != 2 {
                    return Err(place(Problem::KeywordOrder {
                        found: Keyword::NoiseData.name(),
                        expected: "it in two-port files only",
                    }));
                }
                if self.header.noise_frequencies.is_none() {
                    return Err(place(Problem::KeywordMissing {
                        keyword: Keyword::NoiseFrequencies.name(),
                        advice: "write it above [Network Data] with the number of noise records",
                    }));
                }
                self.complete(Some(line.number))?;
                self.stage = Stage::Noise;
                self.previous_hz = None;
                Ok(false)
            }
            (Keyword::End, _) => {
                self.finish(Some(line.number))?;
                Ok(true)
            }
            (keyword, _) => Err(place(Problem::KeywordOrder {
                found: keyword.name(),
                expected: "the rest of the data or [End] here",
            })),
        }
    }

    /// The block that ends here is whole.
    fn complete(&self, line: Option<usize>) -> Result<(), TouchstoneError> {
        if !self.record.is_empty() {
            let problem = Problem::Truncated {
                found: self.record.len(),
                expected: match self.stage {
                    Stage::Noise => NOISE_NUMBERS,
                    _ => self.expected,
                },
            };
            let located = Located::whole_line(problem);
            return Err(placed(&self.name, self.record_line, located));
        }
        self.counted(
            line,
            Keyword::Frequencies,
            self.points,
            self.header.frequencies,
        )
    }

    pub(super) fn finish(&self, line: Option<usize>) -> Result<(), TouchstoneError> {
        self.complete(line)?;
        if self.points == 0 {
            return Err(TouchstoneError::whole(&self.name, Problem::Empty));
        }
        let expected = self.header.noise_frequencies;
        self.counted(line, Keyword::NoiseFrequencies, self.noise_points, expected)
    }

    fn counted(
        &self,
        line: Option<usize>,
        keyword: Keyword,
        found: usize,
        expected: Option<usize>,
    ) -> Result<(), TouchstoneError> {
        match expected {
            Some(expected) if expected != found => {
                let keyword = keyword.name();
                let problem = Problem::RecordCount {
                    keyword,
                    found,
                    expected,
                };
                Err(TouchstoneError {
                    line,
                    ..TouchstoneError::whole(&self.name, problem)
                })
            }
            _ => Ok(()),
        }
    }

    pub(super) fn after_end<R: BufRead>(
        &mut self,
        lines: &mut Lines<R>,
    ) -> Result<(), TouchstoneError> {
        let wrong = |problem| TouchstoneError::whole(&self.name, problem);
        while let Some(line) = lines.next().map_err(wrong)? {
            if words(line.bytes).next().is_some() {
                let remark = Remark::AfterEnd { line: line.number };
                note(&mut self.header.remarks, remark);
                break;
            }
        }
        Ok(())
    }
}
