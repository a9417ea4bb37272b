//! Points of the complex projective line and the maps between them.
//!
//! Source: any text on complex analysis, e.g. L. V. Ahlfors, Complex Analysis, on linear
//! fractional transformations (cited from memory).

use num_complex::Complex64;

use crate::NumberError;

/// A ratio num/den known up to a common complex factor. den = 0 is the point at infinity.
///
/// The pair is kept scaled by a power of two so that its largest component lies in
/// [0.5, 1): no product of two of them overflows, and scaling costs no digit.
#[derive(Debug, Clone, Copy)]
pub struct Ratio {
    num: Complex64,
    den: Complex64,
}

impl Ratio {
    /// The point num/den.
    ///
    /// # Errors
    /// [`NumberError::NotFinite`] for NaN or infinite parts, [`NumberError::NoRatio`] for 0/0.
    pub fn new(num: Complex64, den: Complex64) -> Result<Self, NumberError> {
        let num = crate::finite("numerator", num)?;
        let den = crate::finite("denominator", den)?;
        if num == Complex64::ZERO && den == Complex64::ZERO {
            return Err(NumberError::NoRatio);
        }
        Ok(Self::scaled(num, den))
    }

    pub(crate) const fn of_parts(num: Complex64, den: Complex64) -> Self {
        Self { num, den }
    }

    fn scaled(num: Complex64, den: Complex64) -> Self {
        let largest = largest_part(num).max(largest_part(den));
        let factor = power_of_two_below_one(largest);
        // Two steps, since the factor itself may exceed the largest double.
        Self {
            num: num.scale(factor.0).scale(factor.1),
            den: den.scale(factor.0).scale(factor.1),
        }
    }

    /// The numerator, up to the common factor.
    pub fn num(self) -> Complex64 {
        self.num
    }

    /// The denominator, up to the common factor.
    pub fn den(self) -> Complex64 {
        self.den
    }

    /// num/den, or `None` at the point at infinity.
    pub fn value(self) -> Option<Complex64> {
        if self.is_infinite() {
            return None;
        }
        let value = divide(self.num, self.den);
        (value.re.is_finite() && value.im.is_finite()).then_some(value)
    }

    /// True at the point at infinity.
    pub fn is_infinite(self) -> bool {
        self.den == Complex64::ZERO
    }

    /// Chordal distance |p0·q1 − p1·q0|/(‖p‖·‖q‖), from 0 (same point) to 1 (opposite).
    pub fn chordal_distance(self, other: Self) -> f64 {
        let cross = self.num * other.den - self.den * other.num;
        let norms = (self.num.norm_sqr() + self.den.norm_sqr())
            * (other.num.norm_sqr() + other.den.norm_sqr());
        cross.norm() / norms.sqrt()
    }
}

/// The map w = (a·z + b)/(c·z + d), as the matrix acting on pairs.
///
/// ```
/// use jigwise_physics::{Complex64, Mobius, Ratio};
///
/// let c = |re: f64| Complex64::new(re, 0.0);
/// let halve_and_shift = Mobius::new([[c(1.0), c(2.0)], [c(0.0), c(2.0)]]);
/// let four = Ratio::new(c(4.0), c(1.0))?;
/// let w = halve_and_shift.apply(four);
/// assert_eq!(w.value(), Some(c(3.0)));
/// assert_eq!(halve_and_shift.inverse().apply(w).value(), Some(c(4.0)));
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mobius {
    rows: [[Complex64; 2]; 2],
}

impl Mobius {
    /// The map with the matrix [[a, b], [c, d]].
    pub const fn new(rows: [[Complex64; 2]; 2]) -> Self {
        Self { rows }
    }

    /// The map with a real matrix [[a, b], [c, d]].
    pub const fn from_real(rows: [[f64; 2]; 2]) -> Self {
        let [[a, b], [c, d]] = rows;
        Self::new([
            [Complex64::new(a, 0.0), Complex64::new(b, 0.0)],
            [Complex64::new(c, 0.0), Complex64::new(d, 0.0)],
        ])
    }

    /// a·d − b·c; zero only where the map sends every point to one.
    pub fn determinant(&self) -> Complex64 {
        let [[a, b], [c, d]] = self.rows;
        a * d - b * c
    }

    /// The image of a point.
    pub fn apply(&self, point: Ratio) -> Ratio {
        let [[a, b], [c, d]] = self.rows;
        Ratio::scaled(a * point.num + b * point.den, c * point.num + d * point.den)
    }

    /// The inverse map, exact up to a common factor: [[d, −b], [−c, a]].
    pub fn inverse(&self) -> Self {
        let [[a, b], [c, d]] = self.rows;
        Self::new([[d, -b], [-c, a]])
    }

    /// `self` after `first`.
    pub fn after(&self, first: &Self) -> Self {
        let [[a, b], [c, d]] = self.rows;
        let [[e, f], [g, h]] = first.rows;
        Self::new([
            [a * e + b * g, a * f + b * h],
            [c * e + d * g, c * f + d * h],
        ])
    }

    /// dw/dz = (a·d − b·c)/(c·z + d)², or `None` where z or w is infinite.
    pub fn derivative(&self, point: Ratio) -> Option<Complex64> {
        let [_, [c, d]] = self.rows;
        let lower = c * point.num + d * point.den;
        if point.is_infinite() || lower == Complex64::ZERO {
            return None;
        }
        let step = divide(point.den, lower);
        Some(self.determinant() * step * step)
    }

    /// w(p) − w(q) without cancellation: (a·d − b·c)(p − q)/((c·p + d)(c·q + d)),
    /// or `None` where either image is infinite.
    ///
    /// Two readings that agree in their first twelve digits still give a difference good to
    /// the last one:
    ///
    /// ```
    /// use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};
    ///
    /// let z0 = ReferenceImpedance::FIFTY_OHM;
    /// let part = |ohm| Immittance::from_impedance(Complex64::new(ohm, 0.0)).unwrap();
    /// let (before, after) = (part(1e9), part(1.1e9));
    /// let shunt = Fixture::ShuntThrough.map(z0);
    ///
    /// // On paper: 2Z/(2Z + Z0) differs by 25·1e8/((1e9 + 25)(1.1e9 + 25)).
    /// let exact = 25.0 * 1e8 / ((1e9 + 25.0) * (1.1e9 + 25.0));
    /// let ours = shunt.difference(after.ratio(), before.ratio()).unwrap().re;
    /// let naive = 2.0 * 1.1e9 / (2.0 * 1.1e9 + 50.0) - 2.0 * 1e9 / (2.0 * 1e9 + 50.0);
    /// assert!((ours / exact - 1.0).abs() < 1e-15);
    /// assert!((naive / exact - 1.0).abs() > 1e-9);
    /// ```
    pub fn difference(&self, p: Ratio, q: Ratio) -> Option<Complex64> {
        let [_, [c, d]] = self.rows;
        let lower_p = c * p.num + d * p.den;
        let lower_q = c * q.num + d * q.den;
        if lower_p == Complex64::ZERO || lower_q == Complex64::ZERO {
            return None;
        }
        let cross = p.num * q.den - p.den * q.num;
        Some(divide(divide(self.determinant() * cross, lower_p), lower_q))
    }
}

fn largest_part(value: Complex64) -> f64 {
    value.re.abs().max(value.im.abs())
}

/// Two powers of two whose product brings `largest` into [0.5, 1).
fn power_of_two_below_one(largest: f64) -> (f64, f64) {
    let exponent = -exponent_of(largest) - 1;
    let half = exponent / 2;
    (power_of_two(half), power_of_two(exponent - half))
}

/// floor(log2(x)) for finite x > 0.
fn exponent_of(x: f64) -> i32 {
    const FRACTION_BITS: u32 = 52;
    const BIAS: i32 = 1023;
    let biased = ((x.to_bits() >> FRACTION_BITS) & 0x7ff) as i32;
    if biased == 0 {
        const LIFT: i32 = 54;
        return exponent_of(x * power_of_two(LIFT)) - LIFT;
    }
    biased - BIAS
}

/// 2ⁿ for a normal result, n from −1022 to 1023.
fn power_of_two(n: i32) -> f64 {
    f64::from_bits(((n + 1023) as u64) << 52)
}

/// num/den with the denominator first brought near one, so |den|² neither overflows nor
/// vanishes. Relative error below 6 units of rounding.
pub(crate) fn divide(num: Complex64, den: Complex64) -> Complex64 {
    let (f, g) = power_of_two_below_one(largest_part(den));
    (num / den.scale(f).scale(g)).scale(f).scale(g)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scaling_reaches_the_ends_of_the_double_range() {
        for x in [f64::MIN_POSITIVE, 5e-324, 1.0, 0.75, 1e300, f64::MAX] {
            let (f, g) = power_of_two_below_one(x);
            let y = x * f * g;
            assert!((0.5..1.0).contains(&y), "{x:e} became {y:e}");
        }
    }

    #[test]
    fn extreme_quotients_keep_their_digits() {
        let tiny = Complex64::new(3e-200, 4e-200);
        assert!((divide(tiny, tiny) - Complex64::ONE).norm() < 1e-15);
        let huge = Complex64::new(-3e250, 4e250);
        assert!((divide(huge, huge) - Complex64::ONE).norm() < 1e-15);
    }

    #[test]
    fn nothing_is_not_a_ratio() {
        assert_eq!(
            Ratio::new(Complex64::ZERO, Complex64::ZERO).unwrap_err(),
            NumberError::NoRatio
        );
        assert!(
            Ratio::new(Complex64::new(f64::NAN, 0.0), Complex64::ONE)
                .unwrap_err()
                .is_not_finite()
        );
    }
}
