use num_complex::Complex64;

use super::{resonance_hz, shunted};
use crate::number::{not_negative, omega, positive};
use crate::{Immittance, NumberError};

/// The part of a winding's resistance that grows with the root of frequency, R·√(f/f0), as the
/// skin effect makes it where the wire is thick against the skin depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkinLoss {
    /// Resistance at `at_hz`, Ω.
    pub resistance_ohm: f64,
    /// f0, Hz, above zero.
    pub at_hz: f64,
}

/// A coil: L and its resistance, with the capacitance of the winding across both,
/// 1/Z = 1/(R(f) + jωL) + jωC, R(f) = R + R_skin·√(f/f0).
///
/// Its apparent inductance X/ω grows as L/(1 − (f/SRF)²) at high Q, with a pole at the SRF, above
/// which the part is a capacitor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inductor {
    /// L, H, above zero.
    pub inductance_h: f64,
    /// Resistance in series with L that does not change with frequency, Ω.
    pub series_resistance_ohm: f64,
    /// Capacitance of the winding, F.
    pub parallel_capacitance_f: f64,
    /// Resistance that grows with √f, where there is any.
    pub skin: Option<SkinLoss>,
}

impl Inductor {
    /// L alone.
    ///
    /// ```
    /// use jigwise_physics::Inductor;
    /// assert!(Inductor::ideal(2.2e-6).is_ideal());
    /// ```
    pub const fn ideal(inductance_h: f64) -> Self {
        Self {
            inductance_h,
            series_resistance_ohm: 0.0,
            parallel_capacitance_f: 0.0,
            skin: None,
        }
    }

    /// True for a coil without parasitics.
    pub fn is_ideal(&self) -> bool {
        *self == Self::ideal(self.inductance_h)
    }

    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        positive("inductance in henries", self.inductance_h)?;
        not_negative("series resistance in ohms", self.series_resistance_ohm)?;
        not_negative("winding capacitance in farads", self.parallel_capacitance_f)?;
        if let Some(skin) = self.skin {
            not_negative("skin resistance in ohms", skin.resistance_ohm)?;
            positive("frequency of the skin resistance in hertz", skin.at_hz)?;
        }
        Immittance::from_impedance(self.impedance_ohm(omega(freq_hz)?))
    }

    pub(crate) fn impedance_ohm(&self, omega: f64) -> Complex64 {
        let resistance = self.series_resistance_at(omega / std::f64::consts::TAU);
        let winding = Complex64::new(resistance, omega * self.inductance_h);
        shunted(winding, omega, self.parallel_capacitance_f)
    }

    /// R(f), Ω.
    fn series_resistance_at(&self, freq_hz: f64) -> f64 {
        let skin = self.skin.map_or(0.0, |skin| {
            skin.resistance_ohm * (freq_hz / skin.at_hz).sqrt()
        });
        self.series_resistance_ohm + skin
    }

    /// 1/(2π√(LC)), where the susceptance of a lossless winding crosses zero; `None` without
    /// winding capacitance.
    pub fn self_resonance_hz(&self) -> Option<f64> {
        let hz = resonance_hz(self.inductance_h, self.parallel_capacitance_f);
        hz.is_finite().then_some(hz)
    }
}
