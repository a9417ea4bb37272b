//! The reflection coefficient and the figures people quote it by.

use num_complex::Complex64;

use crate::{Fixture, Immittance, NumberError, ReferenceImpedance};

/// Γ of a device with what follows from it, computed from the pair (v, i) so that nothing is
/// lost near a match, an open or a short.
///
/// ```
/// use jigwise_physics::{Complex64, Immittance, ReferenceImpedance, Reflection};
///
/// let antenna = Immittance::from_impedance(Complex64::new(130.0, 90.0))?;
/// let seen = Reflection::of(antenna, ReferenceImpedance::FIFTY_OHM);
/// assert!((seen.swr().unwrap() - 3.97948).abs() < 5e-6);
/// assert!((seen.return_loss_db().unwrap() - 4.46087).abs() < 5e-6);
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Reflection {
    device: Immittance,
    z0: ReferenceImpedance,
}

impl Reflection {
    /// The reflection of `device` on a line of `z0`.
    pub fn of(device: Immittance, z0: ReferenceImpedance) -> Self {
        Self { device, z0 }
    }

    /// Γ = (v − Z0·i)/(v + Z0·i); `None` at Z = −Z0.
    pub fn coefficient(&self) -> Option<Complex64> {
        Fixture::Reflect.reading(self.device, self.z0).value()
    }

    /// The part of the available power that the device takes in, 1 − |Γ|² =
    /// 4·Z0·Re(v·i*)/|v + Z0·i|². Negative for an active part; `None` at Z = −Z0.
    pub fn accepted_power(&self) -> Option<f64> {
        let sum = (self.device.v() + self.device.i() * self.z0.ohm()).norm_sqr();
        (sum > 0.0).then(|| Fixture::Reflect.accepted_power(self.device, self.z0))
    }

    /// SWR = (1 + |Γ|)/(1 − |Γ|); `None` where |Γ| ≥ 1.
    pub fn swr(&self) -> Option<f64> {
        let accepted = self.accepted_power()?;
        let magnitude = self.coefficient()?.norm();
        (accepted > 0.0).then(|| (1.0 + magnitude).powi(2) / accepted)
    }

    /// −20·log10|Γ| in dB; `None` at a perfect match.
    pub fn return_loss_db(&self) -> Option<f64> {
        return_loss_db(self.coefficient()?.norm())
    }

    /// −10·log10(1 − |Γ|²) in dB; `None` where |Γ| ≥ 1.
    pub fn mismatch_loss_db(&self) -> Option<f64> {
        let accepted = self.accepted_power()?;
        (accepted > 0.0).then(|| -10.0 * accepted.log10() + 0.0)
    }
}

/// SWR from |Γ|: (1 + |Γ|)/(1 − |Γ|); `None` outside 0 ≤ |Γ| < 1.
pub fn swr(magnitude: f64) -> Option<f64> {
    (0.0..1.0)
        .contains(&magnitude)
        .then(|| (1.0 + magnitude) / (1.0 - magnitude))
}

/// |Γ| from SWR: (s − 1)/(s + 1).
///
/// # Errors
/// [`NumberError`] unless s is finite and at least 1.
pub fn magnitude_from_swr(swr: f64) -> Result<f64, NumberError> {
    if !swr.is_finite() {
        return Err(NumberError::NotFinite {
            what: "standing-wave ratio",
            value: swr,
        });
    }
    if swr < 1.0 {
        return Err(NumberError::NotPositive {
            what: "standing-wave ratio less one",
            value: swr - 1.0,
        });
    }
    Ok((swr - 1.0) / (swr + 1.0))
}

/// Return loss −20·log10|Γ| in dB; `None` unless |Γ| > 0.
pub fn return_loss_db(magnitude: f64) -> Option<f64> {
    (magnitude > 0.0).then(|| -20.0 * magnitude.log10() + 0.0)
}

/// |Γ| from a return loss in dB: 10^(−RL/20).
///
/// # Errors
/// [`NumberError::NotFinite`] for NaN or infinity.
pub fn magnitude_from_return_loss(loss_db: f64) -> Result<f64, NumberError> {
    if !loss_db.is_finite() {
        return Err(NumberError::NotFinite {
            what: "return loss in dB",
            value: loss_db,
        });
    }
    Ok(10f64.powf(-loss_db / 20.0))
}

/// Mismatch loss −10·log10(1 − |Γ|²) in dB; `None` outside 0 ≤ |Γ| < 1.
pub fn mismatch_loss_db(magnitude: f64) -> Option<f64> {
    const DB_PER_NEPER_OF_POWER: f64 = 10.0 / std::f64::consts::LN_10;
    (0.0..1.0)
        .contains(&magnitude)
        .then(|| -DB_PER_NEPER_OF_POWER * (-magnitude * magnitude).ln_1p() + 0.0)
}
