use std::f64::consts::TAU;

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
        let resistance = self.series_resistance_at(omega / TAU);
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

    /// 1/(2π√(LC)), where X of a lossless winding crosses zero. That of a lossy one crosses at
    /// [`Self::reactance_zero_hz`]. `None` without winding capacitance.
    pub fn self_resonance_hz(&self) -> Option<f64> {
        let hz = resonance_hz(self.inductance_h, self.parallel_capacitance_f);
        hz.is_finite().then_some(hz)
    }

    /// Where X crosses zero, in hertz. There R(f)² + (ωL)² = L/C, so that without skin loss
    /// f = √(1/(LC) − (R/L)²)/2π, which lies below [`Self::self_resonance_hz`]. `None` without
    /// winding capacitance, and where R keeps X negative at all frequencies.
    ///
    /// ```
    /// use jigwise_physics::Inductor;
    /// let lossy = Inductor {
    ///     inductance_h: 10e-6,
    ///     series_resistance_ohm: 600.0,
    ///     parallel_capacitance_f: 10e-12,
    ///     skin: None,
    /// };
    /// assert!((lossy.self_resonance_hz().unwrap() - 15.9155e6).abs() < 50.0);
    /// assert!((lossy.reactance_zero_hz().unwrap() - 12.7324e6).abs() < 50.0);
    /// ```
    pub fn reactance_zero_hz(&self) -> Option<f64> {
        let lossless_hz = self.self_resonance_hz()?;
        let l_over_c = self.inductance_h / self.parallel_capacitance_f;
        // What is left for (ωL)² at f; R(f) grows with f, so this falls as f grows.
        let left = |hz: f64| l_over_c - self.series_resistance_at(hz).powi(2);
        let at = |hz: f64| left(hz).max(0.0).sqrt() / (TAU * self.inductance_h);
        if self.skin.is_none() {
            return Some(at(lossless_hz)).filter(|hz| *hz > 0.0);
        }
        let (mut low, mut high) = (0.0_f64, lossless_hz);
        for _ in 0..100 {
            let middle = low.midpoint(high);
            if at(middle) > middle {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low > 0.0).then(|| low.midpoint(high))
    }
}
