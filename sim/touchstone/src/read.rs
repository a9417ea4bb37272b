use std::path::Path;

use num_complex::Complex64;

use crate::error::{Problem, TouchstoneError};
use crate::lines::{Line, Word, lines};
use crate::option_line::{Format, Misread, Options, Parameter};
use crate::parameter::{one_port_s, two_port_s};
use crate::{NoisePoint, Sweep};

/// Numbers in a line of noise data.
const NOISE_NUMBERS: usize = 5;

/// Reads a one- or two-port file.
///
/// # Errors
/// [`TouchstoneError`] with file, line and column: what was found, what was expected, what to
/// do next.
pub fn read_file(path: impl AsRef<Path>) -> Result<Sweep, TouchstoneError> {
    let path = path.as_ref();
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(TouchstoneError::whole(&name, Problem::Folder));
    }
    let bytes = std::fs::read(path).map_err(|error| {
        TouchstoneError::whole(
            &name,
            Problem::Unreadable {
                reason: error.to_string(),
            },
        )
    })?;
    read_text(&bytes, &name)
}

/// Reads a file's content. The extension of `name` (.s1p, .s2p) tells the number of ports;
/// with any other name it is taken from the count of numbers on the first line of data.
///
/// Bytes outside ASCII are accepted in comments only, where old exporters leave them.
///
/// # Errors
/// As [`read_file`].
pub fn read_text(bytes: &[u8], name: &str) -> Result<Sweep, TouchstoneError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let text = String::from_utf8_lossy(bytes);
    let mut reader = Reader {
        name,
        ports: ports_of_name(name),
        options: None,
        pending: Vec::new(),
        frequency_text: String::new(),
        previous_text: String::new(),
        sweep: None,
    };
    if let Some(count) = reader.ports.filter(|count| !(1..=2).contains(count)) {
        return Err(TouchstoneError::whole(name, Problem::Ports { count }));
    }
    for line in lines(&text) {
        let number = line.number;
        reader
            .take(&line)
            .map_err(|(column, problem)| TouchstoneError {
                file: name.to_owned(),
                line: Some(number),
                column,
                problem,
            })?;
    }
    reader.finish()
}

fn ports_of_name(name: &str) -> Option<usize> {
    let extension = Path::new(name).extension()?.to_str()?.to_ascii_lowercase();
    extension.strip_prefix('s')?.strip_suffix('p')?.parse().ok()
}

struct Reader<'a> {
    name: &'a str,
    ports: Option<usize>,
    options: Option<Options>,
    /// A two-port record that goes on in the next line, with the line it began on.
    pending: Vec<f64>,
    /// The frequency of this record as written, and of the one before it.
    frequency_text: String,
    previous_text: String,
    sweep: Option<Sweep>,
}

impl Reader<'_> {
    fn take(&mut self, line: &Line<'_>) -> Result<(), Misread> {
        if Options::is_option_line(line) {
            if self.options.is_none() {
                self.options = Some(Options::parse(line)?);
            }
            return Ok(());
        }
        let first = line.words[0];
        if first.text.starts_with('[') {
            return Err((Some(first.column), Problem::VersionTwo));
        }
        let mut numbers: Vec<f64> = line.words.iter().map(number).collect::<Result<_, _>>()?;
        let Some(options) = self.options else {
            return Err((None, Problem::NoOptionLine));
        };
        if self.pending.is_empty() {
            std::mem::swap(&mut self.previous_text, &mut self.frequency_text);
            self.frequency_text.clear();
            self.frequency_text.push_str(first.text);
            numbers[0] = frequency_hz(&first, options.unit_exponent)?;
        }
        let ports = match self.ports {
            Some(ports) => ports,
            None => *self.ports.insert(ports_of_count(numbers.len())?),
        };
        if self.noise(&options, ports, &numbers)? {
            return Ok(());
        }
        self.pending.extend(&numbers);
        let expected = 1 + 2 * ports * ports;
        match self.pending.len() {
            found if found == expected => {
                let record = std::mem::take(&mut self.pending);
                self.record(&options, ports, &record)
            }
            found if found < expected && ports == 2 && found % 2 == 1 => Ok(()),
            found => Err((
                None,
                Problem::Count {
                    found,
                    expected,
                    advice: advice_on_count(ports, found),
                },
            )),
        }
    }

    /// Noise data begin where a two-port file's frequency no longer rises.
    fn noise(&mut self, options: &Options, ports: usize, numbers: &[f64]) -> Result<bool, Misread> {
        let Some(sweep) = self.sweep.as_ref().filter(|_| ports == 2) else {
            return Ok(false);
        };
        let freq_hz = numbers[0];
        let begun = !sweep.noise.is_empty();
        let begins = self.pending.is_empty()
            && numbers.len() == NOISE_NUMBERS
            && sweep
                .frequency_hz
                .last()
                .is_some_and(|last| freq_hz <= *last);
        if !begun && !begins {
            return Ok(false);
        }
        if numbers.len() != NOISE_NUMBERS {
            return Err((
                None,
                Problem::Count {
                    found: numbers.len(),
                    expected: NOISE_NUMBERS,
                    advice: "noise data have a frequency and four numbers a line",
                },
            ));
        }
        self.rising(freq_hz, sweep.noise.last().map(|p| p.freq_hz))?;
        let point = NoisePoint {
            freq_hz,
            least_figure_db: numbers[1],
            source_reflection: complex(Format::Magnitude, numbers[2], numbers[3])?,
            resistance_ohm: numbers[4] * options.reference_ohm,
        };
        if let Some(sweep) = &mut self.sweep {
            sweep.noise.push(point);
        }
        Ok(true)
    }

    fn record(&mut self, options: &Options, ports: usize, record: &[f64]) -> Result<(), Misread> {
        let previous_hz = self.sweep.as_ref().and_then(|s| s.frequency_hz.last());
        self.rising(record[0], previous_hz.copied())?;
        let sweep = self.sweep.get_or_insert_with(|| Sweep {
            ports,
            reference_ohm: options.reference_ohm,
            frequency_hz: Vec::new(),
            s: Vec::new(),
            noise: Vec::new(),
        });
        let mut cells = [Complex64::ZERO; 4];
        for (cell, pair) in cells.iter_mut().zip(record[1..].chunks_exact(2)) {
            *cell = complex(options.format, pair[0], pair[1])?;
        }
        if ports == 1 {
            if let parameter @ (Parameter::H | Parameter::G) = options.parameter {
                let parameter = if parameter == Parameter::H { 'H' } else { 'G' };
                return Err((None, Problem::ParameterNeedsTwoPorts { parameter }));
            }
            let s = one_port_s(options.parameter, cells[0]).ok_or((None, Problem::Singular))?;
            sweep.s.push(s);
        } else {
            // Two-port files list 11, 21, 12, 22.
            let [m11, m21, m12, m22] = cells;
            let s = two_port_s(options.parameter, [m11, m12, m21, m22])
                .ok_or((None, Problem::Singular))?;
            sweep.s.extend(s);
        }
        sweep.frequency_hz.push(record[0]);
        Ok(())
    }

    fn rising(&self, found_hz: f64, previous_hz: Option<f64>) -> Result<(), Misread> {
        let rises = previous_hz.is_none_or(|previous| found_hz > previous);
        if rises && found_hz >= 0.0 {
            return Ok(());
        }
        Err((
            Some(1),
            Problem::Frequency {
                found: self.frequency_text.clone(),
                previous: (found_hz >= 0.0).then(|| self.previous_text.clone()),
            },
        ))
    }

    fn finish(self) -> Result<Sweep, TouchstoneError> {
        if !self.pending.is_empty() {
            let problem = Problem::Truncated {
                found: self.pending.len(),
                expected: self.ports.map_or(0, |ports| 1 + 2 * ports * ports),
            };
            return Err(TouchstoneError::whole(self.name, problem));
        }
        self.sweep
            .ok_or_else(|| TouchstoneError::whole(self.name, Problem::Empty))
    }
}

fn ports_of_count(found: usize) -> Result<usize, Misread> {
    match found {
        3 => Ok(1),
        9 => Ok(2),
        _ => Err((
            None,
            Problem::Count {
                found,
                expected: 3,
                advice: "a one-port line has 3 numbers, a two-port line 9; end the file's name \
                         in .s1p or .s2p to say which it is",
            },
        )),
    }
}

fn advice_on_count(ports: usize, found: usize) -> &'static str {
    match (ports, found) {
        (1, 9) => "this looks like a two-port file: end its name in .s2p",
        (2, 3 | 6) => "this looks like a one-port file: end its name in .s1p",
        _ => "a record is a frequency and two numbers for each parameter",
    }
}

/// A frequency in hertz. The unit joins the number as text, so that 0.067 GHz is the double
/// nearest to 67 MHz.
fn frequency_hz(word: &Word<'_>, unit_exponent: i32) -> Result<f64, Misread> {
    let (mantissa, exponent) = match word.text.find(['e', 'E']) {
        Some(at) => (&word.text[..at], word.text[at + 1..].parse().unwrap_or(0)),
        None => (word.text, 0_i32),
    };
    let exponent = exponent.saturating_add(unit_exponent);
    match format!("{mantissa}e{exponent}").parse::<f64>() {
        Ok(freq_hz) if freq_hz.is_finite() => Ok(freq_hz),
        _ => Err((
            Some(word.column),
            Problem::Number {
                found: word.text.to_owned(),
                advice: "no frequency is that large: check the unit in the option line",
            },
        )),
    }
}

fn complex(format: Format, first: f64, second: f64) -> Result<Complex64, Misread> {
    let value = polar_or_real(format, first, second)?;
    if value.re.is_finite() && value.im.is_finite() {
        return Ok(value);
    }
    Err((
        None,
        Problem::Number {
            found: first.to_string(),
            advice: "it is beyond any reading: check that the format (DB, MA, RI) is right",
        },
    ))
}

fn polar_or_real(format: Format, first: f64, second: f64) -> Result<Complex64, Misread> {
    match format {
        Format::Real => Ok(Complex64::new(first, second)),
        Format::Magnitude if first < 0.0 => {
            Err((None, Problem::NegativeMagnitude { found: first }))
        }
        Format::Magnitude => Ok(Complex64::from_polar(first, second.to_radians())),
        Format::Decibel => Ok(Complex64::from_polar(
            10f64.powf(first / 20.0),
            second.to_radians(),
        )),
    }
}

fn number(word: &Word<'_>) -> Result<f64, Misread> {
    let text = word.text;
    let plain = text
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.' | b'e' | b'E'));
    match text.parse::<f64>() {
        Ok(value) if plain && value.is_finite() => Ok(value),
        _ => Err((
            Some(word.column),
            Problem::Number {
                found: text.to_owned(),
                advice: advice_on_number(text),
            },
        )),
    }
}

fn advice_on_number(text: &str) -> &'static str {
    let lower = text.to_ascii_lowercase();
    if lower.contains("nan") || lower.contains("inf") {
        "it must be finite: repeat that point of the sweep, delete its line, or write -400 for \
         a zero reading in decibels"
    } else if text.contains(',') {
        "write the decimal with a point and part numbers by blanks"
    } else if lower.contains('d') {
        "write the exponent with an E"
    } else {
        "a note needs an exclamation mark before it"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(text: &str, name: &str) -> TouchstoneError {
        read_text(text.as_bytes(), name).unwrap_err()
    }

    #[test]
    fn a_record_may_wrap_and_noise_may_follow() {
        let text = "# GHz S MA R 50\n1 0.1 0 0.9 -10\n  0.9 -10 0.1 0\n2 .1 0 .8 0 .8 0 .1 0\n\
                    2 0.5 0.3 90 0.4\n3 0.6 0.3 90 0.4\n";
        let sweep = read_text(text.as_bytes(), "amplifier.s2p").unwrap();
        assert_eq!(sweep.len(), 2);
        assert_eq!(sweep.noise().len(), 2);
        assert_eq!(sweep.noise()[0].resistance_ohm, 20.0);
        assert!((sweep.s(0, 2, 1).norm() - 0.9).abs() < 1e-15);
    }

    #[test]
    fn places_are_named() {
        let error = problem("# MHz RI\n1 0.5 1,5\n", "a.s1p");
        assert_eq!((error.line(), error.column()), (Some(2), Some(7)));
        assert!(error.to_string().contains("with a point"), "{error}");
        assert!(
            problem("# MHz RI\n1 0 0\n1 0 0\n", "a.s1p")
                .to_string()
                .contains("after 1,")
        );
        assert!(problem("", "a.s1p").to_string().contains("no data"));
        assert!(problem("[Version] 2.0\n", "a.s1p").is_unsupported());
    }
}
