//! Blanks: the fixture measured without the part, so that it can be taken off.

use jigwise_physics::{
    BlankError, Complex64, Deembedded, Fixture, Immittance, Mobius, OpenShort, without_empty_gap,
    without_shorted_branch,
};

use crate::Device;

/// One blank of a fixture.
///
/// | fixture | its blanks, in order |
/// | --- | --- |
/// | reflect | the empty fixture, the shorted fixture |
/// | shunt-through | the shorted branch |
/// | series-through | the empty gap |
///
/// ```
/// use jigwise_bench::{Blank, Fixture};
///
/// let [gap] = Blank::of(Fixture::SeriesThrough) else { panic!() };
/// assert_eq!(gap.to_string(), "the empty gap");
/// assert_eq!(gap.file_word(), "empty");
/// assert!(gap.stands_for().is_open());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Blank {
    /// Reflect, nothing connected.
    EmptyFixture,
    /// Reflect, a short in the part's place.
    ShortedFixture,
    /// Shunt-through, a short in the part's place.
    ShortedBranch,
    /// Series-through, nothing connected.
    EmptyGap,
}

impl Blank {
    /// Most blanks that a fixture has.
    pub const MAX_PER_FIXTURE: usize = 2;

    /// The blanks of a fixture, in the order in which they are given and taken off.
    pub const fn of(fixture: Fixture) -> &'static [Self] {
        match fixture {
            Fixture::Reflect => &[Self::EmptyFixture, Self::ShortedFixture],
            Fixture::ShuntThrough => &[Self::ShortedBranch],
            Fixture::SeriesThrough => &[Self::EmptyGap],
        }
    }

    const fn is_shorted(self) -> bool {
        matches!(self, Self::ShortedFixture | Self::ShortedBranch)
    }

    /// The device that stands in the part's place: an open or a short.
    pub const fn stands_for(self) -> Immittance {
        if self.is_shorted() {
            Immittance::SHORT
        } else {
            Immittance::OPEN
        }
    }

    /// [`Self::stands_for`] as the device of a scenario.
    pub const fn device(self) -> Device {
        if self.is_shorted() {
            Device::Short
        } else {
            Device::Open
        }
    }

    /// The word for it in the name of a file.
    pub const fn file_word(self) -> &'static str {
        if self.is_shorted() {
            "shorted"
        } else {
            "empty"
        }
    }

    /// Ports that its sweep must have: those of the fixture.
    pub const fn ports(self) -> usize {
        match self {
            Self::EmptyFixture | Self::ShortedFixture => 1,
            Self::ShortedBranch | Self::EmptyGap => 2,
        }
    }

    /// The map from the impedance `measured` in the fixture to that of the part, as
    /// [`Self::take_off`] applies it.
    ///
    /// # Errors
    /// [`BlankError`] for two blanks of the reflect fixture that can't be told apart.
    pub fn removal(fixture: Fixture, blanks: &[Immittance]) -> Result<Mobius, BlankError> {
        let zero = Complex64::ZERO;
        Ok(match (fixture, blanks) {
            (Fixture::Reflect, [empty, shorted]) => OpenShort::new(*empty, *shorted)?.map(),
            (Fixture::ShuntThrough, [shorted]) => {
                Mobius::new([[shorted.i(), -shorted.v()], [zero, shorted.i()]])
            }
            (Fixture::SeriesThrough, [empty]) => {
                Mobius::new([[empty.v(), zero], [-empty.i(), empty.v()]])
            }
            _ => Mobius::new([[Complex64::ONE, zero], [zero, Complex64::ONE]]),
        })
    }

    /// Takes the fixture off: the part from the device `measured` in it and from what its blanks
    /// read. Nothing is taken off where the blanks are not those of [`Self::of`].
    ///
    /// # Errors
    /// [`BlankError`] where the blanks can't be told from the part, or from each other.
    pub fn take_off(
        fixture: Fixture,
        measured: Immittance,
        blanks: &[Immittance],
    ) -> Result<Deembedded, BlankError> {
        match (fixture, blanks) {
            (Fixture::Reflect, [empty, shorted]) => {
                Ok(OpenShort::new(*empty, *shorted)?.part(measured))
            }
            (Fixture::ShuntThrough, [shorted]) => without_shorted_branch(measured, *shorted),
            (Fixture::SeriesThrough, [empty]) => without_empty_gap(measured, *empty),
            _ => Ok(Deembedded {
                part: measured,
                removed: 0.0,
            }),
        }
    }

    /// What the fixture with these blanks holds where the part is `part`: the inverse of
    /// [`Self::take_off`].
    ///
    /// # Errors
    /// [`BlankError`] where the blanks can't be told from each other.
    pub fn put_back(
        fixture: Fixture,
        part: Immittance,
        blanks: &[Immittance],
    ) -> Result<Immittance, BlankError> {
        Ok(match (fixture, blanks) {
            (Fixture::Reflect, [empty, shorted]) => {
                OpenShort::new(*empty, *shorted)?.measured(part)
            }
            (Fixture::ShuntThrough, [shorted]) => part.in_series_with(*shorted),
            (Fixture::SeriesThrough, [empty]) => part.in_parallel_with(*empty),
            _ => part,
        })
    }
}

impl std::fmt::Display for Blank {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::EmptyFixture => "the empty fixture",
            Self::ShortedFixture => "the shorted fixture",
            Self::ShortedBranch => "the shorted branch",
            Self::EmptyGap => "the empty gap",
        })
    }
}
