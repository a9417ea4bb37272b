//! The usual slips, each known by what it would give.

use std::fmt;

use jigwise_bench::words::{fixture_key, sigma};
use jigwise_bench::{Fixture, SEEN_SIGMA};

/// A mistake that many people make.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Slip {
    /// 10·log10 of a ratio of voltages, or 10^(dB/10) on the way back.
    TenLog,
    /// The minus of a level left out.
    LevelSign,
    /// An angle in degrees put into a function that takes radians.
    DegreesForRadians,
    /// The reactance with the other sign.
    ReactanceSign,
    /// R and X exchanged.
    SwappedParts,
    /// Ohms and normalised impedance (Z/Z0) mistaken for each other.
    Normalised,
    /// The formula of another fixture.
    OtherFixture(Fixture),
    /// 2π f taken as f.
    WithoutTwoPi,
    /// A thousand times too large.
    PrefixTooLarge,
    /// A thousand times too small.
    PrefixTooSmall,
    /// A separation of one σ taken as enough; a change is seen from 2√2 σ.
    OneSigma,
    /// The root of the count of averages forgotten.
    WithoutSquare,
    /// The separation scaled in proportion to the change.
    Proportion,
    /// Strays or a wrong load left in the value.
    LeftIn,
    /// Strays or a wrong load put in once more instead of taken out.
    WrongWay,
    /// The two ways of a reflection, there and back, counted as one.
    OneWay,
    /// A wave in a line taken for one in air.
    InAir,
    /// The loaded Q, of part and ports together, taken for the Q of the part.
    Loaded,
    /// One port's resistance counted in a loop that holds both ports.
    OnePort,
    /// The square of a reflection, a share of power, taken for the reflection.
    PowerForWave,
    /// An angle in radians given as degrees.
    InRadians,
    /// The angle of the impedance taken for that of the reflection.
    AngleOfImpedance,
    /// |Z|/Z0 taken for the standing wave ratio of a part with reactance.
    SizeRatio,
    /// The part itself given where the reading of its surroundings is asked for.
    PartItself,
    /// The distance of a reading from zero taken for the distance of two readings.
    FromZero,
    /// A standard uncertainty given where the 95 % interval is asked for.
    StandardGiven,
    /// The factor of an interval taken for that of a region in two dimensions.
    OneDimension,
    /// Uncertainties added as they are, and not their squares.
    PlainSum,
    /// An angle that should be negative.
    AngleSign,
}

impl Slip {
    /// All slips, in the order in which an answer is held against them. Where two give the
    /// same number, the commoner one comes first and is named.
    pub const ALL: [Self; 31] = [
        Self::TenLog,
        Self::LevelSign,
        Self::ReactanceSign,
        Self::SwappedParts,
        Self::OtherFixture(Fixture::Reflect),
        Self::OtherFixture(Fixture::ShuntThrough),
        Self::OtherFixture(Fixture::SeriesThrough),
        Self::Normalised,
        Self::DegreesForRadians,
        Self::WithoutTwoPi,
        Self::PrefixTooLarge,
        Self::PrefixTooSmall,
        Self::OneSigma,
        Self::WithoutSquare,
        Self::Proportion,
        Self::LeftIn,
        Self::WrongWay,
        Self::OneWay,
        Self::InAir,
        Self::Loaded,
        Self::OnePort,
        Self::PowerForWave,
        Self::InRadians,
        Self::AngleOfImpedance,
        Self::SizeRatio,
        Self::PartItself,
        Self::FromZero,
        Self::StandardGiven,
        Self::OneDimension,
        Self::PlainSum,
        Self::AngleSign,
    ];
}

/// What the mistake was, and what to do instead.
impl fmt::Display for Slip {
    #[expect(
        clippy::too_many_lines,
        reason = "a table of sentences, one for each slip"
    )]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TenLog => f.write_str(
                "this comes from 10 log where 20 log belongs: S is a ratio of voltages, so dB \
                 and ratio are tied by 20·log10",
            ),
            Self::LevelSign => f.write_str(
                "the number is right and its sign is not: a reading below one is a negative \
                 level",
            ),
            Self::DegreesForRadians => f.write_str(
                "this comes from an angle in degrees where the calculator took radians: set it \
                 to degrees, or multiply by π/180",
            ),
            Self::ReactanceSign => f.write_str(
                "the size is right and the sign of the reactance is not: + is a coil, − a \
                 capacitor",
            ),
            Self::SwappedParts => {
                f.write_str("R and X have changed places: R is the real part, X the one with j")
            }
            Self::Normalised => f.write_str(
                "this is off by the reference: somewhere Z in ohms and Z/Z0 were taken for each \
                 other",
            ),
            Self::OtherFixture(fixture) => write!(
                f,
                "this is what the {} formula gives, and the part sits in another fixture",
                fixture_key(*fixture)
            ),
            Self::WithoutTwoPi => f.write_str(
                "this comes from f where 2π f belongs: reactance goes with the angular frequency",
            ),
            Self::PrefixTooLarge => f.write_str(
                "the digits are right and the prefix is not: this is a thousand times too large",
            ),
            Self::PrefixTooSmall => f.write_str(
                "the digits are right and the prefix is not: this is a thousand times too small",
            ),
            Self::OneSigma => write!(
                f,
                "this brings the clouds one σ apart, which is a hint: a change is seen from {} σ",
                sigma(SEEN_SIGMA)
            ),
            Self::WithoutSquare => f.write_str(
                "this comes from the ratio of the distances without its square: the scatter \
                 falls with the root of the averages",
            ),
            Self::Proportion => f.write_str(
                "this comes from scaling the distance in proportion to the change, which holds \
                 for small changes: go by the reading itself, and from there back to ohms",
            ),
            Self::LeftIn => f.write_str(
                "this is what the reading says of the part and all that is around it: take out \
                 what is known not to be the part",
            ),
            Self::WrongWay => f.write_str(
                "this goes the wrong way: what is around the part was put in once more, and it \
                 has to come out",
            ),
            Self::OneWay => f.write_str(
                "this comes from a wave that goes one way: a reflection runs to the end and back, \
                 so it turns by twice the length",
            ),
            Self::InAir => f.write_str(
                "this comes from a wave in air: in a line it is slower by the velocity factor, \
                 and its wavelength is shorter",
            ),
            Self::Loaded => f.write_str(
                "this is the Q of the whole loop: the ports' resistance widens the resonance and \
                 is no part of the crystal",
            ),
            Self::OnePort => f.write_str(
                "this counts one port: in series-through both are in the loop, twice the \
                 reference",
            ),
            Self::PowerForWave => f.write_str(
                "this is a share of power, the square of the reflection: S and Γ are ratios of \
                 waves, and power goes with their square",
            ),
            Self::InRadians => {
                f.write_str("this is the angle in radians: multiply by 180/π for degrees")
            }
            Self::AngleOfImpedance => f.write_str(
                "this is the angle of the impedance: the reflection has another one, that of \
                 (Z − Z0)/(Z + Z0)",
            ),
            Self::SizeRatio => f.write_str(
                "this is |Z|/Z0, or one over it, which is the standing wave ratio of a resistor \
                 only: take it from the size of the reflection",
            ),
            Self::PartItself => f.write_str(
                "this is the part itself: what is asked for is what the reading makes of it, with \
                 all that is around it",
            ),
            Self::FromZero => f.write_str(
                "this is how far one reading is from zero: a change is seen by the distance of \
                 two readings",
            ),
            Self::StandardGiven => f.write_str(
                "this is the standard uncertainty, which holds the value in two of three cases: \
                 95 % needs about twice as much",
            ),
            Self::OneDimension => f.write_str(
                "this takes the factor 1.96 of an interval on a line: a circle that holds 95 % \
                 needs 2.45",
            ),
            Self::PlainSum => f.write_str(
                "this adds the uncertainties as they are: causes that know nothing of each other \
                 add by their squares",
            ),
            Self::AngleSign => f.write_str(
                "the size is right and the sign is not: a longer way turns the reading clockwise, \
                 to negative angles",
            ),
        }
    }
}
