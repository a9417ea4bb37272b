//! The ways to calibrate.

use crate::ReflectionStandard;

/// The standards by whose readings the readings of a part are divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Normaliser {
    /// The open; transmission stays raw.
    Open,
    /// The short; transmission stays raw.
    Short,
    /// The through; reflection stays raw.
    Through,
    /// The open for reflection, the through for transmission.
    OpenAndThrough,
    /// The short for reflection, the through for transmission.
    ShortAndThrough,
}

impl Normaliser {
    /// What reflection is divided by; `None` where it stays raw.
    pub const fn reflection(self) -> Option<ReflectionStandard> {
        match self {
            Self::Open | Self::OpenAndThrough => Some(ReflectionStandard::Open),
            Self::Short | Self::ShortAndThrough => Some(ReflectionStandard::Short),
            Self::Through => None,
        }
    }

    /// True where transmission is divided by the through.
    pub const fn uses_through(self) -> bool {
        !matches!(self, Self::Open | Self::Short)
    }
}

/// How the error terms are found and what is made of the raw readings.
///
/// | method | standards it needs | S11 | S21 | error left |
/// | --- | --- | --- | --- | --- |
/// | raw | – | raw | raw | everything |
/// | open, short, or either and through | as named | m11·Γ/m | (m21 − e30)·S21/(m − e30) | directivity, source and load match |
/// | through only | through | raw | the same | the same, and all of reflection |
/// | one port | open, short, load | exact for a one-port | raw | all of transmission |
/// | one port and through | the same and a through | as one port | N21/(1 + e11·N11) | load match |
/// | one direction | the same | exact | exact | none for a symmetric, reciprocal part |
/// | both directions | open, short, load at both ports; through | exact | exact | none |
/// | both directions, through unknown | the same, the through reciprocal only | exact | exact | none with switch terms |
///
/// Isolation is used where it was measured. Where the reverse direction was not calibrated, the
/// part is taken for symmetric and reciprocal: S22 = S11, S12 = S21.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// The raw reading as it is.
    Raw,
    /// Division by the reading of one standard: reflection by an open or a short, transmission by
    /// the through. What has no standard stays raw.
    Scaled(Normaliser),
    /// Three terms of the port; transmission stays raw.
    OnePort,
    /// Three terms of the port and the tracking of the through.
    OnePortAndThrough,
    /// Six terms of the forward direction, for a part that looks the same from both sides.
    OneDirection,
    /// Six terms of each direction.
    BothDirections,
    /// As both directions, from a through of which only the phase is roughly known: it must be reciprocal,
    /// and S21 within ±90° of its definition.
    UnknownThrough,
}

impl Method {
    /// All of them, from the least to the most effort.
    pub const ALL: [Self; 11] = [
        Self::Raw,
        Self::Scaled(Normaliser::Open),
        Self::Scaled(Normaliser::Short),
        Self::Scaled(Normaliser::Through),
        Self::Scaled(Normaliser::OpenAndThrough),
        Self::Scaled(Normaliser::ShortAndThrough),
        Self::OnePort,
        Self::OnePortAndThrough,
        Self::OneDirection,
        Self::BothDirections,
        Self::UnknownThrough,
    ];

    /// Its name, in files, commands and sentences.
    ///
    /// ```
    /// use jigwise_physics::{Method, Normaliser};
    ///
    /// assert_eq!(Method::BothDirections.name(), "both directions");
    /// assert_eq!(Method::Scaled(Normaliser::OpenAndThrough).to_string(), "open and through");
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Self::Raw => "raw",
            Self::Scaled(Normaliser::Open) => "open",
            Self::Scaled(Normaliser::Short) => "short",
            Self::Scaled(Normaliser::Through) => "through only",
            Self::Scaled(Normaliser::OpenAndThrough) => "open and through",
            Self::Scaled(Normaliser::ShortAndThrough) => "short and through",
            Self::OnePort => "one port",
            Self::OnePortAndThrough => "one port and through",
            Self::OneDirection => "one direction",
            Self::BothDirections => "both directions",
            Self::UnknownThrough => "both directions, through unknown",
        }
    }

    /// What of it a reflection at one port needs.
    pub const fn in_reflect(self) -> Self {
        match self {
            Self::Raw | Self::Scaled(Normaliser::Through) => Self::Raw,
            Self::Scaled(Normaliser::Open | Normaliser::OpenAndThrough) => {
                Self::Scaled(Normaliser::Open)
            }
            Self::Scaled(Normaliser::Short | Normaliser::ShortAndThrough) => {
                Self::Scaled(Normaliser::Short)
            }
            _ => Self::OnePort,
        }
    }

    /// True where reflection is corrected by three terms of the port.
    pub const fn corrects_one_port(self) -> bool {
        !matches!(self, Self::Raw | Self::Scaled(_))
    }

    /// True where port 2 must send as well.
    pub const fn needs_both_directions(self) -> bool {
        matches!(self, Self::BothDirections | Self::UnknownThrough)
    }
}

impl std::fmt::Display for Method {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
