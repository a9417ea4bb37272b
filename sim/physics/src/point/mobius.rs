//! Points of the complex projective line and the maps between them.
//!
//! Source: any text on complex analysis, e.g. L. V. Ahlfors, Complex Analysis, on linear
//! fractional transformations (cited from memory).

use num_complex::Complex64;

use crate::NumberError;

/// A ratio num/den known up to a common complex factor. den = 0 is the point at infinity.
///
/// The pair is kept scaled by a power of two so that its largest component lies in
/// [0.5, 1): no product of two of them overflows, and scaling costs no digit. `==` compares the
/// pairs as stored: the same input gives the same pair, the same point need not; to compare
/// points there is [`Ratio::chordal_distance`].
#[derive(Debug, Clone, Copy, PartialEq)]
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
        let num = crate::number::finite("numerator", num)?;
        let den = crate::number::finite("denominator", den)?;
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
    pub(crate) const fn from_real(rows: [[f64; 2]; 2]) -> Self {
        let [[a, b], [c, d]] = rows;
        Self::new([
            [Complex64::new(a, 0.0), Complex64::new(b, 0.0)],
            [Complex64::new(c, 0.0), Complex64::new(d, 0.0)],
        ])
    }

    /// [[a, b], [c, d]].
    pub const fn rows(&self) -> [[Complex64; 2]; 2] {
        self.rows
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

/// What a disc becomes under a [`Mobius`] map: on the sphere always a disc, in the plane a
/// disc, the outside of one, or a half plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DiscImage {
    /// The points nearer to `center` than `radius`.
    Inside {
        /// Centre of the circle.
        center: Complex64,
        /// Its radius.
        radius: f64,
    },
    /// The points farther from `center` than `radius`: the point at infinity was in the disc.
    Outside {
        /// Centre of the circle.
        center: Complex64,
        /// Its radius.
        radius: f64,
    },
    /// One side of a straight line: the point at infinity was on the rim.
    HalfPlane,
}

impl DiscImage {
    /// True where the image holds `point`, the rim left out. `None` for a half plane.
    pub fn contains(&self, point: Complex64) -> Option<bool> {
        match *self {
            Self::Inside { center, radius } => Some((point - center).norm() < radius),
            Self::Outside { center, radius } => Some((point - center).norm() > radius),
            Self::HalfPlane => None,
        }
    }
}

impl Mobius {
    /// All points whose image lies within `radius` of the image of `point`: the inverse image
    /// of a disc. `None` where that image is infinite, the radius is not a finite number above
    /// zero, or the answer exceeds the range of numbers.
    ///
    /// With t0 = (a·d − b·c)/(c·p + d) and Δ = |t0|² − |c|²·ρ²: centre
    /// p + c*·ρ²·(a·d − b·c)/(t0·Δ), radius |a·d − b·c|·ρ/|Δ|; a disc where Δ > 0, its outside
    /// where Δ < 0. t0 comes from the point, not from its image, so a point near the pole of
    /// the inverse keeps its digits.
    ///
    /// ```
    /// use jigwise_physics::{Complex64, DiscImage, Fixture, Immittance, ReferenceImpedance};
    ///
    /// let part = Immittance::from_impedance(Complex64::new(950.0, 0.0))?;
    /// let map = Fixture::Reflect.map(ReferenceImpedance::FIFTY_OHM);
    /// let DiscImage::Inside { center, radius } =
    ///     map.inverse_image_of_disc(part.ratio(), 0.0734324).unwrap()
    /// else {
    ///     panic!()
    /// };
    /// assert!((center.re - 2120.289).abs() < 0.05 && (radius - 1593.695).abs() < 0.05);
    /// # Ok::<(), jigwise_physics::NumberError>(())
    /// ```
    pub fn inverse_image_of_disc(&self, point: Ratio, radius: f64) -> Option<DiscImage> {
        let [_, [c, d]] = self.rows;
        let lower = c * point.num + d * point.den;
        if lower == Complex64::ZERO || !radius.is_finite() || radius <= 0.0 {
            return None;
        }
        let determinant = self.determinant();
        let t0 = divide(determinant * point.den, lower);
        let reach = c.norm_sqr().sqrt() * radius;
        let distance = t0.norm_sqr().sqrt();
        let delta = (distance - reach) * (distance + reach);
        if delta == 0.0 {
            return Some(DiscImage::HalfPlane);
        }
        let image_radius = determinant.norm_sqr().sqrt() * radius / delta.abs();
        if delta > 0.0 {
            let shift = divide(c.conj() * (radius * radius) * determinant, t0) / delta;
            let center = point.value()? + shift;
            let finite = center.re.is_finite() && center.im.is_finite();
            return (finite && image_radius.is_finite()).then_some(DiscImage::Inside {
                center,
                radius: image_radius,
            });
        }
        // Here the point may be infinite, so the centre is built from its image.
        let image = self.apply(point).value()?;
        let [[_, b], _] = self.rows;
        let center = ((d * image - b) * t0.conj() + d * c.conj() * (radius * radius)) / delta;
        Some(DiscImage::Outside {
            center,
            radius: image_radius,
        })
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

/// floor(log2(x)) for finite x > 0; 0 for x = 0, which only a map without an inverse reaches.
fn exponent_of(x: f64) -> i32 {
    if x == 0.0 {
        return 0;
    }
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
    fn the_image_of_a_disc_holds_the_images_of_its_points_and_no_others() {
        let c = Complex64::new;
        let map = Mobius::new([[c(1.0, 0.5), c(-2.0, 0.0)], [c(0.3, -1.0), c(0.7, 0.2)]]);
        let pole = -c(0.7, 0.2) / c(0.3, -1.0);
        let mut kinds = [0; 2];
        for k in 0..40 {
            let center = Complex64::from_polar(0.1 * f64::from(k), 0.7 * f64::from(k));
            let radius = 0.8;
            let point = map.apply(Ratio::new(center, Complex64::ONE).unwrap());
            let image = map.inverse().inverse_image_of_disc(point, radius).unwrap();
            let holds_pole = (pole - center).norm() < radius;
            kinds[usize::from(holds_pole)] += 1;
            assert_eq!(matches!(image, DiscImage::Outside { .. }), holds_pole);
            for (part, inside) in [(0.0, true), (0.999, true), (1.001, false)] {
                for turn in 0..8 {
                    let from = center + Complex64::from_polar(radius * part, 0.8 * f64::from(turn));
                    let to = map
                        .apply(Ratio::new(from, Complex64::ONE).unwrap())
                        .value()
                        .unwrap();
                    assert_eq!(image.contains(to), Some(inside));
                }
            }
        }
        assert!(kinds[0] > 5 && kinds[1] > 1, "{kinds:?}");
    }

    #[test]
    fn a_map_without_an_inverse_has_a_point_without_an_image() {
        let map = Mobius::from_real([[1.0, 0.0], [1.0, 0.0]]);
        let zero = Ratio::new(Complex64::ZERO, Complex64::ONE).unwrap();
        assert_eq!(map.apply(zero).value(), None);
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
