//! The sweeps that stand beside the part's: what each is of.

use std::fmt;

use jigwise_bench::Blank;
use jigwise_physics::{Piece, Port, ReflectionStandard};

/// What a sweep beside the part's is of. Its words are the name that messages use.
///
/// ```
/// use jigwise_physics::{Port, ReflectionStandard};
/// use jigwise_reduce::Beside;
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
