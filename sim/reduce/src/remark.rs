//! What is said beside the ohms of a reduced sweep.

use std::fmt;

use jigwise_bench::left_by;
use jigwise_bench::words::{fixture_key, reading_name};
use jigwise_physics::{Bands, Fixture, Method};
use jigwise_quantity::{engineering, fixed, significant};

use crate::Beside;
use crate::laws::{IDENTITY, LawTally, NEGATIVE_RESISTANCE, passivity_words};

/// Raw match above which one front end may be covered much less than 95 %. Up to it one in a
/// hundred is covered by 0.92 or less; see `tests/oracle/make_raw_match.py`.
const MIN_TOLD_RAW_MATCH: f64 = 0.1;
/// What no reflection can tell of its own calibration.
pub(crate) const OPEN_SHORT: &str = "reflect can't show whether open and short were exchanged in \
     the calibration: the correction then gives Z0²/Z for Z, and every law still holds. Check \
     with a known resistor far from Z0, for example 5 Ω or 500 Ω at 50 Ω";

/// Something about a reduced sweep that its owner should know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remark {
    /// More power out than in, which no passive part gives.
    BeyondOne {
        /// The fixture.
        fixture: Fixture,
        /// How many points.
        count: usize,
        /// Of how many.
        of: usize,
        /// The largest |S11| in reflect, and |S11|² + |S21|² in the through fixtures.
        largest: f64,
    },
    /// Points with a negative resistance.
    NegativeResistance {
        /// How many points.
        count: usize,
        /// Of how many.
        of: usize,
    },
    /// One direction was measured, so the calibration of both directions asked for was made of one.
    OneWay {
        /// The calibration asked for.
        asked: Method,
    },
    /// The calibration asked for leaves errors in this fixture's reading.
    LeftRaw {
        /// The calibration.
        method: Method,
    },
    /// With these standards a port would reflect more than it gets, which no port does.
    ActivePort {
        /// The port, 1 or 2.
        port: u8,
        /// The size of the source match found.
        source_match: f64,
        /// Where, Hz.
        freq_hz: f64,
    },
    /// The readings were corrected elsewhere, so the front end is not known, and its raw match is
    /// not small.
    UnknownFrontEnd {
        /// The rms raw match that the instrument's budget gives it.
        raw_match: f64,
    },
    /// A two-port file named as reflect whose readings keep the identity of a through fixture.
    LikeThrough {
        /// That fixture.
        through: Fixture,
    },
    /// A sweep beside the part's has other frequencies, and its readings were found between them.
    FoundBetween {
        /// Which.
        what: Beside,
        /// The largest standard uncertainty of such a reading.
        doubt: f64,
    },
    /// Reflect corrected by standards: an open and a short that were exchanged don't show.
    OpenShort,
    /// S11 and S21 do not belong to one lumped part at the reference plane.
    Inconsistent {
        /// The largest |S21 ∓ S11 − 1|.
        largest: f64,
        /// Where, Hz.
        freq_hz: f64,
    },
}

impl Remark {
    /// What is said of through readings corrected elsewhere, where it matters.
    pub(crate) fn unknown_front_end(budgets: &Bands, freq_hz: &[f64]) -> Option<Self> {
        let raw_match = freq_hz
            .iter()
            .filter_map(|freq_hz| Some(budgets.at(*freq_hz)?.raw_match()))
            .fold(0.0, f64::max);
        (raw_match > MIN_TOLD_RAW_MATCH).then_some(Self::UnknownFrontEnd { raw_match })
    }
}

impl LawTally {
    /// What is said of the readings beside their ohms.
    pub(crate) fn remarks(&self, fixture: Fixture) -> Vec<Remark> {
        let of = self.points;
        let mut remarks = Vec::new();
        if self.beyond > 0 {
            remarks.push(Remark::BeyondOne {
                fixture,
                count: self.beyond,
                of,
                largest: match fixture {
                    Fixture::Reflect => self.largest_reading,
                    _ => self.power.value,
                },
            });
        }
        if self.resistance.negative > 0 {
            remarks.push(Remark::NegativeResistance {
                count: self.resistance.negative,
                of,
            });
        }
        if self.identity.value > IDENTITY.broken {
            remarks.push(Remark::Inconsistent {
                largest: self.identity.value,
                freq_hz: self.identity.freq_hz,
            });
        }
        remarks
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::BeyondOne {
                fixture,
                count,
                of,
                largest,
            } => {
                // In reflect the law is that of the one magnitude.
                let what = match fixture {
                    Fixture::Reflect => format!("|{}|", reading_name(fixture)),
                    _ => passivity_words(fixture).to_owned(),
                };
                write!(
                    f,
                    "{what} is above one at {count} of {of} points (largest {}): no passive part \
                     does that, so what is above one is calibration error or noise",
                    if largest < 1e3 {
                        format!("{largest:.5}")
                    } else {
                        format!("{largest:.1e}; such a file is damaged or not of S-parameters")
                    }
                )
            }
            Self::NegativeResistance { count, of } => write!(
                f,
                "the resistance is below zero at {count} of {of} points: {NEGATIVE_RESISTANCE}"
            ),
            Self::OneWay { asked } => write!(
                f,
                "the readings are of one direction (S12 and S22 are zero or missing), so the \
                 calibration \"{asked}\" became \"{}\": exact for a part that looks the same \
                 from both sides, as one part in a fixture does",
                Method::OneDirection
            ),
            Self::LeftRaw { method } => write!(
                f,
                "the calibration \"{method}\" leaves errors that no uncertainty here holds. {} \
                 Take \"{}\", or \"{}\" where one direction was measured",
                left_by(method),
                Method::BothDirections,
                Method::OneDirection
            ),
            Self::ActivePort {
                port,
                source_match,
                freq_hz,
            } => write!(
                f,
                "with these standards port {port} would reflect {source_match:.1} times what it \
                 gets (at {}), and no port reflects more than all of it: one of open, short and \
                 load is not what it was named. Check which file is which, then measure them again",
                engineering(freq_hz, "Hz", 4)
            ),
            Self::UnknownFrontEnd { raw_match } => write!(
                f,
                "these readings were corrected elsewhere, so the raw match of the analyzer is not \
                 known and counts as {} rms of any phase: that is right over many analyzers, but \
                 for a single one the 95\u{202f}% intervals may hold the part as seldom as 4 times \
                 in 5",
                fixed(raw_match, 2)
            ),
            Self::LikeThrough { through } => write!(
                f,
                "this file looks like one of {0}: S11 and S21 keep the identity of that fixture, \
                 and in reflect nothing of size passes to the other port. Name --fixture {0} if \
                 the part sat there",
                fixture_key(through)
            ),
            Self::FoundBetween { what, doubt } => write!(
                f,
                "{what} was measured at other frequencies than the part: its readings were found \
                 between its points, with a standard uncertainty of up to {}, which counts in u \
                 where the instrument is known",
                significant(doubt, 1)
            ),
            Self::OpenShort => f.write_str(OPEN_SHORT),
            Self::Inconsistent { largest, freq_hz } => write!(
                f,
                "S21 and S11 miss the identity of this fixture by up to {largest:.3} (at {}): \
                 the part is not one lumped part at the reference plane, the wrong fixture was \
                 named, open and short were exchanged, or S11 was not corrected",
                engineering(freq_hz, "Hz", 4)
            ),
        }
    }
}
