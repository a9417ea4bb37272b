//! How far a change of the device moves the reading, in σ of one reading, and the smallest
//! change that shows.
//!
//! The separation of two readings is d = √(ΔSᵀ·C̄⁻¹·ΔS) with ΔS exact and C̄ the mean of both
//! random covariances. A change shows above the noise from d = 2√2, which is twice the σ of the
//! difference of two readings.

use crate::uncertainty::path::{Path, Scale, Ways};
use crate::{
    AveragesNeeded, Budget, Direction, Fixture, Immittance, Nudge, Resolvable, ResolvableChange,
};

impl Budget {
    fn ways(&self, fixture: Fixture, device: Immittance, direction: Direction) -> Option<Ways> {
        let z0 = self.z0.ohm();
        Ways::of(&self.view(fixture, device)?, device, z0, direction)
    }

    /// Separation d of the readings before and after a nudge, in σ of one reading. Below 1 it
    /// can't be told, up to 2.83 it is a hint. `None` at an open, a short, the pole of an active
    /// part, and for a nudge past the end of what a passive part can do.
    pub fn separation(&self, fixture: Fixture, device: Immittance, nudge: Nudge) -> Option<f64> {
        let ways = self.ways(fixture, device, nudge.direction())?;
        let (path, tau) = ways.on_the_way(nudge)?;
        if nudge.is_large() {
            return self.separation_of_points(fixture, device, nudge);
        }
        let noise = self.noise_when(fixture, nudge.is_swapped());
        path.curves(noise, &self.display).separation(tau)
    }

    /// The separation computed from both devices themselves. Along the path a nudge that takes
    /// nearly all of |Z| away would leave a difference of two nearly equal numbers.
    pub(crate) fn separation_of_points(
        &self,
        fixture: Fixture,
        device: Immittance,
        nudge: Nudge,
    ) -> Option<f64> {
        let nudged = nudge.applied_to(device);
        let step = self
            .map(fixture)
            .difference(nudged.ratio(), device.ratio())?;
        let scatter = |device| self.random_covariance(fixture, device, nudge.is_swapped());
        let sum = scatter(device)? + scatter(nudged)?;
        (sum * 0.5).distance(step)
    }

    /// The smallest increase and decrease that show. `None` where a relative change has no
    /// meaning: at an open, a short and the pole of an active part.
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

    /// Largest resistance in ohms that is told from an open. `None` where every resistor reads as
    /// an open.
    pub fn told_from_open_ohm(&self, fixture: Fixture, swapped: bool) -> Option<f64> {
        let change = self.resolvable_beside(Immittance::OPEN, fixture, swapped)?;
        change.value().map(|siemens| 1.0 / siemens)
    }

    /// Smallest resistance in ohms that is told from a short. `None` where every resistor reads as
    /// a short.
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
        let view = self.view(fixture, end)?;
        let path = Path::new(&view, end, z0, (end.i(), end.v()), Scale::Forward);
        Some(
            path.curves(self.noise_when(fixture, swapped), &self.display)
                .change(),
        )
    }

    /// How many averages would show a nudge: (2√2/d)² where the part stays in place. `None` where
    /// [`Budget::separation`] is `None`.
    pub fn averages_needed(
        &self,
        fixture: Fixture,
        device: Immittance,
        nudge: Nudge,
    ) -> Option<AveragesNeeded> {
        let ways = self.ways(fixture, device, nudge.direction())?;
        let (path, tau) = ways.on_the_way(nudge)?;
        let noise = self.noise(fixture);
        if !path.curves(noise, &self.display).display_moves(tau) {
            return Some(AveragesNeeded::HiddenByDisplay);
        }
        let fixed = if nudge.is_swapped() {
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
