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
    /// [`Ink::Fixture`], in the order of [`Fixture::ALL`].
    pub fixtures: [Rgb; 3],
}

impl Palette {
    /// For a bright room.
    pub const LIGHT: Self = Self {
        text: Rgb([0x1d, 0x24, 0x29]),
        faint: Rgb([0x55, 0x5e, 0x64]),
        grid: Rgb([0xc3, 0xc9, 0xc4]),
        paper: Rgb([0xff, 0xff, 0xfc]),
        ground: Rgb([0xf6, 0xf7, 0xf3]),
        device: Rgb([0x10, 0x16, 0x1a]),
        fixtures: [
            Rgb([0x7b, 0x32, 0x94]),
            Rgb([0xa6, 0x5e, 0x00]),
            Rgb([0x00, 0x79, 0x5a]),
        ],
    };

    /// For a dim room.
    pub const DARK: Self = Self {
        text: Rgb([0xe6, 0xea, 0xe6]),
        faint: Rgb([0xa9, 0xb3, 0xb0]),
        grid: Rgb([0x44, 0x4f, 0x52]),
        paper: Rgb([0x1b, 0x22, 0x26]),
        ground: Rgb([0x23, 0x2b, 0x30]),
        device: Rgb([0xff, 0xff, 0xff]),
        fixtures: [
            Rgb([0xc0, 0x8a, 0xd6]),
            Rgb([0xe6, 0x9f, 0x00]),
            Rgb([0x2b, 0xc4, 0x9a]),
        ],
    };

    /// For a projector that washes colours out: the light palette at its strongest contrast.
    pub const HALL: Self = Self {
        text: Rgb([0x00, 0x00, 0x00]),
        faint: Rgb([0x2e, 0x34, 0x38]),
        grid: Rgb([0x8a, 0x92, 0x8e]),
        paper: Rgb([0xff, 0xff, 0xff]),
        ground: Rgb([0xff, 0xff, 0xff]),
        device: Rgb([0x00, 0x00, 0x00]),
        fixtures: Self::LIGHT.fixtures,
    };

    /// The colour of an ink.
    pub fn ink(&self, ink: Ink) -> Rgb {
        match ink {
            Ink::Text => self.text,
            Ink::Faint => self.faint,
            Ink::Grid => self.grid,
            Ink::Paper => self.paper,
            Ink::Device => self.device,
            Ink::Fixture(fixture) => self.fixture(fixture),
        }
    }

    /// The colour of a fixture.
    pub fn fixture(&self, fixture: Fixture) -> Rgb {
        self.fixtures[fixture as usize]
    }
}
