//! What a task asks for.

use jigwise_bench::Unit;

/// What a task asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Asks {
    /// The level of the reading, dB, from the device.
    Level,
    /// R + jX of the part in ohms, from the reading. Known strays and a known wrong load are
    /// taken out, here and in the next three.
    Impedance,
    /// R in ohms, from the reading.
    Resistance,
    /// The capacitance in farads, from the reading.
    Capacitance,
    /// The inductance in henries, from the reading; the capacitance across a coil is taken out.
    Inductance,
    /// The fixture in which the level moves most when the device grows by a tenth.
    Fixture,
    /// The formula from the reading to the impedance.
    Formula,
    /// The only fixture that shows the nudge.
    FixtureThatSees,
    /// What sets the smallest change that shows, noise or display.
    Limit,
    /// How many averages show the nudge, a whole number.
    Averages,
    /// The smallest change that shows, percent of |Z|, in the nudge's direction.
    Change,
    /// The length of the arm, from the reading of an open at its end.
    Length,
    /// The self-resonance of a part in hertz, from its value and its parasitic.
    SelfResonance,
    /// The Q of a crystal by itself, from its width in the series-through fixture.
    Quality,
    /// |Γ| of the device.
    Distance,
    /// The angle of Γ of the device, degrees.
    Angle,
    /// The standing wave ratio of the device.
    Swr,
    /// The impedance at the opposite point of the chart, −Γ.
    Opposite,
    /// The ohms that the fixture's formula makes of the reading, with all that is around the part.
    Apparent,
    /// The resistance at which reflect sees a relative change as well as the task's fixture.
    Crossover,
    /// The distance of the readings before and after the nudge, σ.
    Separation,
    /// The change that moves the level by one step of the display, percent of |Z|.
    DisplayChange,
    /// By how many percent the impedance is off where the reading is off by 0.01.
    Sensitivity,
    /// Half the width of the 95 % interval of R, Ω.
    Expanded,
    /// The radius of the 95 % region around Z, Ω.
    Radius,
    /// The standard uncertainty from three causes together, percent of |Z|.
    Combined,
    /// By how many percent all ohms are off where a load was taken for the reference.
    LoadShare,
    /// The angle of an open behind the arm, degrees.
    PlaneAngle,
    /// The frequency at which the capacitance of the gap is as large as the part, Hz.
    Corner,
    /// The level of the empty series-through fixture, dB.
    BlankLevel,
    /// One of the options.
    Choice,
    /// All options in order.
    Ranking,
    /// R in ohms with its ±, from a noisy reading.
    ResistanceClaim,
    /// The capacitance with its ±, from noisy readings.
    CapacitanceClaim,
    /// The inductance with its ±, from noisy readings.
    InductanceClaim,
    /// The resistance of the load that a calibration was made with, with its ±, from what it makes
    /// of a part whose value is known.
    LoadClaim,
    /// The resistance at which reflect and the task's fixture scatter alike, with its ±.
    CrossoverClaim,
}

impl Asks {
    pub(crate) const ALL: [(&'static str, Self); 37] = [
        ("level", Self::Level),
        ("impedance", Self::Impedance),
        ("resistance", Self::Resistance),
        ("capacitance", Self::Capacitance),
        ("inductance", Self::Inductance),
        ("fixture", Self::Fixture),
        ("formula", Self::Formula),
        ("fixture-that-sees", Self::FixtureThatSees),
        ("limit", Self::Limit),
        ("averages", Self::Averages),
        ("change", Self::Change),
        ("length", Self::Length),
        ("self-resonance", Self::SelfResonance),
        ("quality", Self::Quality),
        ("distance", Self::Distance),
        ("angle", Self::Angle),
        ("swr", Self::Swr),
        ("opposite", Self::Opposite),
        ("apparent", Self::Apparent),
        ("crossover", Self::Crossover),
        ("separation", Self::Separation),
        ("display-change", Self::DisplayChange),
        ("sensitivity", Self::Sensitivity),
        ("expanded", Self::Expanded),
        ("radius", Self::Radius),
        ("combined", Self::Combined),
        ("load-share", Self::LoadShare),
        ("plane-angle", Self::PlaneAngle),
        ("corner", Self::Corner),
        ("blank-level", Self::BlankLevel),
        ("choice", Self::Choice),
        ("ranking", Self::Ranking),
        ("resistance-claim", Self::ResistanceClaim),
        ("capacitance-claim", Self::CapacitanceClaim),
        ("inductance-claim", Self::InductanceClaim),
        ("load-claim", Self::LoadClaim),
        ("crossover-claim", Self::CrossoverClaim),
    ];

    /// The unit of the answer; `None` where it is no number.
    pub fn unit(self) -> Option<Unit> {
        match self {
            Self::Level | Self::BlankLevel => Some(Unit::Decibel),
            Self::Impedance
            | Self::Resistance
            | Self::Opposite
            | Self::Apparent
            | Self::Crossover
            | Self::Expanded
            | Self::Radius
            | Self::ResistanceClaim
            | Self::LoadClaim
            | Self::CrossoverClaim => Some(Unit::Ohm),
            Self::Capacitance | Self::CapacitanceClaim => Some(Unit::Farad),
            Self::Inductance | Self::InductanceClaim => Some(Unit::Henry),
            Self::Averages | Self::Quality | Self::Distance | Self::Swr | Self::Separation => {
                Some(Unit::One)
            }
            Self::Change
            | Self::DisplayChange
            | Self::Sensitivity
            | Self::Combined
            | Self::LoadShare => Some(Unit::Percent),
            Self::Length => Some(Unit::Metre),
            Self::SelfResonance | Self::Corner => Some(Unit::Hertz),
            Self::Angle | Self::PlaneAngle => Some(Unit::Degree),
            Self::Fixture
            | Self::FixtureThatSees
            | Self::Limit
            | Self::Formula
            | Self::Choice
            | Self::Ranking => None,
        }
    }

    /// True for an answer R + jX.
    pub fn is_complex(self) -> bool {
        matches!(self, Self::Impedance | Self::Opposite | Self::Apparent)
    }

    /// True for a value with its ±.
    pub fn is_claim(self) -> bool {
        matches!(
            self,
            Self::ResistanceClaim
                | Self::CapacitanceClaim
                | Self::InductanceClaim
                | Self::LoadClaim
                | Self::CrossoverClaim
        )
    }

    /// True where one or all of some options are asked for.
    pub fn has_options(self) -> bool {
        matches!(self, Self::Choice | Self::Ranking)
    }

    /// True where the answer is right or not, and nothing in between.
    pub(crate) fn is_whole(self) -> bool {
        self == Self::Averages
    }

    /// An example of an answer in the right form.
    pub fn example(self) -> &'static str {
        match self {
            Self::Level | Self::BlankLevel => "-20.8 dB",
            Self::Impedance | Self::Opposite | Self::Apparent => "330 - j120",
            Self::Resistance | Self::Crossover | Self::Expanded | Self::Radius => "120 ohm",
            Self::Capacitance => "330 pF",
            Self::Inductance => "2.2 uH",
            Self::Fixture | Self::FixtureThatSees => "reflect",
            Self::Formula => "Z0*S",
            Self::Limit => "noise",
            Self::Averages => "64",
            Self::Change | Self::DisplayChange | Self::Sensitivity | Self::Combined => "30 %",
            Self::LoadShare => "+3.0 %",
            Self::Length => "12.5 mm",
            Self::SelfResonance | Self::Corner => "7.10 MHz",
            Self::Quality => "120",
            Self::Distance => "0.75",
            Self::Swr => "7.0",
            Self::Separation => "12",
            Self::Angle | Self::PlaneAngle => "-12.5 deg",
            Self::Choice => "a",
            Self::Ranking => "c, a, b",
            Self::ResistanceClaim | Self::LoadClaim | Self::CrossoverClaim => "120 ohm ± 4 %",
            Self::CapacitanceClaim => "330 pF ± 5 pF",
            Self::InductanceClaim => "2.2 uH ± 0.1 uH",
        }
    }
}
