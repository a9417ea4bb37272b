//! What a calibration connects and measures, each with its name.

use std::fmt;

use crate::Port;

/// One of the three reflection standards.
///
/// ```
/// use jigwise_physics::{ReflectionStandard, Trio};
///
/// let letters = Trio::from_fn(|standard| standard.name().len());
/// assert_eq!(*ReflectionStandard::Short.of(&letters), 5);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ReflectionStandard {
    /// The open.
    Open,
    /// The short.
    Short,
    /// The load.
    Load,
}

impl ReflectionStandard {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Open, Self::Short, Self::Load];

    /// Its name as keys, file names and sentences have it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Short => "short",
            Self::Load => "load",
        }
    }

    /// Its entry among three.
    pub const fn of<T>(self, trio: &Trio<T>) -> &T {
        match self {
            Self::Open => &trio.open,
            Self::Short => &trio.short,
            Self::Load => &trio.load,
        }
    }

    /// Its entry among three, to be changed.
    pub const fn of_mut<T>(self, trio: &mut Trio<T>) -> &mut T {
        match self {
            Self::Open => &mut trio.open,
            Self::Short => &mut trio.short,
            Self::Load => &mut trio.load,
        }
    }
}

/// One value for each of the three reflection standards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Trio<T> {
    /// Of the open.
    pub open: T,
    /// Of the short.
    pub short: T,
    /// Of the load.
    pub load: T,
}

impl<T> Trio<T> {
    /// What `of` gives for each standard.
    pub fn from_fn(mut of: impl FnMut(ReflectionStandard) -> T) -> Self {
        Self {
            open: of(ReflectionStandard::Open),
            short: of(ReflectionStandard::Short),
            load: of(ReflectionStandard::Load),
        }
    }
}

/// A step of a calibration, at whatever port it is made.
///
/// ```
/// use jigwise_physics::CalibrationStep;
///
/// let names = CalibrationStep::ALL.map(CalibrationStep::name);
/// assert_eq!(names, ["open", "short", "load", "through", "isolation"]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CalibrationStep {
    /// A reflection standard is connected to a port.
    Reflection(ReflectionStandard),
    /// The ports are connected by the through.
    Through,
    /// The ports are terminated and not connected to each other.
    Isolation,
}

impl CalibrationStep {
    /// All of them, in the order in which they are made.
    pub const ALL: [Self; 5] = [
        Self::Reflection(ReflectionStandard::Open),
        Self::Reflection(ReflectionStandard::Short),
        Self::Reflection(ReflectionStandard::Load),
        Self::Through,
        Self::Isolation,
    ];

    /// Its name as keys, file names and sentences have it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Reflection(standard) => standard.name(),
            Self::Through => "through",
            Self::Isolation => "isolation",
        }
    }
}

/// A piece of a calibration: something that is connected and measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Piece {
    /// The reflection standard number n of a list, counted from 1.
    Numbered(usize),
    /// A reflection standard on a port.
    Reflection(ReflectionStandard, Port),
    /// The through between the ports.
    Through,
    /// The ports not connected to each other.
    Isolation,
}

impl Piece {
    /// The step that measures it; `None` for a standard of a list.
    pub const fn step(self) -> Option<CalibrationStep> {
        match self {
            Self::Numbered(_) => None,
            Self::Reflection(standard, _) => Some(CalibrationStep::Reflection(standard)),
            Self::Through => Some(CalibrationStep::Through),
            Self::Isolation => Some(CalibrationStep::Isolation),
        }
    }
}

impl fmt::Display for Piece {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Numbered(n) => write!(f, "standard {n}"),
            Self::Reflection(standard, port) => write!(f, "the {} on port {port}", standard.name()),
            Self::Through => write!(f, "the {}", CalibrationStep::Through.name()),
            Self::Isolation => write!(f, "the {}", CalibrationStep::Isolation.name()),
        }
    }
}
