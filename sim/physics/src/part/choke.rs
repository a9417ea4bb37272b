use num_complex::Complex64;

use super::{resonance_hz, shunted};
use crate::number::{not_negative, omega, positive};
use crate::{Immittance, NumberError};

/// A winding on a lossy core whose permeability follows a single relaxation,
/// µ′ − jµ″ = µi/(1 + jf/fr), with the capacitance of the winding across it and its resistance
/// in series: Z = R + (jωL0/(1 + jf/fr) ∥ 1/(jωC)).
///
/// L0 is the inductance at low frequency, in proportion to µi. At fr the permeability has fallen
/// to µi·(1 − j)/2. The same numbers come from L0 with the resistance 2π·fr·L0 across it, so far
/// above fr the core is that resistance.
///
/// Source: the Debye relaxation, used for the dispersion of ferrites by Y. Naito, Proc. Int.
/// Conf. Ferrites, Kyoto 1970 (cited from memory). Real cores spread their relaxation: outside a
/// decade or so around fr expect 10 % and more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choke {
    /// L0, H, above zero.
    pub inductance_h: f64,
    /// fr, Hz, above zero.
    pub relaxation_hz: f64,
    /// Capacitance of the winding, F.
    pub winding_capacitance_f: f64,
    /// Resistance of the wire, Ω.
    pub series_resistance_ohm: f64,
}

impl Choke {
    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        positive("inductance in henries", self.inductance_h)?;
        positive("relaxation frequency in hertz", self.relaxation_hz)?;
        not_negative("winding capacitance in farads", self.winding_capacitance_f)?;
        not_negative("series resistance in ohms", self.series_resistance_ohm)?;
        Immittance::from_impedance(self.impedance_ohm(omega(freq_hz)?))
    }

    pub(crate) fn impedance_ohm(&self, omega: f64) -> Complex64 {
        let share = self.permeability_share(omega / std::f64::consts::TAU);
        let core = Complex64::new(0.0, omega * self.inductance_h) * share;
        shunted(core, omega, self.winding_capacitance_f) + self.series_resistance_ohm
    }

    /// (µ′ − jµ″)/µi = 1/(1 + jf/fr).
    fn permeability_share(&self, freq_hz: f64) -> Complex64 {
        Complex64::new(1.0, freq_hz / self.relaxation_hz).inv()
    }

    /// 2π·fr·L0, the resistance the core comes to far above fr, Ω.
    pub fn core_resistance_ohm(&self) -> f64 {
        std::f64::consts::TAU * self.relaxation_hz * self.inductance_h
    }

    /// 1/(2π√(L0·C)), where the reactance of core and winding crosses zero; `None` without
    /// winding capacitance.
    pub fn self_resonance_hz(&self) -> Option<f64> {
        let hz = resonance_hz(self.inductance_h, self.winding_capacitance_f);
        hz.is_finite().then_some(hz)
    }
}
