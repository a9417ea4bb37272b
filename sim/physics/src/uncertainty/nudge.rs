//! A small change of the device, and what can be said of the smallest one that shows.

use num_complex::Complex64;

use crate::number::within;
use crate::{EntryError, Immittance};

/// Least separation of two readings, in σ of one, at which a change is seen: 2√2, which is twice
/// the σ of their difference.
pub const SEEN_SIGMA: f64 = 2.0 * std::f64::consts::SQRT_2;

/// Along what the impedance changes: its magnitude, its resistance or its reactance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Direction {
    /// |Z|, at constant phase: Z·(1 + t).
    #[default]
    Magnitude,
    /// R: Z + t·|Z|.
    Resistance,
    /// X: Z + j·t·|Z|.
    Reactance,
}

/// A small change of the device, to see which fixture shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nudge {
    amount: f64,
    direction: Direction,
    swapped: bool,
}

impl Nudge {
    /// The smallest change, up or down, relative to |Z|.
    pub const MIN_SIZE: f64 = 1e-9;
    /// The largest change, up or down, relative to |Z|.
    pub const MAX_SIZE: f64 = 1e6;

    /// A change of `amount`·|Z|. `swapped`: the part is exchanged for another, so that both
    /// readings carry the scatter of connecting it.
    ///
    /// # Errors
    /// [`EntryError`] unless |amount| lies from [`Nudge::MIN_SIZE`] to [`Nudge::MAX_SIZE`], and
    /// above −1 along the magnitude: nothing is smaller than zero.
    pub fn new(amount: f64, direction: Direction, swapped: bool) -> Result<Self, EntryError> {
        let entry = "size of the nudge";
        within(
            entry,
            amount.abs(),
            Self::MIN_SIZE,
            Self::MAX_SIZE,
            "of |Z|",
        )?;
        if direction == Direction::Magnitude {
            let least = -1.0 + Self::MIN_SIZE;
            within("nudge of |Z|", amount, least, Self::MAX_SIZE, "of |Z|")?;
        }
        Ok(Self {
            amount,
            direction,
            swapped,
        })
    }

    /// t, the change relative to |Z|.
    pub const fn amount(self) -> f64 {
        self.amount
    }

    /// Along what the impedance changes.
    pub const fn direction(self) -> Direction {
        self.direction
    }

    /// True where the part is exchanged for another, false where it stays connected.
    pub const fn is_swapped(self) -> bool {
        self.swapped
    }

    /// True where the nudge takes away or adds a good part of |Z|.
    pub(crate) fn is_large(self) -> bool {
        const GOOD_PART: f64 = 0.5;
        self.amount.abs() > GOOD_PART
    }

    /// The device after the nudge. An open and a short have no |Z| to be a part of and stay.
    pub fn applied_to(self, device: Immittance) -> Immittance {
        let (v, i) = (device.v(), device.i());
        let v = match self.direction {
            Direction::Magnitude => v * (1.0 + self.amount),
            Direction::Resistance => v + step_of(device) * self.amount,
            Direction::Reactance => v + step_of(device) * Complex64::I * self.amount,
        };
        Immittance::from_pair(v, i).unwrap_or(device)
    }
}

impl Default for Nudge {
    /// +10 % along |Z|, the part left in place.
    fn default() -> Self {
        Self {
            amount: 0.1,
            direction: Direction::Magnitude,
            swapped: false,
        }
    }
}

/// |Z|·i for a device of current i: the voltage of a resistor of |Z|. Zero for an open.
pub(crate) fn step_of(device: Immittance) -> Complex64 {
    let size = device.i().norm();
    if size == 0.0 {
        return Complex64::ZERO;
    }
    device.i() * (device.v().norm() / size)
}

/// What limits the smallest change that shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Limit {
    /// Noise of the reading; averages help.
    Noise,
    /// The step of the display; averages don't help.
    Display,
}

/// Smallest change that shows, relative to |Z| and signed. `None`: even the largest change that
/// is possible (to an open or short circuit, to a lossless part) would read the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResolvableChange {
    /// The noise-limited change: the separation reaches [`SEEN_SIGMA`].
    pub noise: Option<f64>,
    /// The display-limited change: the display shows another number.
    pub display: Option<f64>,
}

impl ResolvableChange {
    /// Nothing shows.
    pub(crate) const NEVER: Self = Self {
        noise: None,
        display: None,
    };

    /// The larger of the noise-limited and the display-limited change.
    pub fn value(self) -> Option<f64> {
        let (noise, display) = (self.noise?, self.display?);
        Some(if noise.abs() >= display.abs() {
            noise
        } else {
            display
        })
    }

    /// Which of the two limits is the larger change; the noise where neither is reached.
    pub fn limited_by(self) -> Limit {
        match (self.noise, self.display) {
            (Some(_), None) => Limit::Display,
            (Some(noise), Some(display)) if display.abs() > noise.abs() => Limit::Display,
            _ => Limit::Noise,
        }
    }
}

/// The smallest increase and the smallest decrease that show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resolvable {
    /// The smallest increase along the direction, a positive number.
    pub increase: ResolvableChange,
    /// The smallest decrease along the direction, a negative number.
    pub decrease: ResolvableChange,
}

/// How many averages would show a nudge, or why no number of them does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AveragesNeeded {
    /// This many averages show it, in place of those the instrument takes now.
    Averages(f64),
    /// No number of averages shows it: the display does not change.
    HiddenByDisplay,
    /// No number of averages shows it: the scatter of connecting the part is larger.
    HiddenByReconnecting,
}
