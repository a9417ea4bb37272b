//! Two-ports in a chain: what lies between the reference plane and the part.
//!
//! The chain matrix (ABCD) takes voltage and current at port 2 to those at port 1,
//! (v1, i1) = M·(v2, i2), with i2 flowing out of the network into what follows. A cascade is a
//! product, a load of port 2 becomes the input by the same matrix acting on its pair (v, i).
//!
//! With a = A, b = B/Z0, c = C·Z0, d = D and Σ = a + b + c + d:
//! S11 = (a + b − c − d)/Σ, S21 = 2/Σ, S12 = 2(AD − BC)/Σ, S22 = (b + d − a − c)/Σ.
//!
//! Source: D. M. Pozar, Microwave Engineering, 4th ed., table of conversions between two-port
//! parameters (cited from memory; verified against scikit-rf 2.2.0).

use num_complex::Complex64;

use crate::point::mobius::divide;
use crate::{Immittance, Mobius, NumberError, ReferenceImpedance};

/// Scattering parameters of a two-port, both ports referred to the same real impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scattering {
    /// Reflection at port 1.
    pub s11: Complex64,
    /// From port 2 to port 1.
    pub s12: Complex64,
    /// From port 1 to port 2.
    pub s21: Complex64,
    /// Reflection at port 2.
    pub s22: Complex64,
}

impl Scattering {
    /// A flush connection of both ports.
    pub const THROUGH: Self = Self {
        s11: Complex64::ZERO,
        s12: Complex64::ONE,
        s21: Complex64::ONE,
        s22: Complex64::ZERO,
    };

    /// S11·S22 − S12·S21.
    pub fn determinant(&self) -> Complex64 {
        self.s11 * self.s22 - self.s12 * self.s21
    }

    /// The same network with its ports exchanged.
    #[must_use]
    pub fn flipped(&self) -> Self {
        Self {
            s11: self.s22,
            s12: self.s21,
            s21: self.s12,
            s22: self.s11,
        }
    }

    /// The largest distance between two parameters of the same name.
    pub fn distance(&self, other: &Self) -> f64 {
        [
            self.s11 - other.s11,
            self.s12 - other.s12,
            self.s21 - other.s21,
            self.s22 - other.s22,
        ]
        .iter()
        .map(|difference| difference.norm())
        .fold(0.0, f64::max)
    }
}

/// A linear two-port as its chain matrix up to a common factor, so that a series open and a
/// shunt short are ordinary networks.
///
/// ABCD = `chain`/`forward` and `forward`·`backward` = det `chain`; `forward` is zero where
/// nothing passes from port 1 to port 2.
///
/// ```
/// use jigwise_physics::{Complex64, Fixture, Immittance, Network, ReferenceImpedance};
///
/// let z0 = ReferenceImpedance::FIFTY_OHM;
/// let part = Immittance::from_impedance(Complex64::new(20.0, -15.0))?;
/// let s = Network::shunt(part).scattering(z0).unwrap();
/// let closed_form = Fixture::ShuntThrough.reading(part, z0).value().unwrap();
/// assert!((s.s21 - closed_form).norm() < 1e-15);
///
/// let cut = Network::series(Immittance::OPEN).scattering(z0).unwrap();
/// assert_eq!((cut.s11.re, cut.s21.re), (1.0, 0.0));
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Network {
    chain: [[Complex64; 2]; 2],
    forward: Complex64,
    backward: Complex64,
}

impl Network {
    /// A flush connection.
    pub const THROUGH: Self = Self {
        chain: [
            [Complex64::ONE, Complex64::ZERO],
            [Complex64::ZERO, Complex64::ONE],
        ],
        forward: Complex64::ONE,
        backward: Complex64::ONE,
    };

    /// A device in the line, from port 1 to port 2.
    pub fn series(device: Immittance) -> Self {
        let (v, i) = (device.v(), device.i());
        Self {
            chain: [[i, v], [Complex64::ZERO, i]],
            forward: i,
            backward: i,
        }
    }

    /// A device from the line to ground.
    pub fn shunt(device: Immittance) -> Self {
        let (v, i) = (device.v(), device.i());
        Self {
            chain: [[v, Complex64::ZERO], [i, v]],
            forward: v,
            backward: v,
        }
    }

    /// A uniform line of characteristic impedance `zc_ohm` and γ·l = `exponent` (loss in nepers,
    /// phase in radians): A = D = cosh γl, B = Zc·sinh γl, C = sinh γl/Zc.
    ///
    /// # Errors
    /// [`NumberError`] for NaN, infinity, or Zc = 0.
    pub fn line(exponent: Complex64, zc_ohm: Complex64) -> Result<Self, NumberError> {
        let exponent = crate::number::finite("propagation times length", exponent)?;
        let zc = crate::number::finite("characteristic impedance in ohms", zc_ohm)?;
        if zc == Complex64::ZERO {
            return Err(NumberError::NotPositive {
                what: "characteristic impedance in ohms",
                value: 0.0,
            });
        }
        let line = Self::uniform(exponent, zc);
        for entry in line.chain.iter().flatten() {
            crate::number::finite("entry of a chain matrix", *entry)?;
        }
        Ok(line)
    }

    /// As [`Network::line`], for numbers known to be fit.
    pub(crate) fn uniform(exponent: Complex64, zc: Complex64) -> Self {
        let (cosh, sinh) = (exponent.cosh(), exponent.sinh());
        Self {
            chain: [[cosh, zc * sinh], [divide(sinh, zc), cosh]],
            forward: Complex64::ONE,
            // The determinant is one by the theorem of Pythagoras, not by its rounded terms.
            backward: Complex64::ONE,
        }
    }

    /// The network with these scattering parameters.
    ///
    /// # Errors
    /// [`NumberError::NotFinite`] for NaN or infinity.
    pub fn from_scattering(s: &Scattering, z0: ReferenceImpedance) -> Result<Self, NumberError> {
        for parameter in [s.s11, s.s12, s.s21, s.s22] {
            crate::number::finite("scattering parameter", parameter)?;
        }
        let z0 = z0.ohm();
        let both = s.s12 * s.s21;
        let (up1, down1) = (1.0 + s.s11, 1.0 - s.s11);
        let (up2, down2) = (1.0 + s.s22, 1.0 - s.s22);
        Ok(Self {
            chain: [
                [up1 * down2 + both, (up1 * up2 - both) * z0],
                [(down1 * down2 - both) / z0, down1 * up2 + both],
            ],
            forward: s.s21 * 2.0,
            backward: s.s12 * 2.0,
        })
    }

    /// Scattering parameters; `None` at the pole of an active network.
    pub fn scattering(&self, z0: ReferenceImpedance) -> Option<Scattering> {
        let z0 = z0.ohm();
        let [[a, b], [c, d]] = self.chain;
        let (b, c) = (b / z0, c * z0);
        let sum = a + b + c + d;
        let over = |top: Complex64| {
            let value = divide(top, sum);
            (value.re.is_finite() && value.im.is_finite()).then_some(value)
        };
        Some(Scattering {
            s11: over(a + b - c - d)?,
            s12: over(self.backward * 2.0)?,
            s21: over(self.forward * 2.0)?,
            s22: over(b + d - a - c)?,
        })
    }

    /// This network followed by `next`.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        let [[a, b], [c, d]] = self.chain;
        let [[e, f], [g, h]] = next.chain;
        Self {
            chain: [
                [a * e + b * g, a * f + b * h],
                [c * e + d * g, c * f + d * h],
            ],
            forward: self.forward * next.forward,
            backward: self.backward * next.backward,
        }
    }

    /// The network that undoes this one: `n.then(&n.undoing()?)` is a flush connection. `None`
    /// where nothing passes in one of the directions.
    fn undoing(&self) -> Option<Self> {
        if self.forward == Complex64::ZERO || self.backward == Complex64::ZERO {
            return None;
        }
        let [[a, b], [c, d]] = self.chain;
        Some(Self {
            chain: [[d, -b], [-c, a]],
            forward: self.backward,
            backward: self.forward,
        })
    }

    /// The same network with its ports exchanged.
    #[must_use]
    pub fn flipped(&self) -> Self {
        let [[a, b], [c, d]] = self.chain;
        Self {
            chain: [[d, b], [c, a]],
            forward: self.backward,
            backward: self.forward,
        }
    }

    /// What lies between `before` and `after`, measured with both of them: de-embedding. `None`
    /// where one of them lets nothing pass.
    pub fn between(&self, before: &Self, after: &Self) -> Option<Self> {
        Some(before.undoing()?.then(self).then(&after.undoing()?))
    }

    /// The impedance at port 1 with `load` at port 2. `None` where the network is cut and the
    /// load leaves the cut side undefined.
    pub fn terminated(&self, load: Immittance) -> Option<Immittance> {
        let [[a, b], [c, d]] = self.chain;
        let (v, i) = (load.v(), load.i());
        Immittance::from_pair(a * v + b * i, c * v + d * i).ok()
    }

    /// The map from the load of port 2 to the impedance at port 1.
    pub fn map(&self) -> Mobius {
        Mobius::new(self.chain)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

    fn ohms(r: f64, x: f64) -> Immittance {
        Immittance::from_impedance(Complex64::new(r, x)).unwrap()
    }

    fn ladder() -> Network {
        let line = Network::line(Complex64::new(0.02, 0.7), Complex64::new(75.0, -1.0)).unwrap();
        Network::series(ohms(10.0, 30.0))
            .then(&line)
            .then(&Network::shunt(ohms(200.0, -80.0)))
    }

    #[test]
    fn undoing_a_ladder_leaves_a_flush_connection() {
        let n = ladder();
        let flush = n.then(&n.undoing().unwrap()).scattering(Z0).unwrap();
        assert!(flush.distance(&Scattering::THROUGH) < 1e-14, "{flush:?}");
        let part = Network::series(ohms(470.0, 12.0));
        let found = n
            .then(&part)
            .then(&n.flipped())
            .between(&n, &n.flipped())
            .unwrap();
        let (found, part) = (found.scattering(Z0).unwrap(), part.scattering(Z0).unwrap());
        assert!(found.distance(&part) < 1e-14, "{found:?}");
    }

    #[test]
    fn scattering_there_and_back() {
        let s = ladder().scattering(Z0).unwrap();
        let back = Network::from_scattering(&s, Z0).unwrap();
        assert!(back.scattering(Z0).unwrap().distance(&s) < 1e-15);
        assert!((s.s12 - s.s21).norm() < 1e-15, "a ladder is reciprocal");
        let flipped = ladder().flipped().scattering(Z0).unwrap();
        assert!(flipped.distance(&s.flipped()) < 1e-15);
    }

    #[test]
    fn cuts_are_networks() {
        let open = Network::series(Immittance::OPEN).scattering(Z0).unwrap();
        assert_eq!(open.s21, Complex64::ZERO);
        assert_eq!(open.s22, Complex64::ONE);
        let short = Network::shunt(Immittance::SHORT);
        assert_eq!(short.scattering(Z0).unwrap().s11, -Complex64::ONE);
        assert!(short.undoing().is_none());
        assert!(short.terminated(ohms(3.0, 4.0)).unwrap().is_short());
    }

    #[test]
    fn a_load_behind_a_line() {
        // Pozar, 4th ed., example 2.2 (example number from memory, value recomputed): 40 + j70 Ω
        // behind 0.3 wavelengths of 100 Ω gives 36.53396 − j61.11897 Ω.
        let line = Network::line(
            Complex64::new(0.0, 0.3 * std::f64::consts::TAU),
            Complex64::new(100.0, 0.0),
        )
        .unwrap();
        let input = line
            .terminated(ohms(40.0, 70.0))
            .unwrap()
            .impedance()
            .unwrap();
        assert!((input - Complex64::new(36.53396, -61.11897)).norm() < 1e-5);
    }
}
