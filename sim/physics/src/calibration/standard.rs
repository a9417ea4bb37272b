//! Calibration standards: terminations and throughs behind offset lines.
//!
//! Source: the form with a capacitance or inductance polynomial and an offset of delay,
//! impedance and loss is the one that data sheets of standards use; its equations are from
//! memory and derived again in the tests from the telegrapher's equations.

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;

use crate::number::{finite_real, positive};
use crate::{Fixture, Immittance, Network, NumberError, ReferenceImpedance, Scattering};

/// The frequency at which a loss is quoted, 1 GHz.
const LOSS_REFERENCE_HZ: f64 = 1e9;

/// A short line between the reference plane and a standard.
///
/// With delay τ, characteristic impedance Zc0, loss ρ (Ω/s at 1 GHz), and
/// r(f) = ρ·√(f/1 GHz) as the resistance per second of delay at f:
///
/// γl = (1 + j)·r·τ/(2·Zc0) + j·2πf·τ, Zc = Zc0 + (1 − j)·r/(4πf).
///
/// It is the first order in r/(2πf·Zc0) of a line whose series impedance per second of delay is
/// j·2πf·Zc0 + (1 + j)·r and whose shunt admittance is j·2πf/Zc0: the loss is that of the skin
/// effect. Good while r is small beside 2πf·Zc0. At 0 Hz the line is a flush connection.
///
/// ```
/// use jigwise_physics::OffsetLine;
///
/// // 30 ps of 50 Ω with 2.2 GΩ/s: 0.0057 dB at 1 GHz, and 10.8 degrees.
/// let offset = OffsetLine { delay_s: 30e-12, zc_ohm: 50.0, loss_ohm_per_s: 2.2e9 };
/// let exponent = offset.exponent(1e9);
/// assert!((exponent.im.to_degrees() - 10.8).abs() < 0.05);
/// assert!((exponent.re - 2.2e9 * 30e-12 / 100.0).abs() < 1e-18);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffsetLine {
    /// τ, one way, seconds.
    pub delay_s: f64,
    /// Zc0, ohms, above zero.
    pub zc_ohm: f64,
    /// ρ at 1 GHz, ohms per second of delay.
    pub loss_ohm_per_s: f64,
}

impl OffsetLine {
    /// No line at all.
    pub const FLUSH: Self = Self {
        delay_s: 0.0,
        zc_ohm: 50.0,
        loss_ohm_per_s: 0.0,
    };

    fn resistance_per_s(&self, freq_hz: f64) -> f64 {
        self.loss_ohm_per_s * (freq_hz / LOSS_REFERENCE_HZ).sqrt()
    }

    /// γl, loss in nepers and phase in radians.
    pub fn exponent(&self, freq_hz: f64) -> Complex64 {
        let loss = 0.5 * self.resistance_per_s(freq_hz) * self.delay_s / self.zc_ohm;
        Complex64::new(loss, loss + TAU * freq_hz * self.delay_s)
    }

    /// Zc in ohms. Zc0 without a loss and at 0 Hz.
    fn characteristic_impedance(&self, freq_hz: f64) -> Complex64 {
        let zc = Complex64::from(self.zc_ohm);
        if freq_hz == 0.0 || self.loss_ohm_per_s == 0.0 {
            return zc;
        }
        zc + Complex64::new(1.0, -1.0) * (self.resistance_per_s(freq_hz) / (4.0 * PI * freq_hz))
    }

    /// The line as a two-port.
    ///
    /// # Errors
    /// [`NumberError`] for a frequency that is negative or not finite, an impedance that is not
    /// above zero, and a delay or loss that is not finite.
    pub fn network(&self, freq_hz: f64) -> Result<Network, NumberError> {
        checked_frequency(freq_hz)?;
        positive("characteristic impedance of an offset in ohms", self.zc_ohm)?;
        finite_real("delay of an offset in seconds", self.delay_s)?;
        finite_real("loss of an offset in ohms per second", self.loss_ohm_per_s)?;
        if self.delay_s == 0.0 {
            return Ok(Network::THROUGH);
        }
        Network::line(
            self.exponent(freq_hz),
            self.characteristic_impedance(freq_hz),
        )
    }
}

impl Default for OffsetLine {
    fn default() -> Self {
        Self::FLUSH
    }
}

/// What ends a reflection standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Termination {
    /// An open with fringing capacitance C(f) = C0 + C1·f + C2·f² + C3·f³.
    Open {
        /// C0 in F, C1 in F/Hz, C2 in F/Hz², C3 in F/Hz³.
        capacitance: [f64; 4],
    },
    /// A short with residual inductance L(f) = L0 + L1·f + L2·f² + L3·f³.
    Short {
        /// L0 in H, L1 in H/Hz, L2 in H/Hz², L3 in H/Hz³.
        inductance: [f64; 4],
    },
    /// A load R + jωL with a capacitance across: Y = jωC + 1/(R + jωL).
    Load {
        /// R in ohms.
        resistance_ohm: f64,
        /// L in henries.
        inductance_h: f64,
        /// C in farads.
        capacitance_f: f64,
    },
    /// A standard known by a measurement of its own at the frequency in use.
    Measured(Immittance),
}

/// A reflection standard: a termination behind an offset line.
///
/// ```
/// use jigwise_physics::{ReferenceImpedance, Standard};
///
/// // 50 fF at 1 GHz on 50 Ω: Γ = (1 − jωCZ0)/(1 + jωCZ0).
/// let open = Standard::open([50e-15, 0.0, 0.0, 0.0]);
/// let gamma = open.reflection(1e9, ReferenceImpedance::FIFTY_OHM)?;
/// assert!((gamma.re - 0.99950664).abs() < 5e-9);
/// assert!((gamma.im + 0.03140818).abs() < 5e-9);
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standard {
    /// The end.
    pub termination: Termination,
    /// The line before it.
    pub offset: OffsetLine,
}

impl Standard {
    /// An ideal open at the reference plane.
    pub const OPEN: Self = Self::open([0.0; 4]);
    /// An ideal short at the reference plane.
    pub const SHORT: Self = Self::short([0.0; 4]);
    /// An ideal load of 50 Ω; for another reference see [`Standard::load`].
    pub const LOAD: Self = Self::load(50.0);

    /// A flush open with C0 to C3 in F, F/Hz, F/Hz², F/Hz³.
    pub const fn open(capacitance: [f64; 4]) -> Self {
        Self::flush(Termination::Open { capacitance })
    }

    /// A flush short with L0 to L3 in H, H/Hz, H/Hz², H/Hz³.
    pub const fn short(inductance: [f64; 4]) -> Self {
        Self::flush(Termination::Short { inductance })
    }

    /// A flush load of `resistance_ohm` without strays.
    pub const fn load(resistance_ohm: f64) -> Self {
        Self::flush(Termination::Load {
            resistance_ohm,
            inductance_h: 0.0,
            capacitance_f: 0.0,
        })
    }

    /// A standard with a measured reflection, good for the frequency it was measured at.
    ///
    /// # Errors
    /// [`NumberError`] where the reflection is not finite.
    pub fn measured(reflection: Complex64, z0: ReferenceImpedance) -> Result<Self, NumberError> {
        let end = Fixture::Reflect.immittance(reflection, z0)?;
        Ok(Self::flush(Termination::Measured(end)))
    }

    const fn flush(termination: Termination) -> Self {
        Self {
            termination,
            offset: OffsetLine::FLUSH,
        }
    }

    /// The same standard behind a line.
    #[must_use]
    pub const fn behind(self, offset: OffsetLine) -> Self {
        Self { offset, ..self }
    }

    /// What the standard is at the reference plane.
    ///
    /// # Errors
    /// [`NumberError`] for a frequency that is negative or not finite, and for a figure of the
    /// standard that is not finite.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        checked_frequency(freq_hz)?;
        let omega = TAU * freq_hz;
        let imaginary = |x: f64| Complex64::new(0.0, x);
        let end = match self.termination {
            Termination::Open { capacitance } => {
                Immittance::from_admittance(imaginary(omega * polynomial(capacitance, freq_hz)))?
            }
            Termination::Short { inductance } => {
                Immittance::from_impedance(imaginary(omega * polynomial(inductance, freq_hz)))?
            }
            Termination::Load {
                resistance_ohm,
                inductance_h,
                capacitance_f,
            } => Immittance::from_impedance(Complex64::new(resistance_ohm, omega * inductance_h))?
                .in_parallel_with(Immittance::from_admittance(imaginary(
                    omega * capacitance_f,
                ))?),
            Termination::Measured(end) => end,
        };
        self.offset
            .network(freq_hz)?
            .terminated(end)
            .ok_or(NumberError::NoRatio)
    }

    /// Γ of the standard on `z0`.
    ///
    /// # Errors
    /// As [`Standard::immittance`], and [`NumberError::NotFinite`] at Z = −Z0, which no passive
    /// standard is.
    pub fn reflection(
        &self,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Complex64, NumberError> {
        Fixture::Reflect
            .reading(self.immittance(freq_hz)?, z0)
            .value()
            .ok_or(NumberError::NotFinite {
                what: "reflection of a standard",
                value: f64::INFINITY,
            })
    }
}

/// The through: a line between the ports, flush unless it says otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ThroughStandard {
    /// The line.
    pub line: OffsetLine,
}

impl ThroughStandard {
    /// The ports joined without anything between them.
    pub const FLUSH: Self = Self {
        line: OffsetLine::FLUSH,
    };

    /// Scattering parameters of the through.
    ///
    /// # Errors
    /// As [`OffsetLine::network`].
    pub fn scattering(
        &self,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Scattering, NumberError> {
        let network = self.line.network(freq_hz)?;
        network.scattering(z0).ok_or(NumberError::NotFinite {
            what: "scattering parameters of a through",
            value: f64::INFINITY,
        })
    }
}

fn polynomial(coefficients: [f64; 4], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// 0 Hz is allowed: a standard has a value at direct current.
fn checked_frequency(freq_hz: f64) -> Result<(), NumberError> {
    if freq_hz == 0.0 {
        return Ok(());
    }
    positive("frequency in hertz", freq_hz).map(|_| ())
}

#[cfg(test)]
mod tests {
    use super::*;

    const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

    /// The quoted figures are the first order of a line with skin effect.
    #[test]
    fn the_offset_is_a_line_with_skin_effect_to_first_order() {
        let freq_hz = 2.5e9;
        let line = |loss_ohm_per_s| OffsetLine {
            delay_s: 40e-12,
            zc_ohm: 51.0,
            loss_ohm_per_s,
        };
        let miss = |loss: f64| {
            let r = loss * 2.5f64.sqrt();
            let omega = TAU * freq_hz;
            let series = Complex64::new(r, omega * 51.0 + r);
            let shunt = Complex64::new(0.0, omega / 51.0);
            let (gamma, zc) = ((series * shunt).sqrt(), (series / shunt).sqrt());
            let ours = line(loss);
            (
                (ours.exponent(freq_hz) - gamma * 40e-12).norm(),
                (ours.characteristic_impedance(freq_hz) - zc).norm(),
            )
        };
        let (coarse, fine) = (miss(8e9), miss(4e9));
        assert!(coarse.0 < 1e-4 && coarse.1 < 1e-2, "{coarse:?}");
        // What is left is of second order in the loss.
        assert!((coarse.0 / fine.0 - 4.0).abs() < 0.1, "{coarse:?} {fine:?}");
        assert!((coarse.1 / fine.1 - 4.0).abs() < 0.1, "{coarse:?} {fine:?}");
    }

    #[test]
    fn an_offset_turns_a_reflection_by_twice_its_delay() {
        let offset = OffsetLine {
            delay_s: 30e-12,
            ..OffsetLine::FLUSH
        };
        let gamma = Standard::OPEN.behind(offset).reflection(1e9, Z0).unwrap();
        let turned = Complex64::from_polar(1.0, -2.0 * TAU * 1e9 * 30e-12);
        assert!((gamma - turned).norm() < 1e-14, "{gamma}");
        let through = ThroughStandard { line: offset };
        let s = through.scattering(1e9, Z0).unwrap();
        assert!((s.s21 - Complex64::from_polar(1.0, -TAU * 0.03)).norm() < 1e-14);
        assert!(s.s11.norm() < 1e-15);
    }

    #[test]
    fn a_load_is_resistance_with_strays() {
        let load = Standard {
            termination: Termination::Load {
                resistance_ohm: 49.0,
                inductance_h: 0.1e-9,
                capacitance_f: 20e-15,
            },
            offset: OffsetLine::FLUSH,
        };
        let omega = TAU * 3e9;
        let branch = Complex64::new(49.0, omega * 0.1e-9);
        let want = 1.0 / (1.0 / branch + Complex64::new(0.0, omega * 20e-15));
        let got = load.immittance(3e9).unwrap().impedance().unwrap();
        assert!((got - want).norm() < 1e-12);
        assert!(Standard::LOAD.reflection(3e9, Z0).unwrap().norm() < 1e-15);
    }

    #[test]
    fn polynomials_rise_with_frequency() {
        let open = Standard::open([50e-15, 1e-27, -2e-36, 3e-46]);
        let f = 4e9f64;
        let c = 50e-15 + 1e-27 * f - 2e-36 * f * f + 3e-46 * f * f * f;
        let y = open.immittance(f).unwrap().admittance().unwrap();
        assert!((y.im / (TAU * f * c) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_measured_standard_is_what_was_measured() {
        let gamma = Complex64::new(0.02, -0.03);
        let standard = Standard::measured(gamma, Z0).unwrap();
        assert!((standard.reflection(5e9, Z0).unwrap() - gamma).norm() < 1e-15);
    }

    #[test]
    fn zero_frequency_is_direct_current() {
        let offset = OffsetLine {
            delay_s: 30e-12,
            zc_ohm: 50.0,
            loss_ohm_per_s: 2e9,
        };
        let short = Standard::short([2e-12, 0.0, 0.0, 0.0]).behind(offset);
        assert!(short.immittance(0.0).unwrap().is_short());
        assert!(short.immittance(-1.0).unwrap_err().is_not_positive());
        assert!(short.immittance(f64::NAN).unwrap_err().is_not_finite());
        let bad = Standard::OPEN.behind(OffsetLine {
            zc_ohm: 0.0,
            ..offset
        });
        assert!(bad.immittance(1e9).unwrap_err().is_not_positive());
    }
}
