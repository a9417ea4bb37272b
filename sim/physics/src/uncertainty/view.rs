//! A device seen through one fixture, with what every error of the reading scales by.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::uncertainty::left_out::{self, LeftOut};
use crate::uncertainty::lines::{Lines, Product};
use crate::uncertainty::port_match::RawMatch;
use crate::{Cause, Fixture, Immittance};

/// The fixture as it stands on the bench, and the part in it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Placed<'a> {
    pub lines: &'a Lines,
    pub left_out: &'a LeftOut,
    /// The part as (v, Z0·i).
    pair: [Complex64; 2],
    z0_ohm: f64,
}

/// A device as one fixture sees it, everything finite.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View<'a> {
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
    /// `None` for the ideal fixture after a full calibration.
    pub placed: Option<Placed<'a>>,
}

impl<'a> View<'a> {
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
            placed: None,
        })
    }

    /// As [`View::of`], for a fixture with its strays and what the calibration left.
    pub(crate) fn on_bench(
        fixture: Fixture,
        device: Immittance,
        z0_ohm: f64,
        lines: &'a Lines,
        left_out: &'a LeftOut,
    ) -> Option<Self> {
        let pair = [device.v(), device.i() * z0_ohm];
        let (top, bottom) = (lines.top.at(pair), lines.bottom.at(pair));
        let inverse = bottom.conj() * (1.0 / bottom.norm_sqr());
        let inverse_square = inverse * inverse;
        let s = top * inverse;
        let stretched = pair[1] * inverse_square * lines.determinant;
        let (slope, per_ohm) = (pair[0] * stretched, pair[1] * stretched / z0_ohm);
        let finite = [s, per_ohm, slope]
            .iter()
            .all(|c| c.re.is_finite() && c.im.is_finite());
        // What the ideal fixture would have to hold for the same reading.
        let (v, y) = match fixture {
            Fixture::Reflect => (0.5 * (bottom + top), 0.5 * (bottom - top)),
            Fixture::ShuntThrough => (0.5 * top, bottom - top),
            Fixture::SeriesThrough => (bottom - top, 0.5 * top),
        };
        finite.then_some(Self {
            fixture,
            s,
            top,
            bottom,
            slope,
            per_ohm,
            v,
            y,
            inverse_square,
            known_match: None,
            placed: Some(Placed {
                lines,
                left_out,
                pair,
                z0_ohm,
            }),
        })
    }

    /// The denominator of the reading of another device.
    pub(crate) fn bottom_of(&self, v: Complex64, i: Complex64, z0_ohm: f64) -> Complex64 {
        match &self.placed {
            None => self.fixture.weighted_sum(v, i, z0_ohm),
            Some(placed) => placed.lines.bottom.at([v, i * z0_ohm]),
        }
    }

    /// The numerator of the reading of another device.
    pub(crate) fn top_of(&self, v: Complex64, i: Complex64, z0_ohm: f64) -> Complex64 {
        match &self.placed {
            None => self.fixture.weighted_top(v, i, z0_ohm),
            Some(placed) => placed.lines.top.at([v, i * z0_ohm]),
        }
    }

    /// `turn`, a difference v₁·i − i₁·v of two devices, times `weight` and the determinant of the
    /// map from Z to the reading.
    pub(crate) fn by_determinant(&self, turn: Complex64, weight: f64, z0_ohm: f64) -> Complex64 {
        match &self.placed {
            None => turn * (weight * self.fixture.determinant(z0_ohm)),
            Some(placed) => turn * (weight * z0_ohm) * placed.lines.determinant,
        }
    }

    /// |t0|: distance of the reading from the pole of its inverse. `None` for an ideal fixture.
    pub(crate) fn distance_from_pole(&self) -> Option<f64> {
        let placed = self.placed.as_ref()?;
        let per_volt = placed.lines.bottom.0[0] * self.bottom;
        Some((placed.lines.determinant * placed.pair[1] / per_volt).norm())
    }

    /// What a unit error with this product does to the reading.
    #[inline]
    pub(crate) fn of_product(&self, placed: &Placed<'_>, product: Product) -> Complex64 {
        let [a, b] = placed.lines.factors(product, self.fixture, placed.z0_ohm);
        a.at(placed.pair) * b.at(placed.pair) * self.inverse_square
    }

    /// A wrong scale of what the reference planes see: D of the ideal fixture with that in it.
    pub(crate) fn scale(&self) -> Complex64 {
        self.sensitivity(Effect::Scale)
    }

    /// Scatter by what the calibration left of a cause in full, as E|δS|².
    pub(crate) fn left_out(&self, cause: Cause) -> f64 {
        let Some(placed) = &self.placed else {
            return 0.0;
        };
        placed
            .left_out
            .terms(self.fixture)
            .filter(|(of, _, _)| *of == cause)
            .map(|(_, product, square)| square * self.of_product(placed, product).norm_sqr())
            .sum()
    }

    /// What a relative change of each stray does to the reading.
    pub(crate) fn of_strays(&self) -> impl Iterator<Item = Complex64> {
        let placed = self.placed;
        let inverse_square = self.inverse_square;
        placed.into_iter().flat_map(move |placed| {
            placed
                .lines
                .doubts
                .iter()
                .map(move |[a, b]| a.at(placed.pair) * b.at(placed.pair) * inverse_square)
        })
    }

    /// What the terms left out of the calibration do to the reading, per unit each.
    pub(crate) fn of_left_out(&self) -> impl Iterator<Item = (Complex64, f64)> {
        let placed = self.placed;
        let view = *self;
        placed.into_iter().flat_map(move |placed| {
            placed
                .left_out
                .terms(view.fixture)
                .map(move |(_, product, square)| (view.of_product(&placed, product), square))
        })
    }

    /// First derivatives by source and load match of what a unit residual does; `None` in the
    /// ideal fixture.
    pub(crate) fn by_match(&self, cause: Cause) -> Option<[Complex64; 2]> {
        let placed = self.placed.as_ref()?;
        if self.fixture == Fixture::Reflect || !placed.left_out.products_hold(self.fixture) {
            return Some([Complex64::ZERO; 2]);
        }
        Some(left_out::by_match(cause).map(|product| {
            product.map_or(Complex64::ZERO, |product| self.of_product(placed, product))
        }))
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
        if let Some(placed) = &self.placed {
            return self.of_product(placed, Product::Of(effect));
        }
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
}
