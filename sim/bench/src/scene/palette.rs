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
        faint: Rgb([0x48, 0x4f, 0x58]),
        grid: Rgb([0x80, 0x83, 0x83]),
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
        pattern_percent: 85,
    };

    /// For a dim room.
    pub const DARK: Self = Self {
        text: Rgb([0xe6, 0xea, 0xe6]),
        faint: Rgb([0xb4, 0xbd, 0xba]),
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
        tint_percent: 12,
        pattern_percent: 85,
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
        const OF_THE_FIRST: f64 = 0.3;
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance by WCAG 2.2.
    fn luminance(Rgb(rgb): Rgb) -> f64 {
        let linear = rgb.map(|part| {
            let share = f64::from(part) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    }

    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// WCAG 2.2: 4.5 for text (success criterion 1.4.3), 3 for what carries meaning (1.4.11).
    #[test]
    fn what_is_written_and_drawn_stands_out() {
        for (name, palette) in [
            ("light", Palette::LIGHT),
            ("dark", Palette::DARK),
            ("hall", Palette::HALL),
        ] {
            let ink = |ink| palette.ink(ink);
            let tints = Fixture::ALL.map(|fixture| ink(Ink::Tint(fixture, 0)));
            let mut grounds = vec![palette.ground, palette.paper];
            grounds.extend(tints);
            for ground in &grounds {
                for (what, color, least) in [
                    ("text", palette.text, 4.5),
                    ("faint", palette.faint, 4.5),
                    ("device", palette.device, 4.5),
                    ("grid", palette.grid, 3.0),
                ] {
                    let seen = contrast(color, *ground);
                    assert!(
                        seen >= least,
                        "{name}: {what} on {}: {seen:.2}",
                        ground.hex()
                    );
                }
            }
            for fixture in Fixture::ALL {
                let tint = ink(Ink::Tint(fixture, 0));
                for (what, color, ground, least) in [
                    ("name", palette.fixture(fixture), palette.ground, 4.5),
                    ("sign", palette.fixture(fixture), tint, 3.0),
                    ("pattern", ink(Ink::Pattern(fixture)), tint, 3.0),
                ] {
                    let seen = contrast(color, ground);
                    assert!(seen >= least, "{name}: {fixture:?} {what}: {seen:.2}");
                }
                for level in 0..=6 {
                    let ground = ink(Ink::Tint(fixture, level));
                    let text = contrast(palette.text, ground);
                    assert!(text >= 4.5, "{name}: text on band {level}: {text:.2}");
                    let labels = contrast(palette.faint, ground);
                    assert!(labels >= 4.5, "{name}: labels on band {level}: {labels:.2}");
                }
            }
        }
    }
}
