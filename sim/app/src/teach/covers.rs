use jigwise_bench::Fixture;
use jigwise_exercises::Cover;

/// What is covered in the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Covers {
    best_fixture: bool,
    reading: [bool; 3],
    bar: [bool; 3],
    verdict: [bool; 3],
}

impl Covers {
    /// Nothing.
    pub const NONE: Self = Self {
        best_fixture: false,
        reading: [false; 3],
        bar: [false; 3],
        verdict: [false; 3],
    };

    /// All of these.
    pub fn of(covered: &[Cover]) -> Self {
        let mut covers = Self::NONE;
        for cover in covered {
            match *cover {
                Cover::BestFixture => covers.best_fixture = true,
                Cover::Reading(fixture) => covers.reading[fixture as usize] = true,
                Cover::Bar(fixture) => covers.bar[fixture as usize] = true,
                Cover::Verdict(fixture) => covers.verdict[fixture as usize] = true,
            }
        }
        covers
    }

    /// True where anything is covered.
    pub fn any(&self) -> bool {
        *self != Self::NONE
    }

    /// True where it must not be seen which fixture knows the part.
    pub fn best_fixture(&self) -> bool {
        self.best_fixture
    }

    /// The answer line quotes the best bar, so it is covered with any of them.
    pub fn answer(&self) -> bool {
        self.best_fixture || self.bar.contains(&true)
    }

    /// The reason under the answer quotes readings and changes too.
    pub fn why(&self) -> bool {
        self.any()
    }

    /// The level and angle of a fixture.
    pub fn reading(&self, fixture: Fixture) -> bool {
        self.reading[fixture as usize]
    }

    /// The bar and the value of a fixture.
    pub fn bar(&self, fixture: Fixture) -> bool {
        self.best_fixture || self.bar[fixture as usize]
    }

    /// The verdict and the clouds of a fixture, and what change it shows.
    pub fn verdict(&self, fixture: Fixture) -> bool {
        self.verdict[fixture as usize]
    }

    /// The sums of a fixture, which hold its readings and its uncertainty.
    pub fn sums(&self, fixture: Fixture) -> bool {
        self.reading(fixture) || self.bar(fixture) || self.verdict(fixture)
    }
}
