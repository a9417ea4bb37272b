//! What of a bench can be covered, so that somebody says first what it will be.

use std::fmt;

use jigwise_bench::Fixture;
use jigwise_bench::words::{fixture_key, fixture_title};

/// Something that the bench shows and that can be covered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cover {
    /// Which fixture knows the part: the answer line and the weight of its column.
    BestFixture,
    /// The level and angle that a fixture reads.
    Reading(Fixture),
    /// Where |Z| comes out in a fixture: its bar and its value.
    Bar(Fixture),
    /// Whether a fixture sees the nudge: its verdict and its clouds.
    Verdict(Fixture),
}

const WHOLE: &str = "best fixture";
const OF_FIXTURES: [fn(Fixture) -> Cover; 3] = [Cover::Reading, Cover::Bar, Cover::Verdict];

impl Cover {
    /// All that can be covered.
    pub fn all() -> impl Iterator<Item = Self> {
        let of_fixtures = OF_FIXTURES
            .into_iter()
            .flat_map(|cover| Fixture::ALL.map(cover));
        [Self::BestFixture].into_iter().chain(of_fixtures)
    }

    /// Its fixture, where it is of one.
    pub fn fixture(self) -> Option<Fixture> {
        match self {
            Self::BestFixture => None,
            Self::Reading(fixture) | Self::Bar(fixture) | Self::Verdict(fixture) => Some(fixture),
        }
    }

    /// Its name in files: `best fixture`, `reading reflect`, `bar shunt-through`.
    ///
    /// ```
    /// use jigwise_exercises::Cover;
    ///
    /// assert!(Cover::all().all(|cover| Cover::keyed(&cover.key()) == Some(cover)));
    /// assert_eq!(Cover::all().count(), 10);
    /// ```
    pub fn key(self) -> String {
        match self {
            Self::BestFixture => WHOLE.to_owned(),
            Self::Reading(fixture) => format!("reading {}", fixture_key(fixture)),
            Self::Bar(fixture) => format!("bar {}", fixture_key(fixture)),
            Self::Verdict(fixture) => format!("verdict {}", fixture_key(fixture)),
        }
    }

    /// What has this name in files.
    pub fn keyed(key: &str) -> Option<Self> {
        Self::all().find(|cover| cover.key() == key)
    }
}

/// What it is, as it stands in a sentence.
impl fmt::Display for Cover {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BestFixture => f.write_str("the fixture that knows the part"),
            Self::Reading(fixture) => write!(f, "the level in {}", title(*fixture)),
            Self::Bar(fixture) => write!(f, "the bar of {}", title(*fixture)),
            Self::Verdict(fixture) => write!(f, "whether {} sees the nudge", title(*fixture)),
        }
    }
}

fn title(fixture: Fixture) -> String {
    fixture_title(fixture).to_lowercase()
}
