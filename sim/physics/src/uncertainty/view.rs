//! A device seen through one fixture, with what every error of the reading scales by.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::uncertainty::raw_match::RawMatch;
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
    /// The raw match, where the front end is known.
    pub known_match: Option<RawMatch>,
}

impl View {
    /// `None` at the pole of an active part.
    #[inline]
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
            known_match: None,
        })
    }

    /// v and Z0·i.
    pub(crate) fn pair(&self) -> (Complex64, Complex64) {
        (self.v, self.y)
    }

    /// ρ: what a port of a through fixture sees, the other one terminated.
    pub(crate) fn port_reflection(&self) -> Complex64 {
        if self.fixture == Fixture::ShuntThrough {
            -self.y / self.bottom
        } else {
            self.v / self.bottom
        }
    }

    /// t + ρ in shunt-through, t − ρ in series-through: what is left of one wave where the same
    /// one comes from both sides, in the other of the two cases.
    pub(crate) fn mirrored(&self, rho: Complex64) -> Complex64 {
        if self.fixture == Fixture::ShuntThrough {
            self.s + rho
        } else {
            self.s - rho
        }
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
            Effect::MatchedLeak => {
                let rho = self.port_reflection();
                rho * (1.0 + self.mirrored(rho).norm_sqr()).sqrt()
            }
        }
    }

    /// What a unit residual of a cause does to the reading, sign and phase kept; exactly where the
    /// front end is known, else without its raw match.
    pub(crate) fn sensitivity_to(&self, cause: Cause) -> Complex64 {
        let plain = cause
            .effect(self.fixture)
            .map_or(Complex64::ZERO, |(effect, factor)| {
                self.sensitivity(effect) * factor
            });
        match &self.known_match {
            Some(known) => plain + known.added(cause, self),
            None => plain,
        }
    }
}
