use num_complex::Complex64;

use super::resonance_hz;
use crate::number::{not_negative, omega, positive};
use crate::{Immittance, NumberError};

/// A capacitor: C with a leakage across it, ESR and ESL in series,
/// Z = ESR + jω·ESL + 1/(jωC + 1/R_leak).
///
/// Its apparent capacitance −1/(ωX) grows as C/(1 − (f/SRF)²): 1 % high at 0.0995·SRF, 10 % at
/// 0.302·SRF, with a pole at the SRF, above which the part is a coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capacitor {
    /// C, F, above zero.
    pub capacitance_f: f64,
    /// Equivalent series resistance, Ω.
    pub esr_ohm: f64,
    /// Equivalent series inductance, H.
    pub esl_h: f64,
    /// Leakage resistance across C, Ω; `None` where nothing leaks.
    pub leakage_ohm: Option<f64>,
}

impl Capacitor {
    /// C alone.
    ///
    /// ```
    /// use jigwise_physics::Capacitor;
    /// assert!(Capacitor::ideal(330e-12).is_ideal());
    /// ```
    pub const fn ideal(capacitance_f: f64) -> Self {
        Self {
            capacitance_f,
            esr_ohm: 0.0,
            esl_h: 0.0,
            leakage_ohm: None,
        }
    }

    /// True for a capacitor without parasitics.
    pub fn is_ideal(&self) -> bool {
        *self == Self::ideal(self.capacitance_f)
    }

    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        positive("capacitance in farads", self.capacitance_f)?;
        not_negative("ESR in ohms", self.esr_ohm)?;
        not_negative("ESL in henries", self.esl_h)?;
        if let Some(leakage) = self.leakage_ohm {
            positive("leakage resistance in ohms", leakage)?;
        }
        if self.is_ideal() {
            // jωC has a value where 1/(jωC) is beyond the range of numbers.
            return Immittance::ideal_capacitor(self.capacitance_f, freq_hz);
        }
        Immittance::from_impedance(self.impedance_ohm(omega(freq_hz)?))
    }

    pub(crate) fn impedance_ohm(&self, omega: f64) -> Complex64 {
        let series = Complex64::new(self.esr_ohm, omega * self.esl_h);
        let susceptance = omega * self.capacitance_f;
        match self.leakage_ohm {
            None => series - Complex64::new(0.0, 1.0 / susceptance),
            Some(leakage) => series + Complex64::new(1.0 / leakage, susceptance).inv(),
        }
    }

    /// 1/(2π√(ESL·C)), leakage aside; `None` without ESL.
    pub fn self_resonance_hz(&self) -> Option<f64> {
        let hz = resonance_hz(self.esl_h, self.capacitance_f);
        hz.is_finite().then_some(hz)
    }
}
