//! The checks of a reduced sweep, each in plain words.

use jigwise_physics::Fixture;

use super::gather::{FixtureTally, Largest};
use super::{Gathered, K};
use crate::{CONSISTENCY_LIMIT, ROUNDING};
use jigwise_bench::words::{fixture_key, fixture_title};
use jigwise_quantity::{engineering, fixed};

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// As it should be.
    Yes,
    /// Worth a look.
    Nearly,
    /// Broken.
    No,
    /// The readings can't tell.
    Unknown,
}

impl Holds {
    /// A word and a sign for it.
    pub fn face(self) -> (&'static str, char) {
        match self {
            Self::Yes => ("holds", '✓'),
            Self::Nearly => ("look at it", '!'),
            Self::No => ("broken", '✗'),
            Self::Unknown => ("can't be checked", '–'),
        }
    }

    /// By a size and two limits.
    fn by(size: f64, nearly: f64, no: f64) -> Self {
        if size <= nearly {
            Self::Yes
        } else if size <= no {
            Self::Nearly
        } else {
            Self::No
        }
    }
}

/// One check.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Of which readings.
    pub of: &'static str,
    /// What should hold.
    pub what: &'static str,
    /// How it came out.
    pub holds: Holds,
    /// What was found.
    pub found: String,
    /// What that means.
    pub means: &'static str,
    /// What to do next.
    pub next: &'static str,
}

/// A miss of the identity up to this is within what good readings show. Common practice, no
/// source.
const IDENTITY_HOLDS: f64 = 0.01;
const RECIPROCITY: (f64, f64) = (0.01, 0.05);
/// Power out of a passive part beyond one, up to which calibration and noise are to blame.
const POWER: (f64, f64) = (ROUNDING, 0.01);

impl Gathered {
    /// All checks.
    pub fn checks(&self) -> Vec<Check> {
        let mut checks = Vec::new();
        let seen = || {
            Fixture::ALL
                .into_iter()
                .zip(&self.tallies)
                .filter(|(_, tally)| tally.points > 0)
        };
        let known = self.is_known();
        for (fixture, tally) in seen() {
            checks.push(identity(fixture, tally));
        }
        for (fixture, tally) in seen() {
            checks.push(passivity(fixture, tally, known));
        }
        for (fixture, tally) in seen().filter(|(fixture, _)| *fixture != Fixture::Reflect) {
            checks.push(reciprocity(fixture, tally));
        }
        checks.push(self.resistance());
        checks
    }

    fn resistance(&self) -> Check {
        let known = self.is_known();
        let holds = match (self.negative, self.clearly_negative) {
            (0, _) => Holds::Yes,
            (_, 0) => Holds::Nearly,
            _ => Holds::No,
        };
        let at = |hz: f64| engineering(hz, "Hz", 4);
        let found = match (self.lowest, known) {
            (None, _) => "no point has a resistance".to_owned(),
            (Some((lowest, hz)), true) if self.negative > 0 => format!(
                "below zero at {} of {} points, by more than {} u at {}; lowest {} u at {}",
                self.negative,
                self.points,
                fixed(K, 0),
                self.clearly_negative,
                fixed(lowest, 1),
                at(hz)
            ),
            (Some((lowest, hz)), false) if self.negative > 0 => format!(
                "below zero at {} of {} points, down to {} at {}",
                self.negative,
                self.points,
                engineering(lowest, "Ω", 3),
                at(hz)
            ),
            (Some((lowest, hz)), true) => {
                format!(
                    "never below zero; nearest to it {} u at {}",
                    fixed(lowest.max(0.0), 1),
                    at(hz)
                )
            }
            (Some((lowest, hz)), false) => format!(
                "never below zero; lowest {} at {}",
                engineering(lowest.max(0.0), "Ω", 3),
                at(hz)
            ),
        };
        Check {
            of: "The part",
            what: if known {
                "Re Z ≥ 0 within u"
            } else {
                "Re Z ≥ 0"
            },
            holds: if self.lowest.is_none() {
                Holds::Unknown
            } else {
                holds
            },
            found,
            means: match (holds, known) {
                (Holds::Yes, _) => "No point claims more power out than went in.",
                (Holds::Nearly, _) => {
                    "The resistance there is smaller than its uncertainty: it is not known, and \
                     the part is not active."
                }
                (_, true) => {
                    "A passive part can't do this: an error larger than the budget says, or an \
                     active part."
                }
                (_, false) => {
                    "Unless the part is active, an error is larger than the resistance there: \
                     that of the reading, or of a standard, a blank or a fixture that is not what \
                     it was named."
                }
            },
            next: match (holds, known) {
                (Holds::Yes, _) => "Nothing.",
                (Holds::Nearly, _) => {
                    "Take no loss and no Q from these points; measure the loss in the fixture \
                     that sees it, or from a resonance's width."
                }
                (_, true) => {
                    "Look at calibration and reference plane, then at the budget; use no \
                     resistance from these points."
                }
                (_, false) => {
                    "Name the --instrument to see whether that is within its uncertainty; use no \
                     resistance from these points."
                }
            },
        }
    }
}

fn largest(of: &Largest, digits: usize) -> String {
    format!(
        "largest {} at {}, mean {}",
        fixed(of.value, digits),
        engineering(of.freq_hz, "Hz", 4),
        fixed(of.sum / of.count.max(1) as f64, digits)
    )
}

fn identity(fixture: Fixture, tally: &FixtureTally) -> Check {
    let what = match fixture {
        Fixture::Reflect => {
            return Check {
                of: fixture_title(fixture),
                what: "a second reading",
                holds: Holds::Unknown,
                found: "reflect gives one reading".to_owned(),
                means: "Nothing in a single reflection tells whether the right fixture was named \
                        or the plane is where the part sits.",
                next: "Compare one frequency with a through fixture, or measure a known \
                       resistor the same way.",
            };
        }
        Fixture::ShuntThrough => "S21 − S11 = 1",
        Fixture::SeriesThrough => "S21 + S11 = 1",
    };
    let of = &tally.identity;
    let holds = if of.count == 0 {
        Holds::Unknown
    } else {
        Holds::by(of.value, IDENTITY_HOLDS, CONSISTENCY_LIMIT)
    };
    Check {
        of: fixture_title(fixture),
        what,
        holds,
        found: if of.count == 0 {
            "only one of the two was measured".to_owned()
        } else {
            largest(of, 4)
        },
        means: match holds {
            Holds::Yes => "Both readings tell of the same lumped part at the reference plane.",
            Holds::Nearly => {
                "A little line or a gap lies between plane and part, or S11 is less well \
                 corrected than S21."
            }
            Holds::No => {
                "This is not one lumped part at the plane: a wrong fixture was named, a length \
                 of line is left, or S11 was not corrected."
            }
            Holds::Unknown => "The check needs S11 and S21.",
        },
        next: match holds {
            Holds::Yes => "Nothing.",
            Holds::Nearly => {
                "Take the high end with care; move the plane with --extend, or measure a --blank."
            }
            Holds::No => {
                "Check the fixture named and the calibration before using these ohms; then move \
                 the plane with --extend."
            }
            Holds::Unknown => "Export both parameters.",
        },
    }
}

fn passivity(fixture: Fixture, tally: &FixtureTally, known: bool) -> Check {
    let of = &tally.power;
    let mut holds = Holds::by(of.value - 1.0, POWER.0, POWER.1);
    // What the instrument's uncertainty covers is not broken.
    if holds == Holds::No && known && tally.clearly_beyond == 0 {
        holds = Holds::Nearly;
    }
    let what = if fixture == Fixture::Reflect {
        "|S11|² ≤ 1"
    } else {
        "|S11|² + |S21|² ≤ 1"
    };
    Check {
        of: fixture_title(fixture),
        what,
        holds,
        found: if tally.beyond == 0 {
            format!(
                "largest {} at {}",
                fixed(of.value, 5),
                engineering(of.freq_hz, "Hz", 4)
            )
        } else {
            format!(
                "above one at {} of {} points, largest {} at {}",
                tally.beyond,
                tally.points,
                fixed(of.value, 5),
                engineering(of.freq_hz, "Hz", 4)
            )
        },
        means: match holds {
            Holds::Yes => "No more power comes out than went in.",
            Holds::Nearly => {
                "More power out than in, by no more than calibration error and noise explain: \
                 parts near an open, a short or without loss show it."
            }
            _ => {
                "Clearly more power out than in: an active part, or readings that were not \
                 corrected."
            }
        },
        next: match holds {
            Holds::Yes => "Nothing.",
            Holds::Nearly => "Take no loss from these points.",
            _ => "Calibrate again, or correct the readings here with --open, --short, --load.",
        },
    }
}

fn reciprocity(fixture: Fixture, tally: &FixtureTally) -> Check {
    let of = &tally.reciprocity;
    let what = "S12 = S21";
    if of.count == 0 {
        return Check {
            of: fixture_title(fixture),
            what,
            holds: Holds::Unknown,
            found: format!("one direction of {} was measured", fixture_key(fixture)),
            means: "What passes from port 2 to port 1 is taken for the same, as it is in any \
                    part without bias or magnet.",
            next: "Turn the fixture round and sweep again, if you doubt it.",
        };
    }
    let holds = Holds::by(of.value, RECIPROCITY.0, RECIPROCITY.1);
    Check {
        of: fixture_title(fixture),
        what,
        holds,
        found: format!("|S21 − S12|: {}", largest(of, 4)),
        means: match holds {
            Holds::Yes => "Both directions tell of the same part.",
            Holds::Nearly => {
                "The directions differ more than a plain part does: drift, a cable moved, or the \
                 through taken in one direction."
            }
            _ => "The part is not reciprocal, or one direction was not corrected.",
        },
        next: match holds {
            Holds::Yes => "Nothing.",
            Holds::Nearly => "Fix the cables, calibrate again, and compare.",
            _ => "Calibrate both directions again before using these ohms.",
        },
    }
}
