//! A sweep as the text of a file.

use std::io::{self, Write};

use num_complex::Complex64;

use crate::file_name::ports_of_name;
use crate::{Format, Sweep, Unit, Version, WriteError};

/// How a sweep is written. The default is version 1 in hertz, real and imaginary parts with the
/// fewest digits that give every double back exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// The version.
    pub version: Version,
    /// How a complex number is written. Only [`Format::Real`] gives it back to the last bit.
    pub format: Format,
    /// The unit of the frequencies, which come back to the last bit in any.
    pub unit: Unit,
}

/// What stands for a magnitude of zero in decibels: it reads back as zero.
const NO_MAGNITUDE_DB: f64 = -9999.0;

/// Checks that a reader finds the sweep's number of ports in a file's name: `.sNp`, or any other
/// ending in version 2, which says it inside.
///
/// ```
/// use jigwise_touchstone::{Complex64, Options, Sweep, check_name};
///
/// let sweep = Sweep::new(1, &[50.0], vec![1e6], vec![Complex64::ONE])?;
/// assert!(check_name("coil.s1p", &sweep, &Options::default()).is_ok());
/// assert!(check_name("coil.s2p", &sweep, &Options::default()).is_err());
/// # Ok::<(), jigwise_touchstone::SweepError>(())
/// ```
///
/// # Errors
/// [`WriteError::Name`].
pub fn check_name(name: &str, sweep: &Sweep, options: &Options) -> Result<(), WriteError> {
    let ports = sweep.ports();
    let fits = match ports_of_name(name) {
        Some(named) => named == ports,
        None => options.version != Version::One,
    };
    if fits {
        return Ok(());
    }
    Err(WriteError::Name {
        file: name.to_owned(),
        ports,
    })
}

/// A sweep as the text of a file.
///
/// ```
/// use jigwise_touchstone::{Complex64, Options, Sweep, read_text, write_text};
///
/// let s = vec![Complex64::new(0.6, -0.8), Complex64::new(0.7, -0.7)];
/// let sweep = Sweep::new(1, &[50.0], vec![7.1e6, 14.2e6], s)?.with_comments(["a coil"]);
/// let text = write_text(&sweep, &Options::default())?;
/// assert_eq!(text, "! a coil\n# Hz S RI R 50\n7100000 0.6 -0.8\n14200000 0.7 -0.7\n");
/// assert_eq!(read_text(text.as_bytes(), "coil.s1p")?, sweep);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`WriteError`] for mixed-mode data, or noise that begins above the sweep, in version 1.
pub fn write_text(sweep: &Sweep, options: &Options) -> Result<String, WriteError> {
    let mut bytes = Vec::new();
    write_to(&mut bytes, sweep, options)?;
    // Every byte written below is ASCII.
    Ok(bytes.into_iter().map(char::from).collect())
}

/// Writes a sweep: comments first, lines ended by LF, ASCII only (letters that the standard
/// does not allow are spelt out in comments or become a question mark).
///
/// # Errors
/// [`WriteError`] from the output, and as [`write_text`].
pub fn write_to(out: &mut impl Write, sweep: &Sweep, options: &Options) -> Result<(), WriteError> {
    if options.version == Version::One && !sweep.modes().is_empty() {
        return Err(WriteError::MixedModeNeedsVersionTwo);
    }
    check_noise(sweep, options)?;
    for comment in sweep.comments() {
        match ascii(comment) {
            text if text.is_empty() => out.write_all(b"!\n")?,
            text => writeln!(out, "! {text}")?,
        }
    }
    write_head(out, sweep, options)?;
    let ports = sweep.ports();
    let cells = ports * ports;
    let mut line = String::new();
    for (freq_hz, s) in sweep.frequency_hz().iter().zip(sweep.s.chunks_exact(cells)) {
        line.clear();
        push_decimal(&mut line, *freq_hz, options.unit.exponent());
        match (ports, options.version) {
            (2, Version::One) => {
                for cell in [s[0], s[2], s[1], s[3]] {
                    push_pair(&mut line, cell, options.format);
                }
            }
            (1 | 2, _) => {
                for cell in s {
                    push_pair(&mut line, *cell, options.format);
                }
            }
            _ => {
                for (row, values) in s.chunks_exact(ports).enumerate() {
                    for (quad, values) in values.chunks(4).enumerate() {
                        if (row, quad) != (0, 0) {
                            line.push_str("\n ");
                        }
                        for cell in values {
                            push_pair(&mut line, *cell, options.format);
                        }
                    }
                }
            }
        }
        line.push('\n');
        out.write_all(line.as_bytes())?;
    }
    write_noise(out, sweep, options)?;
    if options.version != Version::One {
        out.write_all(b"[End]\n")?;
    }
    Ok(())
}

fn write_head(out: &mut impl Write, sweep: &Sweep, options: &Options) -> io::Result<()> {
    match options.version {
        Version::One => {}
        Version::Two => out.write_all(b"[Version] 2.0\n")?,
        Version::TwoOne => out.write_all(b"[Version] 2.1\n")?,
    }
    let unit = match options.unit {
        Unit::Hz => "Hz",
        Unit::KHz => "kHz",
        Unit::MHz => "MHz",
        Unit::GHz => "GHz",
    };
    let format = match options.format {
        Format::Decibel => "DB",
        Format::Magnitude => "MA",
        Format::Real => "RI",
    };
    let mut references = String::new();
    let ohms = sweep.references_ohm();
    let equal = !sweep.reference_ohm().is_nan();
    for ohm in if equal { &ohms[..1] } else { ohms } {
        references.push(' ');
        push_decimal(&mut references, *ohm, 0);
    }
    if options.version == Version::One {
        return writeln!(out, "# {unit} S {format} R{references}");
    }
    writeln!(out, "# {unit} S {format}")?;
    writeln!(out, "[Number of Ports] {}", sweep.ports())?;
    if sweep.ports() == 2 {
        writeln!(out, "[Two-Port Data Order] 12_21")?;
    }
    writeln!(out, "[Number of Frequencies] {}", sweep.len())?;
    if !sweep.noise().is_empty() {
        writeln!(out, "[Number of Noise Frequencies] {}", sweep.noise().len())?;
    }
    out.write_all(b"[Reference]")?;
    for ohm in ohms {
        let mut text = String::from(" ");
        push_decimal(&mut text, *ohm, 0);
        out.write_all(text.as_bytes())?;
    }
    out.write_all(b"\n")?;
    if !sweep.modes().is_empty() {
        out.write_all(b"[Mixed-Mode Order]")?;
        for mode in sweep.modes() {
            write!(out, " {mode}")?;
        }
        out.write_all(b"\n")?;
    }
    out.write_all(b"[Network Data]\n")
}

/// In version 1 noise is told from the sweep by its first frequency, which must not be above
/// the sweep's last.
fn check_noise(sweep: &Sweep, options: &Options) -> Result<(), WriteError> {
    match (sweep.noise().first(), sweep.frequency_hz().last()) {
        (Some(first), Some(&last_hz))
            if options.version == Version::One && first.freq_hz > last_hz =>
        {
            Err(WriteError::NoiseNeedsVersionTwo {
                first_hz: first.freq_hz,
                last_hz,
            })
        }
        _ => Ok(()),
    }
}

fn write_noise(out: &mut impl Write, sweep: &Sweep, options: &Options) -> io::Result<()> {
    if sweep.noise().is_empty() {
        return Ok(());
    }
    let scale = match options.version {
        Version::One => sweep.references_ohm()[0],
        Version::Two | Version::TwoOne => {
            out.write_all(b"[Noise Data]\n")?;
            1.0
        }
    };
    let mut line = String::new();
    for point in sweep.noise() {
        line.clear();
        push_decimal(&mut line, point.freq_hz, options.unit.exponent());
        line.push(' ');
        push_decimal(&mut line, point.least_figure_db, 0);
        push_pair(&mut line, point.source_reflection, Format::Magnitude);
        line.push(' ');
        push_decimal(&mut line, point.resistance_ohm / scale, 0);
        line.push('\n');
        out.write_all(line.as_bytes())?;
    }
    Ok(())
}

fn push_pair(line: &mut String, value: Complex64, format: Format) {
    let (first, second) = match format {
        Format::Real => (value.re, value.im),
        Format::Magnitude => (value.norm(), value.arg().to_degrees()),
        Format::Decibel => {
            let magnitude = value.norm();
            let db = match magnitude > 0.0 {
                true => 20.0 * magnitude.log10(),
                false => NO_MAGNITUDE_DB,
            };
            (db, value.arg().to_degrees())
        }
    };
    line.push(' ');
    push_decimal(line, first, 0);
    line.push(' ');
    push_decimal(line, second, 0);
}

/// The fewest digits that name this double, divided by ten to the `unit_exponent` as text, so
/// that no rounding comes between.
fn push_decimal(line: &mut String, value: f64, unit_exponent: i32) {
    let text = format!("{value:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent = exponent.parse().unwrap_or(0) - unit_exponent;
    let (sign, mantissa) = match mantissa.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", mantissa),
    };
    line.push_str(sign);
    if mantissa == "0" {
        line.push('0');
        return;
    }
    let mut digits = mantissa.chars().filter(|c| *c != '.');
    match exponent {
        -4..=-1 => {
            line.push_str("0.");
            (1..-exponent).for_each(|_| line.push('0'));
            line.extend(digits);
        }
        0..=15 => {
            (0..=exponent).for_each(|_| line.push(digits.next().unwrap_or('0')));
            if let Some(first) = digits.next() {
                line.push('.');
                line.push(first);
                line.extend(digits);
            }
        }
        _ => {
            line.push_str(mantissa);
            line.push('e');
            line.push_str(&exponent.to_string());
        }
    }
}

/// Printable ASCII, with the letters that units need spelt out.
fn ascii(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            ' '..='~' => plain.push(letter),
            '\t' | '\u{a0}' | '\u{2009}' | '\u{202f}' => plain.push(' '),
            'µ' | '\u{3bc}' => plain.push('u'),
            'Ω' | '\u{2126}' => plain.push_str("Ohm"),
            '°' => plain.push_str("deg"),
            '−' | '–' | '—' | '‐' | '‑' => plain.push('-'),
            '±' => plain.push_str("+/-"),
            '×' => plain.push('x'),
            '·' => plain.push('*'),
            '’' | '‘' => plain.push('\''),
            '“' | '”' => plain.push('"'),
            '…' => plain.push_str("..."),
            _ => plain.push('?'),
        }
    }
    plain.truncate(plain.trim_end().len());
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(value: f64, unit_exponent: i32) -> String {
        let mut text = String::new();
        push_decimal(&mut text, value, unit_exponent);
        text
    }

    #[test]
    fn decimals_are_short_and_plain() {
        for (value, unit, text) in [
            (0.0, 9, "0"),
            (-0.0, 0, "-0"),
            (67e6, 9, "0.067"),
            (7.1e6, 0, "7100000"),
            (7.1e6, 6, "7.1"),
            (-0.5, 0, "-0.5"),
            (1e-4, 0, "0.0001"),
            (1.5e-5, 0, "1.5e-5"),
            (1e16, 0, "1e16"),
            (123456.789, 3, "123.456789"),
        ] {
            assert_eq!(decimal(value, unit), text);
        }
    }
}
