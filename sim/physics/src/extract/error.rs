use std::fmt;

use jigwise_quantity::engineering;

use super::{Model, Quantity};
use crate::NumberError;
use crate::uncertainty::p_words;

/// The sign of a reactance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reactive {
    /// X > 0: a coil.
    Inductive,
    /// X < 0: a capacitor.
    Capacitive,
}

impl Reactive {
    pub(crate) fn of(x: f64) -> Self {
        if x > 0.0 {
            Self::Inductive
        } else {
            Self::Capacitive
        }
    }

    fn noun(self) -> &'static str {
        match self {
            Self::Inductive => "coil",
            Self::Capacitive => "capacitor",
        }
    }
}

/// Why a sweep gives no value.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ExtractError {
    /// A number is not finite, or out of its range.
    Number(NumberError),
    /// Lists of different lengths.
    Lengths {
        /// What the list holds.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The number of frequencies.
        expected: usize,
    },
    /// A frequency that is not above the one before it.
    NotRising {
        /// Counted from one.
        point: usize,
        /// The frequency there.
        freq_hz: f64,
        /// The one before.
        before_hz: f64,
    },
    /// Fewer points than the model needs.
    TooFewPoints {
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// The point lies above a self-resonance.
    ChangedKind {
        /// What the part is below.
        was: Reactive,
        /// What it is at the point.
        is: Reactive,
        /// Where it changes, Hz.
        resonance_hz: f64,
        /// The point, Hz.
        at_hz: f64,
    },
    /// The sweep belongs to another kind of part.
    WrongKind {
        /// What was asked for.
        model: Model,
        /// How the part behaves.
        found: Reactive,
        /// At this frequency, Hz.
        at_hz: f64,
    },
    /// The phase can't tell the loss of the part.
    QBeyondPhase {
        /// Q as read.
        q: f64,
        /// 1/(2·phase uncertainty).
        limit: f64,
    },
    /// A parasitic that a resonance hangs on is not clear enough of zero: without it the
    /// Bayesian information criterion is not worse by [`super::BIC_MARGIN`].
    ResonanceNotTold {
        /// The parasitic.
        quantity: Quantity,
    },
    /// X of the circuit crosses zero at no frequency.
    NeverZero,
    /// A value can't be told from zero.
    NotSeen {
        /// The value that is within its own uncertainty of zero.
        quantity: Quantity,
        /// It is below this with 95 % probability.
        below: f64,
    },
    /// The sweep doesn't tell a value without which the part can't be described.
    NotTold {
        /// The value that stays unknown.
        quantity: Quantity,
        /// Its standard uncertainty over its value.
        relative_u: f64,
        /// Ends of the sweep, Hz.
        span_hz: (f64, f64),
    },
    /// A resistance clearly below zero.
    NegativeResistance {
        /// The resistance that came out below zero.
        quantity: Quantity,
        /// The value found, Ω.
        value_ohm: f64,
        /// Its standard uncertainty, Ω.
        u_ohm: f64,
    },
    /// No resonance between the ends of the sweep.
    NoResonance {
        /// Ends of the sweep, Hz.
        span_hz: (f64, f64),
        /// How the part behaves all over it; `None` where the reactance is nowhere seen.
        kind: Option<Reactive>,
    },
    /// The resonance is too narrow for the distance of the points.
    FewInWidth {
        /// Points inside the width.
        found: usize,
        /// Points needed.
        needed: usize,
        /// Width, or what it is below, Hz.
        width_hz: f64,
        /// Distance of points there, Hz.
        step_hz: f64,
    },
    /// The phase turns by more than half a circle from point to point.
    TooCoarse {
        /// Largest distance of points, Hz.
        step_hz: f64,
    },
    /// The search for the values did not converge.
    NoFit {
        /// The model.
        model: Model,
    },
    /// The readings break a law of one passive part, so the ohms are not those of one.
    OhmsDoNotStand,
    /// p < [`crate::REFUSED_P`]: the part is not what the model says, or the uncertainties are too
    /// small.
    Misfit {
        /// The model.
        model: Model,
        /// χ².
        chi_square: f64,
        /// 2N − p.
        degrees_of_freedom: u32,
        /// Its p-value.
        p: f64,
        /// Where the model misses most, Hz.
        worst_hz: f64,
        /// By how many standard deviations.
        worst_in_sigma: f64,
    },
}

impl fmt::Display for ExtractError {
    #[expect(
        clippy::too_many_lines,
        reason = "one sentence for each error, read as a table"
    )]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hz = |hz| shown(hz, "Hz");
        match *self {
            Self::Number(error) => error.fmt(f),
            Self::Lengths {
                what,
                found,
                expected,
            } => write!(
                f,
                "{found} {what} for {expected} frequencies: give one for each"
            ),
            Self::NotRising {
                point,
                freq_hz,
                before_hz,
            } => write!(
                f,
                "point {point} is at {} after {}: give the points in rising order",
                hz(freq_hz),
                hz(before_hz)
            ),
            Self::TooFewPoints { found, needed } => write!(
                f,
                "{found} point{} in the sweep, {needed} needed: sweep with more points",
                if found == 1 { "" } else { "s" }
            ),
            Self::ChangedKind {
                was,
                is,
                resonance_hz,
                at_hz,
            } => write!(
                f,
                "at {} this {} is a {}: it changed kind at its self-resonance, {}. Read it below \
                 a third of that, or fit a model to the whole sweep",
                hz(at_hz),
                was.noun(),
                is.noun(),
                hz(resonance_hz)
            ),
            Self::WrongKind {
                model,
                found,
                at_hz,
            } => write!(
                f,
                "asked for {}, but at {} the part is a {}: ask for that, or sweep where the part \
                 still is what you ask for",
                model.words(),
                hz(at_hz),
                found.noun()
            ),
            Self::QBeyondPhase { q, limit } => {
                if q.is_finite() && q > 0.0 {
                    write!(f, "Q reads {}, ", ratio(q))?;
                } else {
                    f.write_str("Q has no upper bound here, ")?;
                }
                if limit.is_finite() {
                    write!(f, "but the phase can't tell more than {}: ", ratio(limit))?;
                } else {
                    f.write_str("as no loss is seen: ")?;
                }
                f.write_str(
                    "use the resonance width, with a known lossless part that brings it to \
                     resonance",
                )
            }
            Self::ResonanceNotTold { quantity } => write!(
                f,
                "{} is not clear enough of zero to tell a resonance: sweep to where X crosses \
                 zero",
                quantity.symbol()
            ),
            Self::NeverZero => f.write_str(
                "X of this circuit crosses zero at no frequency, its loss is too large: read it \
                 below the frequency of 1/(2π√(LC))",
            ),
            Self::NotSeen { quantity, below } if below > 0.0 => write!(
                f,
                "{} can't be told from zero, it is below {}: sweep to where it matters, or lower \
                 the uncertainty",
                quantity.symbol(),
                shown(below, quantity.unit())
            ),
            Self::NotSeen { quantity, .. } => write!(
                f,
                "{} reads zero: sweep to where it matters",
                quantity.symbol()
            ),
            Self::NotTold {
                quantity,
                relative_u,
                span_hz: (from, to),
            } => write!(
                f,
                "the sweep from {} to {} tells {} only to {:.0} %: sweep wider, to where the \
                 part turns from one behaviour to the next",
                hz(from),
                hz(to),
                quantity.symbol(),
                100.0 * relative_u
            ),
            Self::NegativeResistance {
                quantity,
                value_ohm,
                u_ohm,
            } => write!(
                f,
                "{} comes out at {} with u {}, clearly below zero, which no passive part has: \
                 look at the calibration, the reference plane and the uncertainty given",
                quantity.symbol(),
                shown(value_ohm, "Ω"),
                shown(u_ohm, "Ω")
            ),
            Self::NoResonance {
                span_hz: (from, to),
                kind,
            } => {
                let all_over = kind.map_or("without a visible reactance", |kind| match kind {
                    Reactive::Inductive => "inductive",
                    Reactive::Capacitive => "capacitive",
                });
                write!(
                    f,
                    "no resonance from {} to {}: the part is {all_over} there. Sweep across the \
                     resonance",
                    hz(from),
                    hz(to)
                )
            }
            Self::FewInWidth {
                found,
                needed,
                width_hz,
                step_hz,
            } => write!(
                f,
                "{found} point{} in the resonance width of about {}, {needed} needed: the points \
                 are {} apart, sweep closer around the resonance",
                if found == 1 { "" } else { "s" },
                hz(width_hz),
                hz(step_hz)
            ),
            Self::TooCoarse { step_hz } => write!(
                f,
                "points up to {} apart are too far for this line, whose phase turns by more than \
                 half a circle between them: sweep with more points or a narrower span",
                hz(step_hz)
            ),
            Self::OhmsDoNotStand => f.write_str(
                "the ohms don't stand, so no value is taken from them: set right what breaks the \
                 law of the fixture first",
            ),
            Self::NoFit { model } => write!(
                f,
                "the search for the values of {} did not come to rest: check that the sweep is \
                 of such a part and covers what the model describes",
                model.words()
            ),
            Self::Misfit {
                model,
                chi_square,
                degrees_of_freedom,
                p,
                worst_hz,
                worst_in_sigma,
            } => write!(
                f,
                "{} does not follow the readings within their uncertainty (χ² {chi_square:.1} \
                 with {degrees_of_freedom} degrees of freedom, p {}; worst at {}, \
                 {worst_in_sigma:.1}σ; a residual of the calibration is one constant over the \
                 sweep): choose another model, a narrower sweep, or check the uncertainty given",
                model.words(),
                p_words(p),
                hz(worst_hz)
            ),
        }
    }
}

impl std::error::Error for ExtractError {}

impl From<NumberError> for ExtractError {
    fn from(error: NumberError) -> Self {
        Self::Number(error)
    }
}

/// A ratio with four digits, as a power of ten where it is large.
fn ratio(value: f64) -> String {
    if value >= 1e5 {
        return format!("{value:.1e}");
    }
    let decimals = match value {
        value if value >= 99.995 => 1,
        value if value >= 9.9995 => 2,
        _ => 3,
    };
    format!("{value:.decimals$}")
}

/// A quantity with four digits and an SI prefix, with a plain space as in all errors here.
fn shown(value: f64, unit: &str) -> String {
    engineering(value, unit, 4).replace('\u{202f}', " ")
}
