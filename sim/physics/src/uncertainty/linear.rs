//! Linear forms of a device, and the squares of their sizes.
//!
//! A device is the pair (v, y) with y = Z0·i, up to a common factor. Numerators and denominators of
//! everything a fixture shows are linear in it, with any strays and arms around the part.

use std::ops::{Add, Mul, Sub};

use num_complex::Complex64;

/// The form α·v + β·y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Linear(pub [Complex64; 2]);

/// Coefficients of V = |v|², X = Re(v·y*), Y = Im(v·y*), I = |y|².
pub(crate) type Square = [f64; 4];

impl Linear {
    pub(crate) const ZERO: Self = Self([Complex64::ZERO; 2]);
    /// The form v.
    pub(crate) const V: Self = Self([Complex64::ONE, Complex64::ZERO]);
    /// The form y.
    pub(crate) const Y: Self = Self([Complex64::ZERO, Complex64::ONE]);

    /// Its value for a pair.
    #[inline]
    pub(crate) fn at(self, [v, y]: [Complex64; 2]) -> Complex64 {
        self.0[0] * v + self.0[1] * y
    }

    /// |α·v + β·y|² = |α|²·V + 2·Re(α·β*)·X − 2·Im(α·β*)·Y + |β|²·I.
    pub(crate) fn square(self) -> Square {
        let [a, b] = self.0;
        let cross = a * b.conj();
        [a.norm_sqr(), 2.0 * cross.re, -2.0 * cross.im, b.norm_sqr()]
    }
}

impl Add for Linear {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self([self.0[0] + other.0[0], self.0[1] + other.0[1]])
    }
}

impl Sub for Linear {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self([self.0[0] - other.0[0], self.0[1] - other.0[1]])
    }
}

impl Mul<Complex64> for Linear {
    type Output = Self;

    fn mul(self, factor: Complex64) -> Self {
        Self(self.0.map(|c| c * factor))
    }
}

impl Mul<f64> for Linear {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self(self.0.map(|c| c * factor))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_square_is_that_of_the_value() {
        let c = Complex64::new;
        let form = Linear([c(0.3, -1.2), c(2.0, 0.7)]);
        let [v, y] = [c(1.0, 0.4), c(-0.6, 2.0)];
        let cross = v * y.conj();
        let invariants = [v.norm_sqr(), cross.re, cross.im, y.norm_sqr()];
        let by_square: f64 = form
            .square()
            .iter()
            .zip(invariants)
            .map(|(a, b)| a * b)
            .sum();
        assert!((by_square - form.at([v, y]).norm_sqr()).abs() < 1e-14);
    }
}
