//! A reading rounded as a display rounds it.

use std::fmt;

use jigwise_physics::Complex64;
use jigwise_quantity::{angle, fixed};

use crate::readout::FixtureReadout;

/// Between a number and its unit: narrow, and never a line break.
pub(super) const UNIT_GAP: char = '\u{202f}';

/// A reading as the analyzer's display shows it: level and angle, rounded.
///
/// Tasks and worked examples compute from this and not from the exact reading, so that a pocket
/// calculator gives the same digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// 20·log10|S|, to a thousandth of a decibel.
    pub level_db: f64,
    /// The angle, to a hundredth of a degree.
    pub angle_deg: f64,
}

impl Shown {
    /// Decimals of the level.
    pub const LEVEL_DECIMALS: usize = 3;
    /// Decimals of the angle.
    pub const ANGLE_DECIMALS: usize = 2;

    /// What the display shows of a fixture; `None` for a zero reading or none at all.
    pub fn of(entry: &FixtureReadout) -> Option<Self> {
        Some(Self {
            level_db: rounded(entry.decibels()?, Self::LEVEL_DECIMALS),
            angle_deg: rounded(entry.degrees()?, Self::ANGLE_DECIMALS),
        })
    }

    /// The reading as one complex number.
    pub fn reading(self) -> Complex64 {
        Complex64::from_polar(self.magnitude(), self.angle_deg.to_radians())
    }

    /// |S| = 10^(level/20).
    pub fn magnitude(self) -> f64 {
        10f64.powf(self.level_db / 20.0)
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}{UNIT_GAP}dB at {}",
            fixed(self.level_db, Self::LEVEL_DECIMALS),
            angle(self.angle_deg, Self::ANGLE_DECIMALS)
        )
    }
}

fn rounded(value: f64, decimals: usize) -> f64 {
    format!("{value:.decimals$}").parse().unwrap_or(value)
}
