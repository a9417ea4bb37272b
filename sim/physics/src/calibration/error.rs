//! Why a calibration can't be solved, and what to measure instead.

use crate::{Method, NumberError, Piece};

/// A calibration that can't be solved.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum CalibrationError {
    /// Fewer than three reflection standards.
    TooFew {
        /// How many there are.
        found: usize,
    },
    /// Two standards are taken for nearly the same reflection, as an open and a short a quarter
    /// of a wavelength apart are.
    Coincide {
        /// One of them.
        first: Piece,
        /// The other one.
        second: Piece,
        /// Their chordal distance, 0 to 1.
        separation: f64,
        /// The frequency in hertz, where it is known.
        freq_hz: Option<f64>,
    },
    /// Two standards that differ read the same.
    SameReading {
        /// One of them.
        first: Piece,
        /// The other one.
        second: Piece,
    },
    /// The readings fit no error terms that could be corrected.
    Singular {
        /// The term that vanishes.
        term: &'static str,
    },
    /// A reading or a definition is NaN or infinite.
    NotFinite {
        /// Which.
        piece: Piece,
        /// The part that is not finite.
        value: f64,
    },
    /// A reading that the method needs was not measured.
    Missing {
        /// Which.
        piece: Piece,
        /// The method that needs it.
        method: Method,
    },
    /// A number in the description of a standard is out of its range.
    Number(NumberError),
}

impl CalibrationError {
    /// True where two standards are taken for nearly the same reflection.
    pub fn is_coincidence(&self) -> bool {
        matches!(self, Self::Coincide { .. })
    }

    /// True where a reading was not measured.
    pub fn is_missing(&self) -> bool {
        matches!(self, Self::Missing { .. } | Self::TooFew { .. })
    }

    /// The pieces of the calibration that are at fault.
    pub fn pieces(&self) -> Vec<Piece> {
        match *self {
            Self::Coincide { first, second, .. } | Self::SameReading { first, second } => {
                vec![first, second]
            }
            Self::NotFinite { piece, .. } | Self::Missing { piece, .. } => vec![piece],
            Self::TooFew { .. } | Self::Singular { .. } | Self::Number(_) => Vec::new(),
        }
    }

    /// The same error at a frequency, where it has one.
    #[must_use]
    pub(crate) fn at(mut self, at_hz: Option<f64>) -> Self {
        if let Self::Coincide { freq_hz, .. } = &mut self {
            *freq_hz = freq_hz.or(at_hz);
        }
        self
    }

    /// The same error with its numbered standards named.
    #[must_use]
    pub(crate) fn naming(mut self, names: &[Piece]) -> Self {
        let rename = |piece: &mut Piece| {
            if let Piece::Numbered(n) = *piece
                && let Some(&name) = n.checked_sub(1).and_then(|k| names.get(k))
            {
                *piece = name;
            }
        };
        match &mut self {
            Self::Coincide { first, second, .. } | Self::SameReading { first, second } => {
                rename(first);
                rename(second);
            }
            Self::NotFinite { piece, .. } => rename(piece),
            Self::TooFew { .. }
            | Self::Singular { .. }
            | Self::Missing { .. }
            | Self::Number(_) => {}
        }
        self
    }
}

impl From<NumberError> for CalibrationError {
    fn from(error: NumberError) -> Self {
        Self::Number(error)
    }
}

impl std::fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFew { found } => write!(
                f,
                "{found} reflection standards where three are needed: measure three or more that \
                 differ, such as an open, a short and a load"
            ),
            Self::Coincide {
                first,
                second,
                separation,
                freq_hz,
            } => {
                write!(f, "{first} and {second} are the same reflection")?;
                if let Some(freq_hz) = freq_hz {
                    write!(f, " at {} MHz", freq_hz / 1e6)?;
                }
                write!(
                    f,
                    ", {separation:.4} apart where {} is needed: take a standard with another \
                     offset, or leave this frequency out",
                    super::MIN_SEPARATION
                )
            }
            Self::SameReading { first, second } => write!(
                f,
                "{first} and {second} read the same although they differ: measure both again, \
                 one of them was connected twice or the port is not connected"
            ),
            Self::Singular { term } => write!(
                f,
                "the readings of the standards leave no {term}: check that the standards were \
                 connected in the order named and measure them again"
            ),
            Self::NotFinite { piece, value } => write!(
                f,
                "{piece} holds {value}, which is no number to calculate with: measure it again, \
                 or give its definition as a finite number"
            ),
            Self::Missing { piece, method } => write!(
                f,
                "{piece} was not measured and the calibration \"{method}\" needs it: measure it, \
                 or choose a calibration that does without"
            ),
            Self::Number(error) => write!(f, "a calibration standard: {error}"),
        }
    }
}

impl std::error::Error for CalibrationError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Number(error) => Some(error),
            _ => None,
        }
    }
}
