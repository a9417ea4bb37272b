//! The three ways to connect a part, each a Möbius map from impedance to reading.
//!
//! Derivation by voltage divider: the source is a generator of open-circuit voltage 2 behind
//! Z0, so that a matched load takes 1. Sources: D. M. Pozar, Microwave Engineering, 4th ed.,
//! on scattering parameters of a series and a shunt impedance (section cited from memory);
//! the equations were verified against an ABCD to S route in scikit-rf 2.2.0.

use num_complex::Complex64;

use crate::point::mobius::Ratio;
use crate::{Immittance, Mobius, NumberError, ReferenceImpedance};

/// How the part is connected to the analyzer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Fixture {
    /// Across one port. S11 = (Z − Z0)/(Z + Z0).
    Reflect,
    /// From the through line to ground. S21 = 2Z/(2Z + Z0).
    ShuntThrough,
    /// Between the two ports. S21 = 2·Z0/(Z + 2·Z0).
    SeriesThrough,
}

impl Fixture {
    /// All three, in the order they are always shown.
    pub const ALL: [Self; 3] = [Self::Reflect, Self::ShuntThrough, Self::SeriesThrough];

    /// The map from Z (in ohms) to the reading.
    pub fn map(self, z0: ReferenceImpedance) -> Mobius {
        let z0 = z0.ohm();
        Mobius::from_real(match self {
            Self::Reflect => [[1.0, -z0], [1.0, z0]],
            Self::ShuntThrough => [[2.0, 0.0], [2.0, z0]],
            Self::SeriesThrough => [[0.0, 2.0 * z0], [1.0, 2.0 * z0]],
        })
    }

    /// The reading of a device: S11 for reflect, S21 for the through fixtures.
    ///
    /// It is infinite only for an active part at Z = −Z0, −Z0/2 or −2·Z0.
    pub fn reading(self, device: Immittance, z0: ReferenceImpedance) -> Ratio {
        self.map(z0).apply(device.ratio())
    }

    /// The device that gives a reading: the exact inverse of [`Fixture::reading`].
    ///
    /// A reading stored as f64 limits what comes back:
    /// |δZ/Z| ≤ 8ε·max(1, K·|S|), with K from [`Fixture::relative_sensitivity`].
    ///
    /// # Errors
    /// [`NumberError::NotFinite`] for NaN or infinity.
    pub fn immittance(
        self,
        reading: Complex64,
        z0: ReferenceImpedance,
    ) -> Result<Immittance, NumberError> {
        let reading = crate::number::finite("reading", reading)?;
        Ok(self.immittance_of(Ratio::new(reading, Complex64::ONE)?, z0))
    }

    /// As [`Fixture::immittance`], from a reading kept as a pair.
    pub fn immittance_of(self, reading: Ratio, z0: ReferenceImpedance) -> Immittance {
        Immittance::from_ratio(self.map(z0).inverse().apply(reading))
    }

    /// The port reflection S11 that goes with the reading. In a through fixture it is tied to
    /// S21: shunt S11 = S21 − 1 = −Z0/(2Z + Z0), series S11 = 1 − S21 = Z/(Z + 2·Z0).
    pub fn port_reflection(self, device: Immittance, z0: ReferenceImpedance) -> Ratio {
        let z0_ohm = z0.ohm();
        match self {
            Self::Reflect => self.reading(device, z0),
            Self::ShuntThrough => {
                Mobius::from_real([[0.0, -z0_ohm], [2.0, z0_ohm]]).apply(device.ratio())
            }
            Self::SeriesThrough => {
                Mobius::from_real([[1.0, 0.0], [1.0, 2.0 * z0_ohm]]).apply(device.ratio())
            }
        }
    }

    /// |S21 − S11 − 1| for shunt, |S21 + S11 − 1| for series: zero for one lumped part at the
    /// reference plane, more where line lengths, gaps or calibration errors remain. `None` for
    /// reflect, which has one reading only.
    pub fn consistency(self, s11: Complex64, s21: Complex64) -> Option<f64> {
        match self {
            Self::Reflect => None,
            Self::ShuntThrough => Some((s21 - s11 - 1.0).norm()),
            Self::SeriesThrough => Some((s21 + s11 - 1.0).norm()),
        }
    }

    /// dZ/dS in ohms per unit reading, from the device: (Z + Z0)²/(2·Z0), (2Z + Z0)²/(2·Z0),
    /// −(Z + 2·Z0)²/(2·Z0). `None` for an open, where any error of the reading is infinitely
    /// many ohms.
    ///
    /// Computed from the device it keeps every digit; computed from a stored reading, as
    /// 1/(1 − S)², it loses half of them where S is near 1:
    ///
    /// ```
    /// use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};
    ///
    /// let z0 = ReferenceImpedance::FIFTY_OHM;
    /// let part = Immittance::from_impedance(Complex64::new(1e9, 0.0))?;
    /// let exact = (2.0 * 1e9 + 50.0_f64).powi(2) / 100.0;
    ///
    /// let ours = Fixture::ShuntThrough.ohm_per_reading(part, z0).unwrap().re;
    /// assert!((ours / exact - 1.0).abs() < 1e-15);
    ///
    /// let s = Fixture::ShuntThrough.reading(part, z0).value().unwrap().re;
    /// let naive = 25.0 / (1.0 - s).powi(2);
    /// assert!((naive / exact - 1.0).abs() > 1e-9);
    /// # Ok::<(), jigwise_physics::NumberError>(())
    /// ```
    pub fn ohm_per_reading(self, device: Immittance, z0: ReferenceImpedance) -> Option<Complex64> {
        let z = device.impedance()?;
        let z0 = z0.ohm();
        let sum = self.weighted_sum(z, Complex64::ONE, z0);
        let square = sum * sum / (2.0 * z0);
        Some(match self {
            Self::Reflect | Self::ShuntThrough => square,
            Self::SeriesThrough => -square,
        })
    }

    /// K = |dZ/dS|/|Z|: |z + 1|²/(2|z|), |2z + 1|²/(2|z|), |z + 2|²/(2|z|). Dimensionless;
    /// infinite for an open and a short, zero at the pole of an active part.
    ///
    /// Least at |Z| = Z0, Z0/2 and 2·Z0. Duality: K of shunt at z is K of series at 1/z.
    pub fn relative_sensitivity(self, device: Immittance, z0: ReferenceImpedance) -> f64 {
        let z0 = z0.ohm();
        let sum = self.weighted_sum(device.v(), device.i(), z0);
        let size = 2.0 * z0 * device.v().norm() * device.i().norm();
        if size == 0.0 {
            return f64::INFINITY;
        }
        sum.norm_sqr() / size
    }

    /// Power the device takes in, as a part of what the source has available:
    /// 4·Z0·R/|Z + Z0|², 4·Z0·R/|2Z + Z0|², 4·Z0·R/|Z + 2·Z0|², that is 1 − |S11|² in reflect
    /// and 1 − |S11|² − |S21|² in the through fixtures. Infinite at the pole of an active part.
    pub fn accepted_power(self, device: Immittance, z0: ReferenceImpedance) -> f64 {
        let z0 = z0.ohm();
        let sum = self.weighted_sum(device.v(), device.i(), z0);
        4.0 * z0 * device.power_product() / sum.norm_sqr()
    }

    /// How many contacts of the fixture are in series with the part: 1 in reflect and
    /// shunt-through, 2 in series-through.
    pub const fn contacts(self) -> u32 {
        match self {
            Self::Reflect | Self::ShuntThrough => 1,
            Self::SeriesThrough => 2,
        }
    }

    /// √n for the n [`Fixture::contacts`]: the rms resistance of all of them over that of one,
    /// where they vary independently.
    pub fn contact_factor(self) -> f64 {
        f64::from(self.contacts()).sqrt()
    }

    /// The denominator of the reading: v + Z0·i, 2v + Z0·i, v + 2·Z0·i.
    pub(crate) fn weighted_sum(self, v: Complex64, i: Complex64, z0: f64) -> Complex64 {
        match self {
            Self::Reflect => v + i * z0,
            Self::ShuntThrough => v * 2.0 + i * z0,
            Self::SeriesThrough => v + i * (2.0 * z0),
        }
    }

    /// The numerator of the reading: v − Z0·i, 2v, 2·Z0·i.
    pub(crate) fn weighted_top(self, v: Complex64, i: Complex64, z0: f64) -> Complex64 {
        match self {
            Self::Reflect => v - i * z0,
            Self::ShuntThrough => v * 2.0,
            Self::SeriesThrough => i * (2.0 * z0),
        }
    }

    /// The determinant of the map, 2·Z0, 2·Z0, −2·Z0, so that dS/dZ = det·i²/denominator².
    pub(crate) fn determinant(self, z0: f64) -> f64 {
        match self {
            Self::Reflect | Self::ShuntThrough => 2.0 * z0,
            Self::SeriesThrough => -2.0 * z0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_those_of_the_map() {
        let z0 = ReferenceImpedance::FIFTY_OHM;
        let part = Immittance::from_impedance(Complex64::new(30.0, -70.0)).unwrap();
        for fixture in Fixture::ALL {
            let map = fixture.map(z0);
            let top = fixture.weighted_top(part.v(), part.i(), 50.0);
            let bottom = fixture.weighted_sum(part.v(), part.i(), 50.0);
            let reading = map.apply(part.ratio()).value().unwrap();
            assert!((top / bottom - reading).norm() < 1e-15);
            assert_eq!(map.determinant(), fixture.determinant(50.0).into());
        }
    }
}
