//! The sweeps that stand beside the part's: what each is of.

use std::fmt;

use jigwise_bench::Blank;
use jigwise_physics::{Piece, Port, Trio};

/// One of the three reflection standards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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

/// What a sweep beside the part's is of. Its words are the name that messages use.
///
/// ```
/// use jigwise_physics::Port;
/// use jigwise_reduce::{Beside, ReflectionStandard};
///
/// let open = Beside::Standard(ReflectionStandard::Open, Port::One);
/// assert_eq!(open.to_string(), "the open at port 1");
/// assert_eq!(open.ports(), 1);
/// assert_eq!(Beside::Through.ports(), 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// The raw sweep of a reflection standard at a port.
    Standard(ReflectionStandard, Port),
    /// The raw sweep of the through.
    Through,
    /// The raw sweep with both ports terminated.
    Isolation,
    /// The switch terms.
    SwitchTerms,
    /// A sweep that says what a reflection standard is.
    Definition(ReflectionStandard),
    /// The fixture without the part.
    Blank(Blank),
}

impl Beside {
    /// Ports that its sweep must have at least.
    pub const fn ports(self) -> usize {
        match self {
            Self::Standard(..) | Self::Definition(_) => 1,
            Self::Through | Self::Isolation | Self::SwitchTerms => 2,
            Self::Blank(blank) => blank.ports(),
        }
    }
}

impl fmt::Display for Beside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Standard(standard, port) => write!(f, "the {} at port {port}", standard.name()),
            Self::Through => Piece::Through.fmt(f),
            Self::Isolation => Piece::Isolation.fmt(f),
            Self::SwitchTerms => f.write_str("the switch terms"),
            Self::Definition(standard) => write!(f, "the definition of the {}", standard.name()),
            Self::Blank(blank) => blank.fmt(f),
        }
    }
}
