//! A piece of uniform line: what a fixture's arm, a cable or a stub is made of.
//!
//! γl = α·l + j·β·l with β = 2πf/(v·c). Conductor loss grows with √f (skin depth thinner than
//! the conductor), dielectric loss with f (constant loss tangent). The characteristic impedance
//! is taken real, which is the low-loss approximation: loss per radian α/β well below one.
//!
//! Source: D. M. Pozar, Microwave Engineering, 4th ed., sections on the low-loss line and on
//! conductor and dielectric loss (cited from memory).

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::number::{EntryError, NEPER_PER_DB, within};
use crate::{Figure, Network};

/// Speed of light in vacuum, m/s: exact by the definition of the metre (SI Brochure, 9th ed.).
pub const SPEED_OF_LIGHT_M_PER_S: f64 = 299_792_458.0;

/// The frequency that losses are given at, Hz.
const LOSS_REFERENCE_HZ: f64 = 1e9;

/// More than any arm loses; keeps cosh γl far from overflow.
const MAX_LOSS_DB: f64 = 300.0;

/// A uniform line. The default is no line at all: length 0, 50 Ω.
///
/// ```
/// use jigwise_physics::Line;
///
/// let millimetre = Line { length_m: 1e-3, velocity_factor: 0.7, ..Line::NONE };
/// assert!((millimetre.one_way_degrees(100e6)? - 0.17155).abs() < 5e-6);
/// assert!((millimetre.one_way_delay_s()? - 4.765e-12).abs() < 1e-15);
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Length, m; 0 to 1000.
    pub length_m: f64,
    /// Velocity over that of light; 0.01 to 1.
    pub velocity_factor: f64,
    /// Characteristic impedance, Ω; 0.1 to 10 000.
    pub zc_ohm: f64,
    /// Conductor loss at 1 GHz, dB/m; 0 to 1000. Grows with √f.
    pub conductor_db_per_m_at_1ghz: f64,
    /// Dielectric loss at 1 GHz, dB/m; 0 to 1000. Grows with f.
    pub dielectric_db_per_m_at_1ghz: f64,
}

impl Default for Line {
    fn default() -> Self {
        Self::NONE
    }
}

impl Line {
    /// No line: length 0, lossless, 50 Ω, in air.
    pub const NONE: Self = Self {
        length_m: 0.0,
        velocity_factor: 1.0,
        zc_ohm: 50.0,
        conductor_db_per_m_at_1ghz: 0.0,
        dielectric_db_per_m_at_1ghz: 0.0,
    };

    /// Checks every entry against the range in its documentation.
    ///
    /// # Errors
    /// [`EntryError`] for the first entry outside its range, NaN included.
    pub fn validate(&self) -> Result<(), EntryError> {
        Figure::<Self>::ALL
            .iter()
            .try_for_each(|figure| figure.check(self))
    }

    /// Time from one end to the other, l/(v·c), seconds.
    ///
    /// # Errors
    /// [`EntryError`] for an entry outside its range.
    pub fn one_way_delay_s(&self) -> Result<f64, EntryError> {
        self.validate()?;
        Ok(self.length_m / (self.velocity_factor * SPEED_OF_LIGHT_M_PER_S))
    }

    /// β·l in degrees. A reflection turns by twice as much.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn one_way_degrees(&self, freq_hz: f64) -> Result<f64, EntryError> {
        self.exponent(freq_hz)
            .map(|gamma_l| gamma_l.im.to_degrees())
    }

    /// Loss from one end to the other, dB, above zero: l·(conductor·√f + dielectric·f), f in GHz.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range, or a loss above 300 dB.
    fn one_way_loss_db(&self, freq_hz: f64) -> Result<f64, EntryError> {
        self.validate()?;
        let ghz = frequency(freq_hz)? / LOSS_REFERENCE_HZ;
        let per_m =
            self.conductor_db_per_m_at_1ghz * ghz.sqrt() + self.dielectric_db_per_m_at_1ghz * ghz;
        within(
            "loss of a line",
            self.length_m * per_m,
            0.0,
            MAX_LOSS_DB,
            "dB",
        )
    }

    /// γ·l: loss in nepers, phase in radians.
    ///
    /// # Errors
    /// [`EntryError`] as for [`Line::one_way_loss_db`].
    pub fn exponent(&self, freq_hz: f64) -> Result<Complex64, EntryError> {
        let neper = self.one_way_loss_db(freq_hz)? * NEPER_PER_DB;
        Ok(Complex64::new(
            neper,
            TAU * freq_hz * self.one_way_delay_s()?,
        ))
    }

    /// The line as a two-port.
    ///
    /// # Errors
    /// [`EntryError`] as for [`Line::one_way_loss_db`].
    pub fn network(&self, freq_hz: f64) -> Result<Network, EntryError> {
        let exponent = self.exponent(freq_hz)?;
        if self.length_m == 0.0 {
            return Ok(Network::THROUGH);
        }
        Ok(Network::uniform(exponent, Complex64::new(self.zc_ohm, 0.0)))
    }
}

/// A frequency within 0 to 1 THz.
pub(crate) fn frequency(freq_hz: f64) -> Result<f64, EntryError> {
    within("frequency", freq_hz, 0.0, 1e12, "Hz")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Immittance, ReferenceImpedance};

    #[test]
    fn a_matched_line_only_delays_and_attenuates() {
        let line = Line {
            length_m: 0.3,
            velocity_factor: 0.66,
            conductor_db_per_m_at_1ghz: 0.4,
            dielectric_db_per_m_at_1ghz: 0.1,
            ..Line::NONE
        };
        let s = line
            .network(4e9)
            .unwrap()
            .scattering(ReferenceImpedance::FIFTY_OHM)
            .unwrap();
        // 0.3·(0.4·√4 + 0.1·4) dB by hand.
        assert!((20.0 * s.s21.norm().log10() + 0.36).abs() < 1e-12);
        let turns = 4e9 * 0.3 / (0.66 * 299_792_458.0);
        let direct = Complex64::from_polar(s.s21.norm(), -TAU * turns);
        assert!((s.s21 - direct).norm() < 1e-13, "{s:?}");
        assert!(s.s11.norm() < 1e-15);
    }

    #[test]
    fn slips_are_refused_with_the_range() {
        let long = Line {
            length_m: 100.0,
            conductor_db_per_m_at_1ghz: 10.0,
            ..Line::NONE
        };
        assert_eq!(long.network(1e9).unwrap_err().entry, "loss of a line");
        let slow = Line {
            velocity_factor: 70.0,
            ..Line::NONE
        };
        assert_eq!(
            slow.validate().unwrap_err().to_string(),
            "velocity factor is 70: give a value from 0.01 to 1"
        );
        assert_eq!(Line::NONE.network(f64::NAN).unwrap_err().entry, "frequency");
        let none = Line::NONE.network(1e9).unwrap();
        let part = Immittance::from_impedance(Complex64::new(3.0, 4.0)).unwrap();
        assert_eq!(none.terminated(part).unwrap().impedance(), part.impedance());
    }
}
