//! The colours of the themes.

use jigwise_physics::Fixture;

use super::Ink;

/// A colour in sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rgb(pub [u8; 3]);

impl Rgb {
    /// As in a stylesheet, #rrggbb.
    pub fn hex(self) -> String {
        let [r, g, b] = self.0;
        format!("#{r:02x}{g:02x}{b:02x}")
    }
}

/// The colours of one theme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// [`Ink::Text`].
    pub text: Rgb,
    /// [`Ink::Faint`].
    pub faint: Rgb,
    /// [`Ink::Grid`].
    pub grid: Rgb,
    /// [`Ink::Paper`].
    pub paper: Rgb,
    /// The ground around charts and columns.
    pub ground: Rgb,
    /// [`Ink::Device`].
    pub device: Rgb,
    /// [`Ink::Hair`].
    pub hair: Rgb,
    /// [`Ink::Fixture`], in the order of [`Fixture::ALL`].
    pub fixtures: [Rgb; 3],
    /// How much of the fixture's colour is in [`Ink::Tint`] at its first level, percent. Zero
    /// where areas are told by pattern alone.
    pub tint_percent: u8,
    /// How much of the fixture's colour is in [`Ink::Pattern`], percent.
    pub pattern_percent: u8,
}

impl Palette {
    /// For a bright room.
    pub const LIGHT: Self = Self {
        text: Rgb([0x1f, 0x24, 0x2c]),
        faint: Rgb([0x56, 0x5c, 0x66]),
        grid: Rgb([0x86, 0x89, 0x89]),
        hair: Rgb([0xd6, 0xd5, 0xcd]),
        paper: Rgb([0xfe, 0xfd, 0xf9]),
        ground: Rgb([0xf6, 0xf4, 0xee]),
        device: Rgb([0x10, 0x16, 0x1a]),
        fixtures: [
            Rgb([0x7b, 0x32, 0x94]),
            Rgb([0xa6, 0x5e, 0x00]),
            Rgb([0x00, 0x79, 0x5a]),
        ],
        tint_percent: 11,
        pattern_percent: 45,
    };

    /// For a dim room.
    pub const DARK: Self = Self {
        text: Rgb([0xe6, 0xea, 0xe6]),
        faint: Rgb([0xa9, 0xb3, 0xb0]),
        grid: Rgb([0x7e, 0x87, 0x88]),
        hair: Rgb([0x3d, 0x45, 0x49]),
        paper: Rgb([0x17, 0x1c, 0x20]),
        ground: Rgb([0x1e, 0x25, 0x2a]),
        device: Rgb([0xff, 0xff, 0xff]),
        fixtures: [
            Rgb([0xc0, 0x8a, 0xd6]),
            Rgb([0xe6, 0x9f, 0x00]),
            Rgb([0x2b, 0xc4, 0x9a]),
        ],
        tint_percent: 14,
        pattern_percent: 45,
    };

    /// For a projector that washes colours out: the light palette at its strongest contrast.
    pub const HALL: Self = Self {
        text: Rgb([0x00, 0x00, 0x00]),
        faint: Rgb([0x2e, 0x34, 0x38]),
        grid: Rgb([0x80, 0x86, 0x83]),
        hair: Rgb([0x00, 0x00, 0x00]),
        paper: Rgb([0xff, 0xff, 0xff]),
        ground: Rgb([0xff, 0xff, 0xff]),
        device: Rgb([0x00, 0x00, 0x00]),
        fixtures: [
            Rgb([0x6a, 0x1b, 0x86]),
            Rgb([0x8a, 0x4b, 0x00]),
            Rgb([0x00, 0x63, 0x49]),
        ],
        tint_percent: 0,
        pattern_percent: 100,
    };

    /// The colour of an ink.
    pub fn ink(&self, ink: Ink) -> Rgb {
        match ink {
            Ink::Text => self.text,
            Ink::Faint => self.faint,
            Ink::Grid => self.grid,
            Ink::Paper => self.paper,
            Ink::Device => self.device,
            Ink::Hair => self.hair,
            Ink::Ground => self.ground,
            Ink::Fixture(fixture) => self.fixture(fixture),
            Ink::Tint(fixture, level) => self.on_paper(fixture, self.tint_share(level)),
            Ink::Pattern(fixture) => {
                self.on_paper(fixture, f64::from(self.pattern_percent) / 100.0)
            }
        }
    }

    /// How much of the fixture's colour is in a tint, from 0 to 1.
    pub(super) fn tint_share(&self, level: u8) -> f64 {
        const OF_THE_FIRST: f64 = 0.45;
        let first = f64::from(self.tint_percent) / 100.0;
        first * (1.0 + OF_THE_FIRST * f64::from(level))
    }

    fn on_paper(&self, fixture: Fixture, share: f64) -> Rgb {
        let (Rgb(paper), Rgb(color)) = (self.paper, self.fixture(fixture));
        Rgb(std::array::from_fn(|k| {
            let [from, to] = [paper[k], color[k]].map(f64::from);
            (from + (to - from) * share).round() as u8
        }))
    }

    /// True where areas have no tint, so that each needs a pattern of its own.
    pub fn has_no_tints(&self) -> bool {
        self.tint_percent == 0
    }

    /// The colour of a fixture.
    pub fn fixture(&self, fixture: Fixture) -> Rgb {
        self.fixtures[fixture as usize]
    }
}
