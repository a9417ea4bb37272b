//! Why data are no sweep.

use std::fmt;

use crate::MOST_PORTS;

/// Why data are no sweep, or a sweep can't be turned into another.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum SweepError {
    /// A number of ports that no file has.
    Ports {
        /// Ports given.
        found: usize,
    },
    /// A list of the wrong length.
    Length {
        /// Which list.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The length it should have.
        expected: usize,
    },
    /// No point at all.
    NoPoints,
    /// A reference that is not finite and above zero.
    Reference {
        /// Ω.
        found_ohm: f64,
    },
    /// A frequency that is below zero, not finite, or not above the one before it.
    Frequency {
        /// Its place, from 0.
        index: usize,
        /// Hz.
        found_hz: f64,
    },
    /// An S-parameter or a noise datum that is not finite.
    NotFinite {
        /// Which point, from 0.
        index: usize,
    },
    /// Noise data for other than two ports.
    NoiseNeedsTwoPorts,
    /// Mixed-mode data, which are kept as they are.
    MixedMode,
    /// A two-port of which one direction was not measured: the other reference can't be
    /// reached without it.
    OneDirection,
    /// No S at the wanted references (a pole).
    Singular {
        /// Which point, from 0.
        index: usize,
    },
}

impl std::error::Error for SweepError {}

impl fmt::Display for SweepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ports { found } => {
                write!(
                    f,
                    "found {found} ports, expected 1 to {MOST_PORTS}; leave some out"
                )
            }
            Self::Length {
                what,
                found,
                expected,
            } => write!(
                f,
                "found {found} {what}, expected {expected}; complete the list"
            ),
            Self::NoPoints => f.write_str("found no point, expected at least one; measure one"),
            Self::Reference { found_ohm } => write!(
                f,
                "found a reference of {found_ohm} Ω, expected a finite one above zero; give 50 if \
                 in doubt"
            ),
            Self::Frequency { index, found_hz } => write!(
                f,
                "found {found_hz} Hz at point {index}, expected a finite frequency above the one \
                 before it, zero or more; sort the points"
            ),
            Self::NotFinite { index } => write!(
                f,
                "point {index} holds a number that is not finite; leave the point out"
            ),
            Self::NoiseNeedsTwoPorts => {
                f.write_str("noise data belong to two ports; leave them out for other numbers")
            }
            Self::MixedMode => f.write_str(
                "the sweep is mixed-mode, which is not converted; expected single-ended ports, so \
                 export those",
            ),
            Self::OneDirection => f.write_str(
                "S12 and S22 are zero throughout, so that direction was not measured, and \
                 references can't be changed without it; export all four S-parameters",
            ),
            Self::Singular { index } => write!(
                f,
                "point {index} has no S at these references; leave it out or keep the references"
            ),
        }
    }
}
