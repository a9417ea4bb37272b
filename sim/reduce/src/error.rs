//! Why a sweep can't be reduced, and what to measure instead.

use std::fmt;

use jigwise_physics::{BlankError, CalibrationError, EntryError, Fixture, NumberError, Port};
use jigwise_touchstone::SweepError;

use jigwise_bench::Blank;
use jigwise_bench::words::{fixture_connection, fixture_key};
use jigwise_quantity::{engineering, significant, without_zeros};

use crate::Beside;
use crate::regrid::MAX_DOUBT;

/// Why a sweep can't be reduced.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ReduceError {
    /// A through fixture needs two ports.
    OnePort {
        /// The fixture asked for.
        fixture: Fixture,
    },
    /// S21 is zero at every frequency: it was not measured.
    NoThrough {
        /// The fixture asked for.
        fixture: Fixture,
    },
    /// The reflection at the chosen port is zero at every frequency: it was not measured.
    NoReflection {
        /// The chosen port.
        port: Port,
    },
    /// A standard was not measured at the port of the part.
    NotAtPort {
        /// Which, with its port.
        what: Beside,
    },
    /// More ports than a fixture has.
    ManyPorts {
        /// Ports of the sweep.
        ports: usize,
    },
    /// Mixed-mode readings, which no fixture gives.
    MixedMode,
    /// Readings at two references that can't be brought to one.
    References(SweepError),
    /// A sweep beside the part's lacks one of its frequencies.
    MissesFrequency {
        /// Which.
        what: Beside,
        /// The first frequency it lacks, Hz.
        freq_hz: f64,
    },
    /// Between its points the reading of a sweep beside the part's is not known well enough.
    TooCoarse {
        /// Which.
        what: Beside,
        /// Where, Hz.
        freq_hz: f64,
        /// How well it is known there.
        doubt: f64,
    },
    /// A sweep beside the part's has too few ports.
    TooFewPorts {
        /// Which.
        what: Beside,
    },
    /// A sweep beside the part's has another reference.
    OtherReference {
        /// Which.
        what: Beside,
        /// Its reference, Ω.
        found_ohm: f64,
        /// The part's, Ω.
        expected_ohm: f64,
    },
    /// Not the blanks that the fixture has.
    Blanks {
        /// The fixture.
        fixture: Fixture,
        /// How many were given.
        found: usize,
    },
    /// The blanks can't correct a point.
    Blank {
        /// The frequency, Hz.
        freq_hz: f64,
        /// Why.
        error: BlankError,
    },
    /// The standards can't be solved.
    Calibration {
        /// The frequency, Hz.
        freq_hz: f64,
        /// Why.
        error: CalibrationError,
    },
    /// What the standards make of a reading is not finite: it lies on the pole of the correction.
    NoReading {
        /// The frequency, Hz.
        freq_hz: f64,
    },
    /// The instrument's budget ends below a frequency of the sweep.
    AboveBands {
        /// The highest frequency of the sweep, Hz.
        freq_hz: f64,
    },
    /// A figure of a recipe outside its range.
    Entry(EntryError),
    /// A value outside what physics takes.
    Number(NumberError),
}

impl std::error::Error for ReduceError {}

impl ReduceError {
    /// What else than the part's sweep it is about, as named in its words.
    pub fn what(&self) -> Option<Beside> {
        match self {
            Self::MissesFrequency { what, .. }
            | Self::TooCoarse { what, .. }
            | Self::NotAtPort { what }
            | Self::TooFewPorts { what }
            | Self::OtherReference { what, .. } => Some(*what),
            _ => None,
        }
    }
}

impl From<NumberError> for ReduceError {
    fn from(error: NumberError) -> Self {
        Self::Number(error)
    }
}

impl From<EntryError> for ReduceError {
    fn from(error: EntryError) -> Self {
        Self::Entry(error)
    }
}

impl fmt::Display for ReduceError {
    #[expect(
        clippy::too_many_lines,
        reason = "a sentence for each refusal, in the order of the enum"
    )]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OnePort { fixture } => write!(
                f,
                "{} needs S21 and this is a one-port sweep; expected a two-port file (.s2p). \
                 Measure again with both ports, or reduce it as reflect if the part was across \
                 one port",
                fixture_key(*fixture)
            ),
            Self::NoThrough { fixture } => write!(
                f,
                "{} needs S21, which is zero at every frequency, as an export of reflection \
                 alone leaves it; export S21 too, or reduce it as reflect if the part was \
                 across one port",
                fixture_key(*fixture)
            ),
            Self::NoReflection { port } => {
                let number = port.number();
                write!(
                    f,
                    "reflect needs S{number}{number}, which is zero at every frequency: it was \
                     not measured. Export it too; name the other port with --port {} if the part \
                     hung there, or the through fixture that the part sat in",
                    3 - number
                )
            }
            Self::NotAtPort { what } => write!(
                f,
                "the part is read at port 2 and {what} was not measured; measure it there, and \
                 give a .s2p with both ports or the two files, port 1 first"
            ),
            Self::ManyPorts { ports } => write!(
                f,
                "found {ports} ports, expected one or two; export the two ports that held the \
                 part"
            ),
            Self::MixedMode => f.write_str(
                "found mixed-mode readings, expected single-ended ones; export the two ports \
                 that held the part, single-ended",
            ),
            Self::References(error) => {
                write!(f, "the ports refer to different impedances: {error}")
            }
            Self::MissesFrequency { what, freq_hz } => write!(
                f,
                "{what} was not measured at {}, where the part was, nor on both sides of it with \
                 enough points between; sweep it again with the part's frequencies, or leave the \
                 rest out with --from and --to",
                without_zeros(&engineering(*freq_hz, "Hz", 9))
            ),
            Self::TooCoarse {
                what,
                freq_hz,
                doubt,
            } => write!(
                f,
                "{what} was measured at other frequencies than the part, and between its points \
                 near {} its reading is known to {} only, where {} is the most; sweep it again \
                 with the part's frequencies, or with more points",
                engineering(*freq_hz, "Hz", 4),
                significant(*doubt, 1),
                significant(MAX_DOUBT, 1)
            ),
            Self::TooFewPorts { what } => write!(
                f,
                "{what} is a one-port sweep, expected two ports (.s2p); measure it from port 1 \
                 to port 2"
            ),
            Self::OtherReference {
                what,
                found_ohm,
                expected_ohm,
            } => write!(
                f,
                "{what} refers to {found_ohm} Ω and the part to {expected_ohm} Ω; export both \
                 with the same reference"
            ),
            Self::Blanks { fixture, found } => write!(
                f,
                "{} (part {}) has {}, found {found} of them",
                fixture_key(*fixture),
                fixture_connection(*fixture),
                blanks_of(*fixture)
            ),
            Self::Blank { freq_hz, error } => {
                write!(f, "at {}: {error}", engineering(*freq_hz, "Hz", 6))
            }
            Self::Calibration { freq_hz, error } => {
                // The error names the frequency itself where it matters.
                let said = error.to_string();
                if said.contains("Hz") {
                    f.write_str(&said)
                } else {
                    write!(f, "at {}: {said}", engineering(*freq_hz, "Hz", 6))
                }
            }
            Self::AboveBands { freq_hz } => write!(
                f,
                "the sweep goes to {}, and the instrument has no figures there; add a band \
                 without up_to for all higher frequencies, or cut the sweep",
                engineering(*freq_hz, "Hz", 5)
            ),
            Self::NoReading { freq_hz } => write!(
                f,
                "at {}: with these standards the reading would be infinite, which no part gives: \
                 one of open, short and load is not what it was named. Check which file is which, \
                 then measure them again",
                engineering(*freq_hz, "Hz", 6)
            ),
            Self::Entry(error) => error.fmt(f),
            Self::Number(error) => error.fmt(f),
        }
    }
}

fn blanks_of(fixture: Fixture) -> String {
    match Blank::of(fixture) {
        [one] => format!("one blank, {one}"),
        several => {
            let names: Vec<String> = several.iter().map(Blank::to_string).collect();
            format!("two blanks, {}", names.join(" and "))
        }
    }
}
