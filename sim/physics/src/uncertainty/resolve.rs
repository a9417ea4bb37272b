//! How far a change of the device moves the reading, in σ of one reading, and the smallest
//! change that shows.
//!
//! The separation of two readings is d = √(ΔSᵀ·C̄⁻¹·ΔS) with ΔS exact and C̄ the mean of both
//! random covariances. A change shows above the noise from d = 2√2, which is twice the σ of the
//! difference of two readings.

use num_complex::Complex64;

use crate::number::within;
use crate::uncertainty::budget::Noise;
use crate::uncertainty::path::{Path, Scale, Ways};
use crate::uncertainty::view::View;
use crate::{Budget, Covariance, EntryError, Fixture, Immittance};

/// Separation from which a change is seen, in σ of one reading: 2√2.
pub const SEEN_SIGMA: f64 = 2.0 * std::f64::consts::SQRT_2;

/// Which way the device changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Direction {
    /// Z·(1 + t).
    #[default]
    Magnitude,
    /// Z + t·|Z|.
    Resistance,
    /// Z + j·t·|Z|.
    Reactance,
}

/// A small change of the device, to see who notices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nudge {
    amount: f64,
    direction: Direction,
    swapped: bool,
}

impl Nudge {
    /// A change of `amount`·|Z|. `swapped`: the part is exchanged for another, so that both
    /// readings carry the scatter of connecting it.
    ///
    /// # Errors
    /// [`EntryError`] unless 1e-9 ≤ |amount| ≤ 1e6, and above −1 along the magnitude: nothing
    /// is smaller than zero.
    pub fn new(amount: f64, direction: Direction, swapped: bool) -> Result<Self, EntryError> {
        let entry = "size of the nudge";
        within(entry, amount.abs(), 1e-9, 1e6, "of |Z|")?;
        if direction == Direction::Magnitude {
            within("nudge of |Z|", amount, -1.0 + 1e-9, 1e6, "of |Z|")?;
        }
        Ok(Self {
            amount,
            direction,
            swapped,
        })
    }

    /// t, as a part of |Z|.
    pub const fn amount(self) -> f64 {
        self.amount
    }

    /// Which way.
    pub const fn direction(self) -> Direction {
        self.direction
    }

    /// True where the part is exchanged.
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

/// What hides a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Limit {
    /// Noise of the reading; averages help.
    Noise,
    /// The step of the display; averages don't help.
    Display,
}

/// Smallest change that shows, as a signed part of |Z|. `None`: even the end of the way (an
/// open or a short circuit, a lossless part) would read the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResolvableChange {
    /// Seen above the noise from here.
    pub noise: Option<f64>,
    /// Seen on the display from here.
    pub display: Option<f64>,
}

impl ResolvableChange {
    /// Nothing shows.
    pub(crate) const NEVER: Self = Self {
        noise: None,
        display: None,
    };

    /// The larger of both.
    pub fn value(self) -> Option<f64> {
        let (noise, display) = (self.noise?, self.display?);
        Some(if noise.abs() >= display.abs() {
            noise
        } else {
            display
        })
    }

    /// Which of both is the larger. Where neither ends, the noise.
    pub fn limited_by(self) -> Limit {
        match (self.noise, self.display) {
            (Some(_), None) => Limit::Display,
            (Some(noise), Some(display)) if display.abs() > noise.abs() => Limit::Display,
            _ => Limit::Noise,
        }
    }
}

/// Both signs of change. `increase` and `decrease` are `None` only where a relative change has
/// no meaning: at an open, a short, and the pole of an active part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resolvable {
    /// Along +direction.
    pub increase: ResolvableChange,
    /// Along −direction, as a negative number.
    pub decrease: ResolvableChange,
}

/// What more averages can do for a nudge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AveragesNeeded {
    /// That many, in place of those of the instrument, show it.
    Averages(f64),
    /// No number of them: the display does not move.
    HiddenByDisplay,
    /// No number of them: connecting the part scatters more.
    HiddenByReconnecting,
}

impl Budget {
    /// Random scatter of one reading, with that of connecting where the part is swapped.
    pub(crate) fn noise_when(&self, fixture: Fixture, swapped: bool) -> Noise {
        let mut noise = self.noise(fixture);
        if swapped {
            noise.floor += self.reconnect_variance;
        }
        noise
    }

    fn ways(&self, fixture: Fixture, device: Immittance, direction: Direction) -> Option<Ways> {
        let z0 = self.z0.ohm();
        Ways::of(&View::of(fixture, device, z0)?, device, z0, direction)
    }

    /// Separation d of the readings before and after a nudge, in σ of one reading. Below 1 it
    /// can't be told, up to 2.83 it is a hint. `None` at an open, a short, the pole of an active
    /// part, and for a nudge past the end of what a passive part can do.
    pub fn separation(&self, fixture: Fixture, device: Immittance, nudge: Nudge) -> Option<f64> {
        let ways = self.ways(fixture, device, nudge.direction)?;
        let (path, tau) = ways.on_the_way(nudge)?;
        if nudge.is_large() {
            return self.separation_of_points(fixture, device, nudge);
        }
        let noise = self.noise_when(fixture, nudge.swapped);
        path.curves(noise, &self.display).separation(tau)
    }

    /// The separation from both devices themselves: what a nudge leaves of nearly all it takes
    /// away is lost to rounding along its way.
    pub(crate) fn separation_of_points(
        &self,
        fixture: Fixture,
        device: Immittance,
        nudge: Nudge,
    ) -> Option<f64> {
        let nudged = nudge.applied_to(device);
        let step = fixture
            .map(self.z0)
            .difference(nudged.ratio(), device.ratio())?;
        let scatter = |device| self.random_covariance(fixture, device, nudge.swapped);
        let sum = scatter(device)? + scatter(nudged)?;
        let mean = Covariance {
            re: 0.5 * sum.re,
            im: 0.5 * sum.im,
            cross: 0.5 * sum.cross,
        };
        mean.distance(step)
    }

    /// Smallest changes that show, both signs. `None` at an open, a short and the pole of an
    /// active part.
    pub fn resolvable(
        &self,
        fixture: Fixture,
        device: Immittance,
        direction: Direction,
        swapped: bool,
    ) -> Option<Resolvable> {
        let ways = self.ways(fixture, device, direction)?;
        Some(ways.resolvable(self.noise_when(fixture, swapped), &self.display))
    }

    /// The resistance in ohms from which a resistor can't be told from an open any more. `None`
    /// where every resistor reads as an open.
    pub fn told_from_open_ohm(&self, fixture: Fixture, swapped: bool) -> Option<f64> {
        let change = self.resolvable_beside(Immittance::OPEN, fixture, swapped)?;
        change.value().map(|siemens| 1.0 / siemens)
    }

    /// The resistance in ohms up to which a resistor can't be told from a short. `None` where
    /// every resistor reads as a short.
    pub fn told_from_short_ohm(&self, fixture: Fixture, swapped: bool) -> Option<f64> {
        self.resolvable_beside(Immittance::SHORT, fixture, swapped)?
            .value()
    }

    /// Smallest conductance or resistance that shows beside an open or a short.
    fn resolvable_beside(
        &self,
        end: Immittance,
        fixture: Fixture,
        swapped: bool,
    ) -> Option<ResolvableChange> {
        let z0 = self.z0.ohm();
        let view = View::of(fixture, end, z0)?;
        let path = Path::new(&view, end, z0, (end.i(), end.v()), Scale::Forward);
        Some(
            path.curves(self.noise_when(fixture, swapped), &self.display)
                .change(),
        )
    }

    /// Averages that would show a nudge: (2.83/d)² where the part stays in place. `None` where
    /// [`Budget::separation`] is.
    pub fn averages_needed(
        &self,
        fixture: Fixture,
        device: Immittance,
        nudge: Nudge,
    ) -> Option<AveragesNeeded> {
        let ways = self.ways(fixture, device, nudge.direction)?;
        let (path, tau) = ways.on_the_way(nudge)?;
        let noise = self.noise(fixture);
        if !path.curves(noise, &self.display).display_moves(tau) {
            return Some(AveragesNeeded::HiddenByDisplay);
        }
        let fixed = if nudge.swapped {
            self.reconnect_variance
        } else {
            0.0
        };
        let Some(left) = path.noise_left(noise, fixed, tau) else {
            return Some(AveragesNeeded::HiddenByReconnecting);
        };
        let averages = (self.averages / left).ceil().max(1.0);
        Some(AveragesNeeded::Averages(averages))
    }
}
