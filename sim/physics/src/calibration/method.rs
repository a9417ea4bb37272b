//! The ways to calibrate.

use crate::ReflectionStandard;

/// Which reflection standard a response calibration divides by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Normaliser {
    /// The open.
    Open,
    /// The short.
    Short,
}

impl Normaliser {
    /// The same as a reflection standard.
    pub const fn standard(self) -> ReflectionStandard {
        match self {
            Self::Open => ReflectionStandard::Open,
            Self::Short => ReflectionStandard::Short,
        }
    }
}

/// How the error terms are found and what is made of the raw readings.
///
/// | method | standards it needs | S11 | S21 | error left |
/// | --- | --- | --- | --- | --- |
/// | none | – | raw | raw | everything |
/// | response | open or short; through | m11·Γ/m | (m21 − e30)·S21/(m − e30) | directivity, source and load match |
/// | one-port | open, short, load | exact for a one-port | raw | all of transmission |
/// | enhanced response | the same and a through | as one-port | N21/(1 + e11·N11) | load match |
/// | one-path | the same | exact | exact | none for a symmetric, reciprocal part |
/// | full | open, short, load at both ports; through | exact | exact | none |
/// | unknown through | the same, the through reciprocal only | exact | exact | none with switch terms |
///
/// Isolation is used where it was measured. Where the reverse direction was not calibrated, the
/// part is taken for symmetric and reciprocal: S22 = S11, S12 = S21.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// The raw reading as it is.
    None,
    /// Division by one standard: reflection by an open or a short, transmission by the through.
    /// One of the two is enough, what has no standard stays raw.
    Response(Normaliser),
    /// Three terms of the port; transmission stays raw.
    OnePort,
    /// Three terms of the port and the tracking of the through.
    EnhancedResponse,
    /// Six terms of the forward direction, for a part that looks the same from both sides.
    OnePath,
    /// Six terms of each direction.
    Full,
    /// As full, from a through of which only the phase is roughly known: it must be reciprocal,
    /// and S21 within ±90° of its definition.
    UnknownThrough,
}

impl Method {
    /// All of them, from the least to the most effort.
    pub const ALL: [Self; 8] = [
        Self::None,
        Self::Response(Normaliser::Open),
        Self::Response(Normaliser::Short),
        Self::OnePort,
        Self::EnhancedResponse,
        Self::OnePath,
        Self::Full,
        Self::UnknownThrough,
    ];

    /// True where reflection is corrected by three terms of the port.
    pub const fn corrects_one_port(self) -> bool {
        !matches!(self, Self::None | Self::Response(_))
    }

    /// True where port 2 must send as well.
    pub const fn needs_both_directions(self) -> bool {
        matches!(self, Self::Full | Self::UnknownThrough)
    }
}

impl std::fmt::Display for Method {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::None => "none",
            Self::Response(by) => return write!(f, "response by {}", by.standard().name()),
            Self::OnePort => "one-port",
            Self::EnhancedResponse => "enhanced response",
            Self::OnePath => "one-path",
            Self::Full => "full",
            Self::UnknownThrough => "unknown through",
        })
    }
}
