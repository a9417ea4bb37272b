use num_complex::Complex64;

use super::shunted;
use crate::number::{not_negative, omega, positive};
use crate::{Immittance, NumberError};

/// A resistor: R with a capacitance across it, and the inductance of its leads in series,
/// Z = R/(1 + jωRC) + jωL.
///
/// To first order X = ω(L − R²C): a small R shows its leads, a large R its capacitance, and at
/// R = √(L/C) the two cancel.
///
/// ```
/// use jigwise_physics::Resistor;
/// let kilohm = Resistor {
///     resistance_ohm: 1e3,
///     parallel_capacitance_f: 0.05e-12,
///     series_inductance_h: 1e-9,
/// };
/// let z = kilohm.immittance(1e9)?.impedance().unwrap();
/// assert!((z.re - 910.170).abs() < 5e-4 && (z.im + 279.655).abs() < 5e-4);
/// assert!((kilohm.compensated_ohm().unwrap() - 141.42).abs() < 0.01);
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistor {
    /// R, Ω, above zero.
    pub resistance_ohm: f64,
    /// C across the resistance, F.
    pub parallel_capacitance_f: f64,
    /// L in series with both, H.
    pub series_inductance_h: f64,
}

impl Resistor {
    /// R alone.
    ///
    /// ```
    /// use jigwise_physics::Resistor;
    /// assert!(Resistor::ideal(4_700.0).is_ideal());
    /// ```
    pub const fn ideal(resistance_ohm: f64) -> Self {
        Self {
            resistance_ohm,
            parallel_capacitance_f: 0.0,
            series_inductance_h: 0.0,
        }
    }

    /// True for a resistor without parasitics, the same at every frequency.
    pub fn is_ideal(&self) -> bool {
        *self == Self::ideal(self.resistance_ohm)
    }

    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        positive("resistance in ohms", self.resistance_ohm)?;
        not_negative(
            "parallel capacitance in farads",
            self.parallel_capacitance_f,
        )?;
        not_negative("series inductance in henries", self.series_inductance_h)?;
        Immittance::from_impedance(self.impedance_ohm(omega(freq_hz)?))
    }

    pub(crate) fn impedance_ohm(&self, omega: f64) -> Complex64 {
        let resistance = Complex64::new(self.resistance_ohm, 0.0);
        shunted(resistance, omega, self.parallel_capacitance_f)
            + Complex64::new(0.0, omega * self.series_inductance_h)
    }

    /// √(L/C), the resistance whose reactance starts with the cube of frequency; `None` without
    /// capacitance.
    pub fn compensated_ohm(&self) -> Option<f64> {
        let square = self.series_inductance_h / self.parallel_capacitance_f;
        (self.parallel_capacitance_f > 0.0).then(|| square.sqrt())
    }
}
