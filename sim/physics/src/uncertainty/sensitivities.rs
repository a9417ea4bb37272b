//! How far a reading moves by each cause: the sensitivity coefficients of the table of [`Budget`].

use num_complex::Complex64;

use crate::uncertainty::view::View;
use crate::{Budget, Cause, Fixture, Immittance};

/// A device as a fixture sees it, asked for one cause after the other.
#[derive(Debug, Clone, Copy)]
pub struct Sensitivities<'a> {
    pub(crate) budget: &'a Budget,
    pub(crate) view: View<'a>,
}

impl Sensitivities<'_> {
    /// [`Budget::sensitivity`] to one cause.
    pub fn to(&self, cause: Cause) -> Complex64 {
        if cause == Cause::RawMatch {
            self.budget.sensitivity_to_raw_match(&self.view)
        } else {
            self.view.sensitivity_to(cause)
        }
    }
}

impl Budget {
    /// Sensitivity coefficient a_j (GUM): the change of a device's reading for a unit of the
    /// cause, with sign and phase. Zero where the cause does not enter the fixture; `None` at
    /// the pole of an active part.
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
    /// let moved = budget.sensitivity(Cause::Load, fixture, part).unwrap();
    /// let ohms = moved * fixture.ohm_per_reading(part, z0).unwrap();
    /// assert!((ohms / Complex64::new(300.0, 400.0) + 2.0).norm() < 1e-12);
    /// # Ok::<(), jigwise_physics::EntryError>(())
    /// ```
    pub fn sensitivity(
        &self,
        cause: Cause,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<Complex64> {
        Some(self.sensitivities(fixture, device)?.to(cause))
    }

    /// [`Budget::sensitivity`] to any cause of one device. `None` at the pole of an active part.
    #[inline]
    pub fn sensitivities(&self, fixture: Fixture, device: Immittance) -> Option<Sensitivities<'_>> {
        let view = self.view(fixture, device)?;
        Some(Sensitivities { budget: self, view })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Covariance, Instrument, ReferenceImpedance};

    #[test]
    fn sensitivities_square_to_the_budget() {
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
                let step = budget.sensitivity(cause, fixture, part).unwrap()
                    * budget.sigma(cause, fixture);
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
