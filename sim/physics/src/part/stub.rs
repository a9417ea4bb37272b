use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::number::{not_negative, omega, positive};
use crate::{Immittance, Network, NumberError};

/// What a stub ends in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineEnd {
    /// Open: nothing connected.
    Open,
    /// Short: a perfect link.
    Short,
}

/// A line with an open or a short at its end: Z = Zc·coth(γl) or Zc·tanh(γl), with
/// γl = a·√(f/f0) + jωτ, as conductor loss makes it; Zc is taken as real.
///
/// An open stub is a short at f = 1/(4τ), a shorted one an open.
///
/// ```
/// use jigwise_physics::{LineEnd, Stub};
/// let quarter_wave = Stub {
///     zc_ohm: 50.0,
///     delay_s: 2.5e-9,
///     loss_np: 0.01,
///     loss_at_hz: 100e6,
///     end: LineEnd::Open,
/// };
/// assert_eq!(quarter_wave.quarter_wave_hz(), 100e6);
/// // Zc·tanh(0.01)
/// let z = quarter_wave.immittance(100e6)?.impedance().unwrap();
/// assert!((z.re - 0.49998).abs() < 1e-5 && z.im.abs() < 1e-9);
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stub {
    /// Zc, Ω, above zero.
    pub zc_ohm: f64,
    /// τ, delay one way, s, above zero.
    pub delay_s: f64,
    /// a, loss one way at `loss_at_hz`, nepers (1 Np = 8.686 dB).
    pub loss_np: f64,
    /// f0, Hz, above zero.
    pub loss_at_hz: f64,
    /// What is at the far end.
    pub end: LineEnd,
}

impl Stub {
    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value out of its range.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        positive("characteristic impedance in ohms", self.zc_ohm)?;
        positive("delay in seconds", self.delay_s)?;
        not_negative("loss in nepers", self.loss_np)?;
        positive("frequency of the loss in hertz", self.loss_at_hz)?;
        self.input(omega(freq_hz)?)
    }

    pub(crate) fn input(&self, omega: f64) -> Result<Immittance, NumberError> {
        let line = Network::line(self.exponent(omega), Complex64::new(self.zc_ohm, 0.0))?;
        let end = match self.end {
            LineEnd::Open => Immittance::OPEN,
            LineEnd::Short => Immittance::SHORT,
        };
        line.terminated(end).ok_or(NumberError::NoRatio)
    }

    /// γl.
    fn exponent(&self, omega: f64) -> Complex64 {
        let loss = self.loss_np * (omega / (TAU * self.loss_at_hz)).sqrt();
        Complex64::new(loss, omega * self.delay_s)
    }

    /// 1/(4τ), Hz.
    pub fn quarter_wave_hz(&self) -> f64 {
        0.25 / self.delay_s
    }
}
