//! Why sweeps don't belong together.

use std::fmt;

use jigwise_bench::words::fixture_key;
use jigwise_physics::Fixture;
use jigwise_quantity::engineering;

/// Why sweeps don't belong together.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum EnsembleError {
    /// Two sweeps of one fixture.
    Twice {
        /// The fixture.
        fixture: Fixture,
    },
    /// A sweep lacks a frequency of the first one.
    MissesFrequency {
        /// Its place among the sweeps given, from 0.
        which: usize,
        /// The first frequency it lacks, Hz.
        freq_hz: f64,
    },
    /// Sweeps with different references.
    OtherReference {
        /// Its place among the sweeps given, from 0.
        which: usize,
        /// Its reference, Ω.
        found_ohm: f64,
        /// That of the first, Ω.
        expected_ohm: f64,
    },
    /// No sweep at all.
    Nothing,
}

impl std::error::Error for EnsembleError {}

impl fmt::Display for EnsembleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Twice { fixture } => write!(
                f,
                "two sweeps are in {}; give one sweep for each fixture, and name the fixtures in \
                 the order of the sweeps",
                fixture_key(fixture)
            ),
            Self::MissesFrequency { freq_hz, .. } => write!(
                f,
                "it was not measured at {}, where the first one was; sweep it again with the \
                 frequencies of the first",
                engineering(freq_hz, "Hz", 9)
            ),
            Self::OtherReference {
                found_ohm,
                expected_ohm,
                ..
            } => write!(
                f,
                "it refers to {found_ohm} Ω and the first one to {expected_ohm} Ω; export both \
                 with the same reference"
            ),
            Self::Nothing => f.write_str("no sweep; give at least one"),
        }
    }
}
