//! Records of noise data.

use super::{Found, NOISE_NUMBERS, Stage, State};
use crate::cells::{beyond, complex};
use crate::error::Located;
use crate::keyword::Keyword;
use crate::lines::Line;
use crate::problem::Problem;
use crate::{Format, NoisePoint, Version};

impl State {
    /// In version 1 noise begins where the frequency of a two-port file no longer rises.
    pub(super) fn begins_noise(&self, before: usize) -> bool {
        self.stage == Stage::Network
            && self.header.version == Version::One
            && self.header.ports == 2
            && before == 0
            && self.record.len() == NOISE_NUMBERS
            && self.previous_hz.is_some_and(|last| self.record[0] <= last)
    }

    pub(super) fn noise(&mut self, line: &Line<'_>, before: usize) -> Result<Found, Located> {
        let found = self.record.len();
        if before == 0 {
            self.rising(line)?;
        }
        let too_few = found < NOISE_NUMBERS;
        if found > NOISE_NUMBERS || (too_few && self.header.version == Version::One) {
            return Err(Located::whole_line(Problem::Count {
                found,
                expected: NOISE_NUMBERS,
                advice: "noise data have a frequency and four numbers a line",
            }));
        }
        if before == 0 && Some(self.noise_points) == self.header.noise_frequencies {
            return Err(Located::whole_line(Problem::RecordCount {
                keyword: Keyword::NoiseFrequencies.name(),
                found: self.noise_points + 1,
                expected: self.noise_points,
            }));
        }
        if too_few {
            return Ok(Found::Nothing);
        }
        let pair = complex(Format::Magnitude, self.record[2], self.record[3]);
        let source_reflection = pair.map_err(|problem| self.at_number(line, before, 2, problem))?;
        let resistance_ohm = match self.header.version {
            Version::One => self.record[4] * self.header.references_ohm[0],
            Version::Two | Version::TwoOne => self.record[4],
        };
        if !resistance_ohm.is_finite() {
            let problem = beyond(self.record[4]);
            return Err(self.at_number(line, before, 4, problem));
        }
        let point = NoisePoint {
            freq_hz: self.record[0],
            least_figure_db: self.record[1],
            source_reflection,
            resistance_ohm,
        };
        self.previous_hz = Some(point.freq_hz);
        self.noise_points += 1;
        self.record.clear();
        Ok(Found::Noise(point))
    }
}
