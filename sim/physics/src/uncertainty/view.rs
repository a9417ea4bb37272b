//! A device seen through one fixture, with what every error of the reading scales by.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::{Cause, Fixture, Immittance};

/// A device as one fixture sees it, everything finite.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View {
    pub fixture: Fixture,
    /// Reading.
    pub s: Complex64,
    /// Numerator of the reading, for the pair (v, i).
    pub top: Complex64,
    /// Denominator of the reading, for the pair (v, i).
    pub bottom: Complex64,
    /// D = Z·dS/dZ.
    pub slope: Complex64,
    /// dS/dZ in 1/Ω.
    pub per_ohm: Complex64,
    v: Complex64,
    y: Complex64,
    inverse_square: Complex64,
}

impl View {
    /// `None` at the pole of an active part.
    pub(crate) fn of(fixture: Fixture, device: Immittance, z0: f64) -> Option<Self> {
        let (v, i) = (device.v(), device.i());
        let bottom = fixture.weighted_sum(v, i, z0);
        let size = bottom.norm_sqr();
        let inverse = bottom.conj() * (1.0 / size);
        let inverse_square = inverse * inverse;
        let top = fixture.weighted_top(v, i, z0);
        let s = top * inverse;
        let per_ohm = i * i * inverse_square * fixture.determinant(z0);
        let slope = v * i * inverse_square * fixture.determinant(z0);
        let finite = [s, per_ohm, slope]
            .iter()
            .all(|c| c.re.is_finite() && c.im.is_finite());
        finite.then_some(Self {
            fixture,
            s,
            top,
            bottom,
            slope,
            per_ohm,
            v,
            y: i * z0,
            inverse_square,
        })
    }

    /// What a unit error of a effect does to the reading.
    #[inline]
    pub(crate) fn sensitivity(&self, effect: Effect) -> Complex64 {
        match effect {
            Effect::Absolute => Complex64::ONE,
            Effect::Relative | Effect::Radial => self.s,
            Effect::Scale => self.slope,
            Effect::OpenEnd => self.v * (self.v - self.y) * self.inverse_square,
            Effect::ShortEnd => self.y * (self.v - self.y) * self.inverse_square,
            Effect::Square => self.s * self.s,
            Effect::Tangential => self.s * Complex64::I,
            Effect::Resistance | Effect::Impedance => self.per_ohm,
        }
    }

    /// What a unit residual of a cause does to the reading, sign and phase kept.
    pub(crate) fn sensitivity_to(&self, cause: Cause) -> Complex64 {
        cause
            .effect(self.fixture)
            .map_or(Complex64::ZERO, |(effect, factor)| {
                self.sensitivity(effect) * factor
            })
    }
}
