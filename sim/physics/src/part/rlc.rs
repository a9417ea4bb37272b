use std::f64::consts::TAU;

use num_complex::Complex64;

use super::resonance_hz;
use crate::number::{not_negative, omega, positive};
use crate::{Immittance, NumberError};

/// R, L and C one after the other: Z = R + jωL + 1/(jωC).
///
/// ```
/// use jigwise_physics::SeriesRlc;
/// let trap = SeriesRlc { resistance_ohm: 2.0, inductance_h: 1e-6, capacitance_f: 100e-12 };
/// assert!((trap.resonance_hz() - 15.9155e6).abs() < 50.0);
/// assert!((trap.q() - 50.0).abs() < 1e-9);
/// assert!((trap.width_hz() - 318.31e3).abs() < 1.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeriesRlc {
    /// R, Ω.
    pub resistance_ohm: f64,
    /// L, H, above zero.
    pub inductance_h: f64,
    /// C, F, above zero.
    pub capacitance_f: f64,
}

impl SeriesRlc {
    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        not_negative("resistance in ohms", self.resistance_ohm)?;
        positive("inductance in henries", self.inductance_h)?;
        positive("capacitance in farads", self.capacitance_f)?;
        Immittance::from_impedance(self.impedance_ohm(omega(freq_hz)?))
    }

    pub(crate) fn impedance_ohm(&self, omega: f64) -> Complex64 {
        let x = net(omega, self.inductance_h, self.capacitance_f);
        Complex64::new(self.resistance_ohm, x)
    }

    /// 1/(2π√(LC)), where X = 0.
    pub fn resonance_hz(&self) -> f64 {
        resonance_hz(self.inductance_h, self.capacitance_f)
    }

    /// √(L/C)/R; infinite without resistance.
    pub fn q(&self) -> f64 {
        (self.inductance_h / self.capacitance_f).sqrt() / self.resistance_ohm
    }

    /// R/(2πL), the distance of the two frequencies with |X| = R.
    pub fn width_hz(&self) -> f64 {
        self.resistance_ohm / (TAU * self.inductance_h)
    }
}

/// R, L and C side by side: Y = 1/R + jωC + 1/(jωL).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParallelRlc {
    /// R, Ω, above zero.
    pub resistance_ohm: f64,
    /// L, H, above zero.
    pub inductance_h: f64,
    /// C, F, above zero.
    pub capacitance_f: f64,
}

impl ParallelRlc {
    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        positive("resistance in ohms", self.resistance_ohm)?;
        positive("inductance in henries", self.inductance_h)?;
        positive("capacitance in farads", self.capacitance_f)?;
        Immittance::from_admittance(self.admittance_s(omega(freq_hz)?))
    }

    pub(crate) fn admittance_s(&self, omega: f64) -> Complex64 {
        let b = net(omega, self.capacitance_f, self.inductance_h);
        Complex64::new(1.0 / self.resistance_ohm, b)
    }

    /// 1/(2π√(LC)), where B = 0.
    pub fn resonance_hz(&self) -> f64 {
        resonance_hz(self.inductance_h, self.capacitance_f)
    }

    /// R·√(C/L).
    pub fn q(&self) -> f64 {
        self.resistance_ohm * (self.capacitance_f / self.inductance_h).sqrt()
    }

    /// 1/(2πRC), the distance of the two frequencies with |B| = 1/R.
    pub fn width_hz(&self) -> f64 {
        1.0 / (TAU * self.resistance_ohm * self.capacitance_f)
    }
}

/// ω·a − 1/(ω·b), with the difference of squares kept as a product near its zero.
fn net(omega: f64, a: f64, b: f64) -> f64 {
    let resonance = 1.0 / (a * b).sqrt();
    a * (omega - resonance) * (omega + resonance) / omega
}
