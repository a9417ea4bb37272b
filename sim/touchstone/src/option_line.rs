use crate::error::Problem;
use crate::lines::{Line, Word};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Parameter {
    S,
    Y,
    Z,
    H,
    G,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Format {
    Decibel,
    Magnitude,
    Real,
}

/// The option line: unit, parameter, format and reference in any order, each optional.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Options {
    /// The unit as a power of ten of hertz.
    pub unit_exponent: i32,
    pub parameter: Parameter,
    pub format: Format,
    pub reference_ohm: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            unit_exponent: 9,
            parameter: Parameter::S,
            format: Format::Magnitude,
            reference_ohm: 50.0,
        }
    }
}

/// A problem with the column of the word that caused it.
pub(crate) type Misread = (Option<usize>, Problem);

impl Options {
    pub(crate) fn is_option_line(line: &Line<'_>) -> bool {
        line.words[0].text.starts_with('#')
    }

    pub(crate) fn parse(line: &Line<'_>) -> Result<Self, Misread> {
        let mut options = Self::default();
        let first = line.words[0];
        let glued = Word {
            text: &first.text[1..],
            column: first.column + 1,
        };
        let mut words = std::iter::once(glued)
            .filter(|word| !word.text.is_empty())
            .chain(line.words[1..].iter().copied())
            .peekable();
        while let Some(word) = words.next() {
            match word.text.to_ascii_uppercase().as_str() {
                "HZ" => options.unit_exponent = 0,
                "KHZ" => options.unit_exponent = 3,
                "MHZ" => options.unit_exponent = 6,
                "GHZ" => options.unit_exponent = 9,
                "S" => options.parameter = Parameter::S,
                "Y" => options.parameter = Parameter::Y,
                "Z" => options.parameter = Parameter::Z,
                "H" => options.parameter = Parameter::H,
                "G" => options.parameter = Parameter::G,
                "DB" => options.format = Format::Decibel,
                "MA" => options.format = Format::Magnitude,
                "RI" => options.format = Format::Real,
                "R" => options.reference_ohm = reference(word, &mut words)?,
                other => {
                    let expected = if other.ends_with("HZ") {
                        "one of the units Hz, kHz, MHz, GHz"
                    } else {
                        "a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, H, G), a format \
                         (DB, MA, RI) or R and the reference in ohms"
                    };
                    return Err((
                        Some(word.column),
                        Problem::OptionWord {
                            found: word.text.to_owned(),
                            expected,
                        },
                    ));
                }
            }
        }
        Ok(options)
    }
}

fn reference<'a>(
    r: Word<'a>,
    words: &mut std::iter::Peekable<impl Iterator<Item = Word<'a>>>,
) -> Result<f64, Misread> {
    let Some(word) = words.next() else {
        return Err((
            Some(r.column),
            Problem::Reference {
                found: r.text.to_owned(),
            },
        ));
    };
    let first = positive(word)?;
    let mut second = None;
    while let Some(word) = words.next_if(|word| starts_a_number(word.text)) {
        let ohm = positive(word)?;
        if ohm != first {
            second.get_or_insert((ohm, word.column));
        }
    }
    match second {
        Some((ohm, column)) => Err((
            Some(column),
            Problem::UnequalReferences { ohm: [first, ohm] },
        )),
        None => Ok(first),
    }
}

fn starts_a_number(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | '('))
}

fn positive(word: Word<'_>) -> Result<f64, Misread> {
    let ohm = starts_a_number(word.text)
        .then(|| word.text.parse::<f64>().ok())
        .flatten()
        .filter(|ohm| ohm.is_finite() && *ohm > 0.0);
    ohm.ok_or_else(|| {
        (
            Some(word.column),
            Problem::Reference {
                found: word.text.to_owned(),
            },
        )
    })
}
