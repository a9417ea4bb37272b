//! Causes by name: by how much each moves a reading, for sums that keep what they share.

use num_complex::Complex64;

use crate::uncertainty::view::View;
use crate::{Budget, Cause, Covariance, Fixture, Immittance};

impl Cause {
    /// True where the error is one real number (a phase, a resistance), not a complex one.
    pub const fn is_real(self) -> bool {
        matches!(
            self,
            Self::TraceMagnitude
                | Self::TracePhase
                | Self::DisplayMagnitude
                | Self::DisplayPhase
                | Self::CablePhase
                | Self::Contact
        )
    }

    /// True for what stays the same from one frequency of a sweep to the next.
    pub const fn stays_over_a_sweep(self) -> bool {
        !self.is_random() && !matches!(self, Self::DisplayMagnitude | Self::DisplayPhase)
    }
}

impl Budget {
    /// The standard uncertainty of a cause: of the real number it is, or of each component of
    /// the complex one. Dimensionless, radians for phases, ohms for contact and ground loop.
    pub fn sigma(&self, cause: Cause, fixture: Fixture) -> f64 {
        let share = if cause.is_real() { 1.0 } else { 0.5 };
        (share * self.mean_square(cause, fixture)).sqrt()
    }

    /// a_j: by how much a unit of the cause moves the reading of a device, with its sign and
    /// phase. Zero where the cause does not enter the fixture; `None` at the pole of an active
    /// part.
    ///
    /// ```
    /// use jigwise_physics::{
    ///     Budget, Cause, Complex64, Fixture, Immittance, Instrument, ReferenceImpedance,
    /// };
    ///
    /// // A load that reflects δ makes every impedance wrong by −2δ.
    /// let z0 = ReferenceImpedance::FIFTY_OHM;
    /// let budget = Budget::new(&Instrument::HANDHELD, z0, 0)?;
    /// let part = Immittance::from_impedance(Complex64::new(300.0, 400.0)).unwrap();
    /// let fixture = Fixture::SeriesThrough;
    /// let moved = budget.amplitude(Cause::Load, fixture, part).unwrap();
    /// let ohms = moved * fixture.ohm_per_reading(part, z0).unwrap();
    /// assert!((ohms / Complex64::new(300.0, 400.0) + 2.0).norm() < 1e-12);
    /// # Ok::<(), jigwise_physics::EntryError>(())
    /// ```
    pub fn amplitude(
        &self,
        cause: Cause,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<Complex64> {
        Some(View::of(fixture, device, self.z0.ohm())?.amplitude_of(cause))
    }

    /// [`Budget::amplitude`] of every cause, in the order of [`Cause::ALL`].
    pub fn amplitudes(
        &self,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<[Complex64; Cause::ALL.len()]> {
        let view = View::of(fixture, device, self.z0.ohm())?;
        Some(Cause::ALL.map(|cause| view.amplitude_of(cause)))
    }

    /// Covariance of the noise of one raw reading, which counts as S11 for reflect and as S21
    /// for the through fixtures: floor, and trace noise along and across the reading.
    pub fn noise_of(&self, reading: Complex64, fixture: Fixture) -> Covariance {
        let noise = self.noise(fixture);
        Covariance::circular(noise.floor)
            + Covariance::along(reading) * noise.radial
            + Covariance::along(reading * Complex64::I) * noise.tangential
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Instrument, ReferenceImpedance};

    #[test]
    fn amplitudes_square_to_the_budget() {
        let z0 = ReferenceImpedance::FIFTY_OHM;
        let budget = Budget::new(
            &Instrument {
                contact_ohm: 0.02,
                ground_loop_ohm: 0.01,
                cable_phase_rad: 0.01,
                drift: 0.002,
                ..Instrument::HANDHELD
            },
            z0,
            2,
        )
        .unwrap();
        let part = Immittance::from_impedance(Complex64::new(12.0, -70.0)).unwrap();
        for fixture in Fixture::ALL {
            let s = fixture.reading(part, z0).value().unwrap();
            let mut sum = budget.noise_of(s, fixture);
            for cause in Cause::ALL.into_iter().filter(|cause| !cause.is_random()) {
                let step =
                    budget.amplitude(cause, fixture, part).unwrap() * budget.sigma(cause, fixture);
                sum = sum + Covariance::along(step);
                if !cause.is_real() {
                    sum = sum + Covariance::along(step * Complex64::I);
                }
            }
            let whole = budget.reading_covariance(fixture, part).unwrap();
            for (found, wanted) in [
                (sum.re, whole.re),
                (sum.im, whole.im),
                (sum.cross, whole.cross),
            ] {
                assert!(
                    (found - wanted).abs() < 1e-12 * whole.trace(),
                    "{fixture:?}"
                );
            }
        }
    }
}
