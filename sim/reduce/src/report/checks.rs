//! The checks of a reduced sweep, each in plain words.

use jigwise_physics::Fixture;

use super::Gathered;
use crate::laws::{Largest, LawTally, NEGATIVE_RESISTANCE, passivity_words};
use crate::{COVERAGE_FACTOR, IDENTITY, Limits, PASSIVITY, RECIPROCITY};
use jigwise_bench::words::{fixture_key, fixture_title};
use jigwise_quantity::{engineering, fixed};

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The law holds within its limit.
    Yes,
    /// The law is broken by a little: noise or a calibration may do that.
    Nearly,
    /// The law is broken by more than a good measurement breaks it.
    No,
    /// The readings can't tell.
    Unknown,
}

impl Outcome {
    /// The outcome as a page shows it: a word, and a sign for those who don't see the colour.
    pub fn face(self) -> (&'static str, char) {
        match self {
            Self::Yes => ("holds", '✓'),
            Self::Nearly => ("look at it", '!'),
            Self::No => ("broken", '✗'),
            Self::Unknown => ("can't be checked", '–'),
        }
    }

    /// By the size of a miss.
    fn by(miss: f64, limits: Limits) -> Self {
        if miss <= limits.holds {
            Self::Yes
        } else if miss <= limits.broken {
            Self::Nearly
        } else {
            Self::No
        }
    }
}

/// One check.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What was checked: the part, or the readings of a fixture by its title.
    pub of: &'static str,
    /// The law that the readings should obey, in words.
    pub what: String,
    /// How it came out.
    pub outcome: Outcome,
    /// The figure found, with its frequency where it has one.
    pub found: String,
    /// What that means.
    pub means: &'static str,
    /// What to do next.
    pub next: &'static str,
}

impl Gathered {
    /// All checks.
    pub fn checks(&self) -> Vec<Check> {
        let mut checks = Vec::new();
        let seen = || {
            Fixture::ALL
                .into_iter()
                .zip(&self.laws)
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
        let outcome = match (self.resistance.negative, self.resistance.clearly_negative) {
            _ if self.resistance.lowest.is_none() => Outcome::Unknown,
            (0, _) => Outcome::Yes,
            (_, 0) => Outcome::Nearly,
            _ => Outcome::No,
        };
        Check {
            of: "The part",
            what: if known {
                "Re Z ≥ 0 within ± (95\u{202f}%)"
            } else {
                "Re Z ≥ 0"
            }
            .to_owned(),
            outcome,
            found: self.resistance_found(),
            means: match (outcome, known) {
                (Outcome::Yes | Outcome::Unknown, _) => {
                    "No point claims more power out than went in."
                }
                (Outcome::Nearly, _) => {
                    "The resistance there is smaller than its uncertainty: it is not known, and \
                     the part is not active."
                }
                (Outcome::No, true) => {
                    "A passive part can't do this: an error larger than the budget says, or an \
                     active part."
                }
                (Outcome::No, false) => NEGATIVE_RESISTANCE,
            },
            next: match (outcome, known) {
                (Outcome::Yes | Outcome::Unknown, _) => "Nothing.",
                (Outcome::Nearly, _) => {
                    "Take no loss and no Q from these points; measure the loss in the fixture \
                     that sees it, or from a resonance's width."
                }
                (Outcome::No, true) => {
                    "Look at calibration and reference plane, then at the budget; use no \
                     resistance from these points."
                }
                (Outcome::No, false) => {
                    "Name the --instrument to see whether that is within its uncertainty; use no \
                     resistance from these points."
                }
            },
        }
    }

    fn resistance_found(&self) -> String {
        let tally = &self.resistance;
        let Some((lowest, hz)) = tally.lowest else {
            return "no point has a resistance".to_owned();
        };
        let at = engineering(hz, "Hz", 4);
        let below = format!("below zero at {} of {} points", tally.negative, self.points);
        match (tally.negative > 0, self.is_known()) {
            (true, true) => format!(
                "{below}, by more than ± = {}·u(R) at {}; lowest {}·u(R) at {at}",
                fixed(COVERAGE_FACTOR, 0),
                tally.clearly_negative,
                fixed(lowest, 1),
            ),
            (true, false) => format!("{below}, down to {} at {at}", engineering(lowest, "Ω", 3)),
            (false, true) => format!(
                "never below zero; nearest to it {}·u(R) at {at}",
                fixed(lowest.max(0.0), 1)
            ),
            (false, false) => format!(
                "never below zero; lowest {} at {at}",
                engineering(lowest.max(0.0), "Ω", 3)
            ),
        }
    }
}

fn largest(of: &Largest, digits: usize) -> String {
    format!(
        "largest {} at {}, mean {}",
        fixed(of.value, digits),
        engineering(of.freq_hz, "Hz", 4),
        fixed(of.mean(), digits)
    )
}

fn identity(fixture: Fixture, tally: &LawTally) -> Check {
    let what = match fixture {
        Fixture::Reflect => {
            return Check {
                of: fixture_title(fixture),
                what: "a second reading".to_owned(),
                outcome: Outcome::Unknown,
                found: "reflect gives one reading".to_owned(),
                means: "Nothing in a single reflection tells whether the right fixture was named, \
                        the plane is where the part sits, or open and short were exchanged in \
                        the calibration: the ohms would then be Z0²/Z.",
                next: "Measure a known resistor far from Z0 the same way, for example 5 Ω or \
                       500 Ω at 50 Ω; or compare one frequency with a through fixture.",
            };
        }
        Fixture::ShuntThrough => "S21 − S11 = 1",
        Fixture::SeriesThrough => "S21 + S11 = 1",
    };
    let of = &tally.identity;
    let outcome = if of.count == 0 {
        Outcome::Unknown
    } else {
        Outcome::by(of.value, IDENTITY)
    };
    Check {
        of: fixture_title(fixture),
        what: what.to_owned(),
        outcome,
        found: if of.count == 0 {
            "only one of the two was measured".to_owned()
        } else {
            largest(of, 4)
        },
        means: match outcome {
            Outcome::Yes => "Both readings tell of the same lumped part at the reference plane.",
            Outcome::Nearly => {
                "A little line or a gap lies between plane and part, or S11 is less well \
                 corrected than S21."
            }
            Outcome::No => {
                "This is not one lumped part at the plane: a wrong fixture was named, open and \
                 short were exchanged, a length of line is left, or S11 was not corrected."
            }
            Outcome::Unknown => "The check needs S11 and S21.",
        },
        next: match outcome {
            Outcome::Yes => "Nothing.",
            Outcome::Nearly => {
                "Take the high end with care; move the plane with --extend, or measure a --blank."
            }
            Outcome::No => {
                "Check the fixture named and the calibration before using these ohms; then move \
                 the plane with --extend."
            }
            Outcome::Unknown => "Export both parameters.",
        },
    }
}

fn passivity(fixture: Fixture, tally: &LawTally, known: bool) -> Check {
    let of = &tally.power;
    let mut outcome = Outcome::by(of.value - 1.0, PASSIVITY);
    // What the instrument's uncertainty covers is not broken.
    if outcome == Outcome::No && known && tally.clearly_beyond == 0 {
        outcome = Outcome::Nearly;
    }
    Check {
        of: fixture_title(fixture),
        what: format!("{} ≤ 1", passivity_words(fixture)),
        outcome,
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
        means: match outcome {
            Outcome::Yes => "No more power comes out than went in.",
            Outcome::Nearly => {
                "More power out than in, by no more than calibration error and noise explain: \
                 parts near an open, a short or without loss show it."
            }
            _ => {
                "Clearly more power out than in: an active part, or readings that were not \
                 corrected."
            }
        },
        next: match outcome {
            Outcome::Yes => "Nothing.",
            Outcome::Nearly => "Take no loss from these points.",
            _ => "Calibrate again, or correct the readings here with --open, --short, --load.",
        },
    }
}

fn reciprocity(fixture: Fixture, tally: &LawTally) -> Check {
    let of = &tally.reciprocity;
    let what = "S12 = S21".to_owned();
    if of.count == 0 {
        return Check {
            of: fixture_title(fixture),
            what,
            outcome: Outcome::Unknown,
            found: format!("one direction of {} was measured", fixture_key(fixture)),
            means: "What passes from port 2 to port 1 is taken for the same, as it is in any \
                    part without bias or magnet.",
            next: "Turn the fixture round and sweep again, if you doubt it.",
        };
    }
    let outcome = Outcome::by(of.value, RECIPROCITY);
    Check {
        of: fixture_title(fixture),
        what,
        outcome,
        found: format!("|S21 − S12|: {}", largest(of, 4)),
        means: match outcome {
            Outcome::Yes => "Both directions tell of the same part.",
            Outcome::Nearly => {
                "The directions differ more than a plain part does: drift, a cable moved, or the \
                 through taken in one direction."
            }
            _ => "The part is not reciprocal, or one direction was not corrected.",
        },
        next: match outcome {
            Outcome::Yes => "Nothing.",
            Outcome::Nearly => "Fix the cables, calibrate again, and compare.",
            _ => "Calibrate both directions again before using these ohms.",
        },
    }
}
