//! The two-element circuits that behave like a device at one frequency.
//!
//! Source: any handbook of radio; the equations are Rp = Rs(1 + Q²), Xp = Xs(1 + 1/Q²).

use num_complex::Complex64;

use crate::number::omega;
use crate::{Immittance, NumberError};

/// A resistance and a reactance one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeriesEquivalent {
    /// Series resistance, Ω.
    pub r_ohm: f64,
    /// Series reactance, Ω, positive for a coil.
    pub x_ohm: f64,
}

/// A resistance and a reactance side by side. `None` where the branch carries no current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParallelEquivalent {
    /// Parallel resistance 1/Re Y, Ω; `None` for a lossless part.
    pub r_ohm: Option<f64>,
    /// Parallel reactance −1/Im Y, Ω; `None` for a pure resistance.
    pub x_ohm: Option<f64>,
}

/// Series and parallel equivalents of a device at one frequency.
///
/// ```
/// use jigwise_physics::{Complex64, Equivalents, Immittance};
///
/// let coil = Immittance::from_impedance(Complex64::new(2.0, 50.0))?;
/// let at_1mhz = Equivalents::new(coil, 1e6)?;
/// assert!((at_1mhz.series_inductance_h().unwrap() - 7.957747e-6).abs() < 1e-12);
/// assert!((at_1mhz.parallel_inductance_h().unwrap() - 7.970480e-6).abs() < 1e-12);
/// assert!((at_1mhz.q().unwrap() - 25.0).abs() < 1e-12);
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Equivalents {
    device: Immittance,
    omega_rad_per_s: f64,
}

impl Equivalents {
    /// Equivalents of `device` at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] unless the frequency is finite and above zero.
    pub fn new(device: Immittance, freq_hz: f64) -> Result<Self, NumberError> {
        Ok(Self {
            device,
            omega_rad_per_s: omega(freq_hz)?,
        })
    }

    /// R and X in series; `None` for an open.
    pub fn series(&self) -> Option<SeriesEquivalent> {
        let z = self.device.impedance()?;
        Some(SeriesEquivalent {
            r_ohm: z.re,
            x_ohm: z.im,
        })
    }

    /// R and X in parallel; `None` for a short.
    pub fn parallel(&self) -> Option<ParallelEquivalent> {
        let y = self.device.admittance()?;
        Some(ParallelEquivalent {
            r_ohm: (y.re != 0.0).then(|| 1.0 / y.re),
            x_ohm: (y.im != 0.0).then(|| -1.0 / y.im),
        })
    }

    /// Ls = X/ω in henries; `None` unless X > 0.
    pub fn series_inductance_h(&self) -> Option<f64> {
        self.series()
            .and_then(|s| inductance_h(s.x_ohm, self.omega_rad_per_s))
    }

    /// Cs = −1/(ωX) in farads; `None` unless X < 0.
    pub fn series_capacitance_f(&self) -> Option<f64> {
        self.series()
            .and_then(|s| capacitance_f(s.x_ohm, self.omega_rad_per_s))
    }

    /// Lp in henries; `None` unless the parallel reactance is inductive.
    pub fn parallel_inductance_h(&self) -> Option<f64> {
        self.parallel()
            .and_then(|p| inductance_h(p.x_ohm?, self.omega_rad_per_s))
    }

    /// Cp in farads; `None` unless the parallel reactance is capacitive.
    pub fn parallel_capacitance_f(&self) -> Option<f64> {
        self.parallel()
            .and_then(|p| capacitance_f(p.x_ohm?, self.omega_rad_per_s))
    }

    /// Q = |X|/R; `None` for an open, or where R = 0 and Q has no bound.
    pub fn q(&self) -> Option<f64> {
        let Complex64 { re, im } = self.device.impedance()?;
        (re != 0.0).then(|| im.abs() / re)
    }

    /// D = R/|X| = 1/Q; `None` for an open or a pure resistance.
    pub fn dissipation(&self) -> Option<f64> {
        let Complex64 { re, im } = self.device.impedance()?;
        (im != 0.0).then(|| re / im.abs())
    }
}

impl Immittance {
    /// An ideal capacitor, Y = jωC. C in farads, frequency in hertz.
    ///
    /// # Errors
    /// [`NumberError`] unless the frequency is positive and the product finite.
    pub fn ideal_capacitor(farad: f64, freq_hz: f64) -> Result<Self, NumberError> {
        Self::from_admittance(Complex64::new(0.0, omega(freq_hz)? * farad))
    }
}

fn inductance_h(x_ohm: f64, omega_rad_per_s: f64) -> Option<f64> {
    (x_ohm > 0.0).then(|| x_ohm / omega_rad_per_s)
}

fn capacitance_f(x_ohm: f64, omega_rad_per_s: f64) -> Option<f64> {
    (x_ohm < 0.0).then(|| -1.0 / (omega_rad_per_s * x_ohm))
}
