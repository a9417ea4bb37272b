use crate::error::Located;
use crate::problem::Problem;
use crate::text::{Word, words};

/// What a file's numbers are, before they become S.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parameter {
    /// Scattering.
    S,
    /// Admittance.
    Y,
    /// Impedance.
    Z,
    /// Hybrid h, two ports only.
    H,
    /// Hybrid g, two ports only.
    G,
}

impl Parameter {
    /// The letter in the option line.
    pub fn letter(self) -> char {
        match self {
            Self::S => 'S',
            Self::Y => 'Y',
            Self::Z => 'Z',
            Self::H => 'H',
            Self::G => 'G',
        }
    }
}

/// How a complex number is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Format {
    /// DB: 20·log10 of the magnitude, and degrees.
    Decibel,
    /// MA: magnitude and degrees.
    Magnitude,
    /// RI: real and imaginary part.
    #[default]
    Real,
}

/// The unit of the frequency column; the standard has no other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unit {
    /// Hertz.
    #[default]
    Hz,
    /// Kilohertz.
    KHz,
    /// Megahertz.
    MHz,
    /// Gigahertz.
    GHz,
}

impl Unit {
    /// As a power of ten of hertz.
    pub(crate) fn exponent(self) -> i32 {
        match self {
            Self::Hz => 0,
            Self::KHz => 3,
            Self::MHz => 6,
            Self::GHz => 9,
        }
    }
}

/// The option line: unit, parameter, format and reference in any order, each optional.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct OptionLine {
    pub unit: Unit,
    pub parameter: Parameter,
    pub format: Format,
    /// One for all ports, or one for each.
    pub references_ohm: Vec<f64>,
    /// Where the references stand, for a message about their count.
    pub references_at: usize,
}

impl OptionLine {
    pub fn parse(line: &[u8]) -> Result<Self, Located> {
        let mut unit = None;
        let mut parameter = None;
        let mut format = None;
        let mut references = None;
        let refused = |word: Word<'_>, expected| {
            let found = word.text();
            let problem = Problem::OptionWord { found, expected };
            Err(Located::at(line, word.at, problem))
        };
        let mut found = words(line).peekable();
        let mut glued = found.next().map(|word| Word {
            bytes: word.bytes.strip_prefix(b"#").unwrap_or(word.bytes),
            at: word.at + 1,
        });
        if glued.is_some_and(|word| word.bytes.is_empty()) {
            glued = None;
        }
        while let Some(word) = glued.take().or_else(|| found.next()) {
            let twice = match word.bytes.to_ascii_uppercase().as_slice() {
                b"HZ" => unit.replace(Unit::Hz).is_some(),
                b"KHZ" => unit.replace(Unit::KHz).is_some(),
                b"MHZ" => unit.replace(Unit::MHz).is_some(),
                b"GHZ" => unit.replace(Unit::GHz).is_some(),
                b"S" => parameter.replace(Parameter::S).is_some(),
                b"Y" => parameter.replace(Parameter::Y).is_some(),
                b"Z" => parameter.replace(Parameter::Z).is_some(),
                b"H" => parameter.replace(Parameter::H).is_some(),
                b"G" => parameter.replace(Parameter::G).is_some(),
                b"DB" => format.replace(Format::Decibel).is_some(),
                b"MA" => format.replace(Format::Magnitude).is_some(),
                b"RI" => format.replace(Format::Real).is_some(),
                b"R" => {
                    let mut ohm = Vec::new();
                    let first = found.next().unwrap_or(word);
                    ohm.push(positive_ohm(line, first)?);
                    while let Some(next) = found.next_if(|next| starts_a_number(next.bytes)) {
                        ohm.push(positive_ohm(line, next)?);
                    }
                    references.replace((ohm, first.at)).is_some()
                }
                other if other.ends_with(b"HZ") => {
                    return refused(word, "one of the units Hz, kHz, MHz, GHz");
                }
                _ => {
                    return refused(
                        word,
                        "a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, H, G), a format \
                         (DB, MA, RI) or R and the reference in ohms",
                    );
                }
            };
            if twice {
                return refused(
                    word,
                    "each field of the option line once; delete the one that is wrong",
                );
            }
        }
        let (references_ohm, references_at) = references.unwrap_or((vec![50.0], 0));
        Ok(Self {
            unit: unit.unwrap_or(Unit::GHz),
            parameter: parameter.unwrap_or(Parameter::S),
            format: format.unwrap_or(Format::Magnitude),
            references_ohm,
            references_at,
        })
    }
}

pub(crate) fn starts_a_number(text: &[u8]) -> bool {
    matches!(text.first(), Some(b'0'..=b'9' | b'+' | b'-' | b'.' | b'('))
}

pub(crate) fn positive_ohm(line: &[u8], word: Word<'_>) -> Result<f64, Located> {
    let ohm = starts_a_number(word.bytes)
        .then(|| fast_float2::parse::<f64, _>(word.bytes).ok())
        .flatten()
        .filter(|ohm| ohm.is_finite() && *ohm > 0.0);
    ohm.ok_or_else(|| Located::at(line, word.at, Problem::Reference { found: word.text() }))
}

/// The versions of the standard, as far as they differ in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Version {
    /// 1 and 1.1: no keywords, the number of ports in the file's name.
    #[default]
    One,
    /// 2.0.
    Two,
    /// 2.1.
    TwoOne,
}
