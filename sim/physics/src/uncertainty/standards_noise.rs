//! The noise that a calibration made elsewhere left in the readings that it corrected.
//!
//! Each standard was read once, with the settings of the part. The noise n of that reading acts
//! as a residual of the standard, at this frequency alone. To first order, and with small raw
//! match, a corrected reading moves by Σ a_j·n_j, a_j the sensitivities of the table of
//! [`Budget`]:
//!
//! | reading of | a_j | at |
//! | --- | --- | --- |
//! | load | δL | S11 = 0 |
//! | open | δO | S11 = 1 |
//! | short | δS | S11 = −1 |
//! | through, S11 | λ | S11 = 0 |
//! | through, S21 | δT | S21 = 1 |
//! | terminated ports (isolation) | δX·(1 − S21) | S21 = 0 |
//!
//! For reflect these are the parabolas 1 − Γ², Γ(Γ + 1)/2 and Γ(Γ − 1)/2 through the three known
//! points. At an open they are 0, 1, 0: such a reading scatters by √2 of its own noise. In the
//! through fixtures S21 = N21·(1 − S11·e11 − S22·e22) to first order, with
//! e11 = (m_open + m_short)/2 − m_load and e22 = m_through − m_load, all of port 1: the standards
//! of port 2 do not enter S21. Own derivation; checked against [`Correction::noise_of_standards`]
//! without raw match.
//!
//! What is left out is of second order in the raw match. With source and load matches of 13 to
//! 22 dB the variance of reading and standards together is on average 1 to 5 % larger, and for one
//! front end up to a quarter larger or smaller in reflect.
//!
//! [`Correction::noise_of_standards`]: crate::Correction::noise_of_standards

use num_complex::Complex64;

use crate::{Budget, Cause, Covariance, Fixture, Immittance, Sensitivities};

/// Readings of standards that a full calibration is made of, as far as one reading of a part
/// depends on them.
pub const STANDARD_READINGS: usize = 6;

impl Budget {
    /// How far the noise of each standard's reading moves the corrected reading of a device, and
    /// the covariance of that noise; dimensionless. One correction serves a part and its blanks,
    /// so their sensitivities are added before the covariance is taken. `None` at the pole of an
    /// active part.
    ///
    /// ```
    /// use jigwise_physics::{Budget, Complex64, Covariance, Fixture, Immittance, Instrument,
    ///     ReferenceImpedance};
    ///
    /// // Near an open the noise of the calibration is as large as the reading's own.
    /// let z0 = ReferenceImpedance::FIFTY_OHM;
    /// let budget = Budget::new(&Instrument::HANDHELD, z0, 0)?;
    /// let of_standards = budget
    ///     .standards_noise(Fixture::Reflect, Immittance::OPEN)
    ///     .unwrap()
    ///     .into_iter()
    ///     .fold(Covariance::ZERO, |sum, (a, noise)| sum + noise.through(a));
    /// let own = budget.noise_of(Complex64::ONE, Fixture::Reflect);
    /// assert!((of_standards.trace() / own.trace() - 1.0).abs() < 1e-12);
    /// # Ok::<(), jigwise_physics::EntryError>(())
    /// ```
    pub fn standards_noise(
        &self,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<[(Complex64, Covariance); STANDARD_READINGS]> {
        Some(self.sensitivities(fixture, device)?.noise_of_standards())
    }
}

impl Sensitivities<'_> {
    /// As [`Budget::standards_noise`].
    pub fn noise_of_standards(&self) -> [(Complex64, Covariance); STANDARD_READINGS] {
        let noise = |reading: f64, kind| self.budget.noise_of(reading.into(), kind);
        let (reflected, passed) = (Fixture::Reflect, Fixture::SeriesThrough);
        let leak = self.to(Cause::Crosstalk) * (1.0 - self.view.s);
        [
            (self.to(Cause::Load), noise(0.0, reflected)),
            (self.to(Cause::Open), noise(1.0, reflected)),
            (self.to(Cause::Short), noise(-1.0, reflected)),
            (self.to(Cause::LoadMatch), noise(0.0, reflected)),
            (self.to(Cause::ThroughTracking), noise(1.0, passed)),
            (leak, noise(0.0, passed)),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Definitions, Instrument, Isolation, MeasuredStandards, Method, ReferenceImpedance,
        Scattering, Trio, solve,
    };

    /// Without raw match the exact derivatives of a solved calibration give the same covariance.
    #[test]
    fn it_is_that_of_a_solved_calibration_without_raw_match() {
        let z0 = ReferenceImpedance::FIFTY_OHM;
        let trio = Trio {
            open: Some(Complex64::ONE),
            short: Some(-Complex64::ONE),
            load: Some(Complex64::ZERO),
        };
        let measured = MeasuredStandards {
            reflections: [trio; 2],
            through: Some(Scattering::THROUGH),
            isolation: Some(Isolation {
                forward: Complex64::ZERO,
                reverse: Complex64::ZERO,
            }),
            switch_terms: None,
        };
        let correction = solve(Method::BothDirections, &measured, &Definitions::IDEAL).unwrap();
        for instrument in [Instrument::HANDHELD, Instrument::CLUB_BENCH] {
            let budget = Budget::new(&instrument, z0, 0).unwrap();
            for (re, im) in [(3.0, -40.0), (200.0, 90.0), (2e3, -1e3), (0.5, 2.0)] {
                let part = Immittance::from_impedance(Complex64::new(re, im)).unwrap();
                for fixture in Fixture::ALL {
                    let s11 = fixture.port_reflection(part, z0).value().unwrap();
                    let s21 = fixture.reading(part, z0).value().unwrap();
                    let raw = Scattering {
                        s11,
                        s12: s21,
                        s21,
                        s22: s11,
                    };
                    let exact = correction.noise_of_standards(&budget, |moved| match fixture {
                        Fixture::Reflect => moved.apply_one_port(raw.s11),
                        _ => moved.apply(&raw).s21,
                    });
                    let ours = budget
                        .standards_noise(fixture, part)
                        .unwrap()
                        .into_iter()
                        .fold(Covariance::ZERO, |sum, (a, noise)| sum + noise.through(a));
                    let off = [
                        ours.re - exact.re,
                        ours.im - exact.im,
                        ours.cross - exact.cross,
                    ];
                    let off = off.map(f64::abs).into_iter().fold(0.0, f64::max);
                    assert!(off < 1e-8 * exact.trace(), "{fixture:?} {re} {im}: {off}");
                }
            }
        }
    }
}
