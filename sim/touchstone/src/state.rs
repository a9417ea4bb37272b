//! The data of a file, record by record.

mod keyword;
mod noise;

use std::io::BufRead;

use num_complex::Complex64;

use crate::cells::{complex, spread};
use crate::error::{Located, TouchstoneError, placed};
use crate::header::{Header, note};
use crate::keyword::Keyword;
use crate::lines::{Line, Lines};
use crate::number::{frequency_hz, number_at};
use crate::parameter::to_s;
use crate::problem::Problem;
use crate::text::{is_blank, words};
use crate::{NoisePoint, Remark, Version};

/// Numbers in a record of noise data.
const NOISE_NUMBERS: usize = 5;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stage {
    Network,
    Noise,
    Over,
}

/// What a step through the file came upon.
pub(crate) enum Found {
    Nothing,
    Point,
    Noise(NoisePoint),
}

/// How far a file has been read.
pub(crate) struct State {
    name: String,
    pub header: Header,
    pub stage: Stage,
    /// Numbers in a record of the sweep.
    expected: usize,
    /// The numbers of the record being read, and the line it began on.
    record: Vec<f64>,
    record_line: usize,
    /// The record last completed.
    pub freq_hz: f64,
    pub cells: Vec<Complex64>,
    work: Vec<Complex64>,
    points: usize,
    noise_points: usize,
    /// The last frequency of the present block, and as it was written.
    previous_hz: Option<f64>,
    previous_text: Vec<u8>,
    frequency_text: Vec<u8>,
}

impl State {
    pub fn new(header: Header, name: &str) -> Self {
        Self {
            name: name.to_owned(),
            stage: Stage::Network,
            expected: 1 + 2 * header.layout.cells(header.ports),
            header,
            record: Vec::new(),
            record_line: 0,
            freq_hz: 0.0,
            cells: Vec::new(),
            work: Vec::new(),
            points: 0,
            noise_points: 0,
            previous_hz: None,
            previous_text: Vec::new(),
            frequency_text: Vec::new(),
        }
    }

    pub fn advance<R: BufRead>(&mut self, lines: &mut Lines<R>) -> Result<Found, TouchstoneError> {
        if self.stage == Stage::Over {
            return Ok(Found::Nothing);
        }
        loop {
            let line = lines.next();
            let Some(line) = line.map_err(|problem| TouchstoneError::whole(&self.name, problem))?
            else {
                self.stage = Stage::Over;
                self.finish(None)?;
                if self.header.version != Version::One {
                    note(&mut self.header.remarks, Remark::NoEnd);
                }
                return Ok(Found::Nothing);
            };
            let start = line.bytes.iter().position(|byte| !is_blank(*byte));
            let Some(start) = start else { continue };
            let number = line.number;
            let found = match line.bytes[start] {
                b'!' => continue,
                b'#' => {
                    let remark = Remark::SecondOptionLine { line: number };
                    note(&mut self.header.remarks, remark);
                    continue;
                }
                b'[' => {
                    if self.keyword(&line)? {
                        self.stage = Stage::Over;
                        self.after_end(lines)?;
                        return Ok(Found::Nothing);
                    }
                    continue;
                }
                _ => self.data(&line, start),
            };
            match found {
                Ok(Found::Nothing) => {}
                Ok(found) => return Ok(found),
                Err(located) => {
                    return Err(placed(&self.name, number, located.on(line.bytes)));
                }
            }
        }
    }

    /// Takes a line of numbers.
    fn data(&mut self, line: &Line<'_>, start: usize) -> Result<Found, Located> {
        let bytes = line.bytes;
        let before = self.record.len();
        let mut at = start;
        if before == 0 {
            self.record_line = line.number;
            let (value, end) = number_at(bytes, at)?;
            let hz = frequency_hz(bytes, at, value, end, self.header.unit.exponent())?;
            std::mem::swap(&mut self.previous_text, &mut self.frequency_text);
            self.frequency_text.clear();
            self.frequency_text.extend_from_slice(&bytes[at..end]);
            self.record.push(hz);
            at = end;
        }
        // One more than a record is enough to see that there are too many.
        let most = self.expected.max(NOISE_NUMBERS);
        loop {
            while bytes.get(at).copied().is_some_and(is_blank) {
                at += 1;
            }
            if bytes.get(at).is_none_or(|byte| *byte == b'!') {
                break;
            }
            let (value, end) = number_at(bytes, at)?;
            if self.record.len() == most {
                return Err(self.miscounted(line, before + words(bytes).count()));
            }
            self.record.push(value);
            at = end;
        }
        match self.stage {
            _ if self.begins_noise(before) => {
                self.stage = Stage::Noise;
                self.previous_hz = None;
                self.noise(line, before)
            }
            Stage::Network => self.network(line, before),
            Stage::Noise => self.noise(line, before),
            Stage::Over => Ok(Found::Nothing),
        }
    }

    fn network(&mut self, line: &Line<'_>, before: usize) -> Result<Found, Located> {
        let (found, expected) = (self.record.len(), self.expected);
        if before == 0 {
            self.rising(line)?;
        }
        if found > expected {
            return Err(self.miscounted(line, found));
        }
        if self.header.version == Version::One {
            let on_line = found - before;
            let begins = before == 0;
            let ports = self.header.ports;
            // A frequency and pairs begin a record, pairs alone go on with it.
            if (on_line % 2 == 1) != begins || (ports == 1 && found < expected) {
                return Err(self.miscounted(line, found));
            }
            if ports > 2 {
                self.check_rows(line.number, before);
            }
        } else if before == 0 && Some(self.points) == self.header.frequencies {
            return Err(Located::whole_line(Problem::RecordCount {
                keyword: Keyword::Frequencies.name(),
                found: self.points + 1,
                expected: self.points,
            }));
        }
        if found < expected {
            return Ok(Found::Nothing);
        }
        self.convert(line, before)?;
        self.freq_hz = self.record[0];
        self.previous_hz = Some(self.freq_hz);
        self.points += 1;
        self.record.clear();
        Ok(Found::Point)
    }

    /// A line ends at a row's end or after four pairs.
    fn check_rows(&mut self, line: usize, before: usize) {
        let ports = self.header.ports;
        let pairs_before = before.saturating_sub(1) / 2;
        let pairs = (self.record.len() - 1) / 2 - pairs_before;
        let left_of_row = ports - pairs_before % ports;
        if pairs != left_of_row.min(4) {
            note(&mut self.header.remarks, Remark::RowLayout { line });
        }
    }

    /// The numbers of the record become S.
    fn convert(&mut self, line: &Line<'_>, before: usize) -> Result<(), Located> {
        let ports = self.header.ports;
        let format = self.header.format;
        self.cells.clear();
        for (index, pair) in self.record[1..].chunks_exact(2).enumerate() {
            match complex(format, pair[0], pair[1]) {
                Ok(value) => self.cells.push(value),
                Err(problem) => return Err(self.at_number(line, before, 1 + 2 * index, problem)),
            }
        }
        spread(self.header.layout, ports, &mut self.cells, &mut self.work);
        let ohms = (self.header.version != Version::One).then_some(&self.header.references_ohm[..]);
        let parameter = self.header.parameter;
        if to_s(parameter, ports, ohms, &mut self.cells, &mut self.work) {
            Ok(())
        } else {
            Err(self.at_number(line, before, 1, Problem::Singular))
        }
    }

    fn rising(&self, line: &Line<'_>) -> Result<(), Located> {
        let found_hz = self.record[0];
        if found_hz >= 0.0 && self.previous_hz.is_none_or(|previous| found_hz > previous) {
            return Ok(());
        }
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let problem = Problem::Frequency {
            found: text(&self.frequency_text),
            previous: (found_hz >= 0.0).then(|| text(&self.previous_text)),
        };
        Err(self.at_number(line, 0, 0, problem))
    }

    /// The place of the record's number `index`, where it is on this line.
    fn at_number(&self, line: &Line<'_>, before: usize, index: usize, problem: Problem) -> Located {
        let word = index
            .checked_sub(before)
            .and_then(|index| words(line.bytes).nth(index));
        match word {
            Some(word) => Located::at(line.bytes, word.at, problem),
            None => Located::whole_line(problem),
        }
    }

    fn miscounted(&self, line: &Line<'_>, found: usize) -> Located {
        let ports = self.header.ports;
        let before = found - words(line.bytes).count().min(found);
        let problem = Problem::Count {
            found,
            expected: self.expected,
            advice: match (self.header.version, ports, found) {
                (Version::One, 1, 9) => "this looks like a two-port file: end its name in .s2p",
                (Version::One, 2, 3 | 6) => "this looks like a one-port file: end its name in .s1p",
                (Version::One, 3.., _) => {
                    "only a record's first line has an odd count of numbers, and N ports have \
                     1 + 2·N·N in all: check the name's ending, or complete the record before"
                }
                _ => "a record is a frequency and two numbers for each parameter",
            },
        };
        self.at_number(line, before, self.expected, problem)
    }
}
