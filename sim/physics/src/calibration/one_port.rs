//! One port: three error terms between the reference plane and the receiver.

use num_complex::Complex64;

use crate::{CalibrationError, Mobius, Piece};

/// The least chordal distance of two known reflections that a calibration is solved from, 0.05:
/// 5.7° between two points of the rim. Errors of the standards come out about 1/0.05 = 20 times
/// larger than with an ideal open, short and load, and beyond that a solution is no calibration.
/// Our own choice, no source.
pub const MIN_SEPARATION: f64 = 0.05;

/// Raw readings nearer than this are one reading, and a map with a smaller determinant is one
/// point: below it fewer than seven digits of a corrected reading would be left.
const SAME_READING: f64 = 1e-9;

/// The error terms of one port.
///
/// m = e00 + e10e01·Γ/(1 − e11·Γ), a [`Mobius`] map of Γ, and back
/// Γ = (m − e00)/(e10e01 + e11·(m − e00)).
///
/// ```
/// use jigwise_physics::{Complex64, OnePortTerms};
///
/// let terms = OnePortTerms {
///     directivity: Complex64::new(0.05, -0.03),
///     source_match: Complex64::new(0.10, 0.08),
///     reflect_tracking: Complex64::from_polar(0.92, -40f64.to_radians()),
/// };
/// let [open, short, load] = [1.0, -1.0, 0.0].map(Complex64::from);
/// let measured = [open, short, load].map(|gamma| (gamma, terms.raw(gamma)));
/// let found = OnePortTerms::solve(&measured)?;
/// let part = Complex64::new(0.3, -0.4);
/// assert!((found.terms.correct(terms.raw(part)) - part).norm() < 1e-14);
/// # Ok::<(), jigwise_physics::CalibrationError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnePortTerms {
    /// e00, directivity: the reading of a match.
    pub directivity: Complex64,
    /// e11, source match: the reflection of the port towards the part.
    pub source_match: Complex64,
    /// e10e01, reflection tracking: the gain to the part and back.
    pub reflect_tracking: Complex64,
}

/// Terms found from standards, and how well they fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnePortFit {
    /// The terms.
    pub terms: OnePortTerms,
    /// Root mean square of m − (e00 + Γ·m·e11 − Γ·Δ) over the standards: zero but for rounding
    /// with three, a check of the standards with more.
    pub residual_rms: f64,
    /// The least chordal distance among the best three known reflections, 0 to 1: 0.707 for an
    /// ideal open, short and load.
    pub separation: f64,
    /// As `separation`, of the raw readings. Much less than `separation` means that two of the
    /// standards were the same thing, or that hardly anything of the port gets through.
    pub raw_separation: f64,
}

impl OnePortTerms {
    /// A port without errors.
    pub const NONE: Self = Self {
        directivity: Complex64::ZERO,
        source_match: Complex64::ZERO,
        reflect_tracking: Complex64::ONE,
    };

    /// The map from Γ to the raw reading: [[e10e01 − e00·e11, e00], [−e11, 1]].
    pub fn map(&self) -> Mobius {
        Mobius::new([
            [
                self.reflect_tracking - self.directivity * self.source_match,
                self.directivity,
            ],
            [-self.source_match, Complex64::ONE],
        ])
    }

    /// The raw reading of a reflection; not finite at Γ = 1/e11.
    pub fn raw(&self, gamma: Complex64) -> Complex64 {
        self.directivity + (self.reflect_tracking * gamma) / (1.0 - self.source_match * gamma)
    }

    /// The reflection with a raw reading; not finite at m = e00 − e10e01/e11, where nothing
    /// passive reads.
    pub fn correct(&self, raw: Complex64) -> Complex64 {
        let above = raw - self.directivity;
        above / (self.reflect_tracking + self.source_match * above)
    }

    /// The terms from known reflections Γ and their raw readings m, three or more, by least
    /// squares of the linear form m = e00 + Γ·m·e11 − Γ·Δ, Δ = e00·e11 − e10e01. Every
    /// standard has the same weight.
    ///
    /// # Errors
    /// [`CalibrationError`] for fewer than three, for standards less than
    /// [`MIN_SEPARATION`] apart, for readings that do not differ, and for NaN or infinity.
    /// Standards are named by their place in the list, from 1.
    pub fn solve(standards: &[(Complex64, Complex64)]) -> Result<OnePortFit, CalibrationError> {
        if standards.len() < 3 {
            return Err(CalibrationError::TooFew {
                found: standards.len(),
            });
        }
        for (k, &(known, raw)) in standards.iter().enumerate() {
            for value in [known.re, known.im, raw.re, raw.im] {
                if !value.is_finite() {
                    let piece = Piece::Numbered(k + 1);
                    return Err(CalibrationError::NotFinite { piece, value });
                }
            }
        }
        let spread = Spread::of(standards.len(), |j, k| {
            chordal(standards[j].0, standards[k].0)
        });
        let [first, second] = spread.nearest.map(|k| Piece::Numbered(k + 1));
        if spread.separation < MIN_SEPARATION {
            return Err(CalibrationError::Coincide {
                first,
                second,
                separation: spread.separation,
                freq_hz: None,
            });
        }
        let raw_spread = Spread::of(standards.len(), |j, k| {
            chordal(standards[j].1, standards[k].1)
        });
        if raw_spread.separation < SAME_READING {
            let [first, second] = raw_spread.nearest.map(|k| Piece::Numbered(k + 1));
            return Err(CalibrationError::SameReading { first, second });
        }
        let mut triangle = Triangle::default();
        for &(known, raw) in standards {
            triangle.add([Complex64::ONE, known * raw, -known, raw]);
        }
        let singular = CalibrationError::Singular {
            term: "reflection tracking",
        };
        let [directivity, source_match, delta] = triangle.solution().ok_or(singular)?;
        let terms = Self {
            directivity,
            source_match,
            reflect_tracking: directivity * source_match - delta,
        };
        if !terms.is_invertible() {
            return Err(singular);
        }
        Ok(OnePortFit {
            terms,
            residual_rms: (triangle.left_over / standards.len() as f64).sqrt(),
            separation: spread.separation,
            raw_separation: raw_spread.separation,
        })
    }

    fn is_invertible(&self) -> bool {
        let whole = self.reflect_tracking - self.directivity * self.source_match;
        let size =
            whole.norm_sqr() + self.directivity.norm_sqr() + self.source_match.norm_sqr() + 1.0;
        // NaN is not above.
        self.reflect_tracking.norm() > SAME_READING * size
    }
}

/// |a − b|/√((1 + |a|²)(1 + |b|²)); not a number beyond the range of squares.
fn chordal(a: Complex64, b: Complex64) -> f64 {
    let norms = (1.0 + a.norm_sqr()) * (1.0 + b.norm_sqr());
    ((a - b).norm_sqr() / norms).sqrt()
}

/// How far the best three points of a set are apart.
struct Spread {
    separation: f64,
    nearest: [usize; 2],
}

impl Spread {
    /// The two farthest points, and the one that is farthest from both: for three points that is
    /// the least distance of any two.
    fn of(count: usize, distance: impl Fn(usize, usize) -> f64) -> Self {
        let (mut a, mut b, mut farthest) = (0, 1, -1.0);
        for j in 0..count {
            for k in j + 1..count {
                if distance(j, k) > farthest {
                    (a, b, farthest) = (j, k, distance(j, k));
                }
            }
        }
        let mut best = Self {
            separation: -1.0,
            nearest: [a, b],
        };
        for c in (0..count).filter(|&c| c != a && c != b) {
            let (to_a, to_b) = (distance(a, c), distance(b, c));
            if to_a.min(to_b) > best.separation {
                let near = if to_a < to_b { a } else { b };
                best = Self {
                    separation: to_a.min(to_b),
                    nearest: [near.min(c), near.max(c)],
                };
            }
        }
        best
    }
}

/// Least squares with three unknowns: each equation is rotated into a triangle, so that nothing
/// is squared and no list is kept.
#[derive(Default)]
struct Triangle {
    /// Row k holds the coefficients of unknowns k to 2 and the right-hand side.
    rows: [[Complex64; 4]; 3],
    /// Sum of the squares that no solution can take away.
    left_over: f64,
}

impl Triangle {
    /// Adds the equation c0·x0 + c1·x1 + c2·x2 = c3.
    fn add(&mut self, mut equation: [Complex64; 4]) {
        for (k, row) in self.rows.iter_mut().enumerate() {
            let (p, q) = (row[k], equation[k]);
            let size = (p.norm_sqr() + q.norm_sqr()).sqrt();
            if size == 0.0 {
                continue;
            }
            let (c, s) = (p.conj() / size, q.conj() / size);
            for column in k..4 {
                let (x, y) = (row[column], equation[column]);
                row[column] = c * x + s * y;
                equation[column] = c.conj() * y - s.conj() * x;
            }
        }
        self.left_over += equation[3].norm_sqr();
    }

    /// `None` where the equations leave an unknown open.
    fn solution(&self) -> Option<[Complex64; 3]> {
        let mut x = [Complex64::ZERO; 3];
        for k in (0..3).rev() {
            let row = &self.rows[k];
            let known: Complex64 = (k + 1..3).map(|j| row[j] * x[j]).sum();
            let value = (row[3] - known) / row[k];
            if row[k] == Complex64::ZERO || !value.re.is_finite() || !value.im.is_finite() {
                return None;
            }
            x[k] = value;
        }
        Some(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Ratio;

    fn terms() -> OnePortTerms {
        OnePortTerms {
            directivity: Complex64::new(0.05, -0.03),
            source_match: Complex64::new(0.10, 0.08),
            reflect_tracking: Complex64::from_polar(0.92, -0.7),
        }
    }

    fn measured(known: &[Complex64]) -> Vec<(Complex64, Complex64)> {
        known.iter().map(|&g| (g, terms().raw(g))).collect()
    }

    fn turn(degrees: f64) -> Complex64 {
        Complex64::from_polar(1.0, degrees.to_radians())
    }

    #[test]
    fn the_map_is_raw_and_its_inverse_correct() {
        let gamma = Complex64::new(-0.4, 0.7);
        let point = Ratio::new(gamma, Complex64::ONE).unwrap();
        let raw = terms().map().apply(point).value().unwrap();
        assert!((raw - terms().raw(gamma)).norm() < 1e-15);
        assert!((terms().correct(raw) - gamma).norm() < 1e-15);
    }

    #[test]
    fn seven_standards_with_one_bad_leave_a_residual() {
        let known: Vec<_> = (0..7).map(|k| turn(51.0 * f64::from(k)) * 0.9).collect();
        let good = OnePortTerms::solve(&measured(&known)).unwrap();
        assert!(good.residual_rms < 1e-15);
        let mut bad = measured(&known);
        bad[3].1 += 0.02;
        let found = OnePortTerms::solve(&bad).unwrap();
        assert!((1e-3..0.02).contains(&found.residual_rms), "{found:?}");
    }

    #[test]
    fn standards_that_coincide_are_named() {
        let error =
            OnePortTerms::solve(&measured(&[turn(90.0), Complex64::ZERO, turn(92.0)])).unwrap_err();
        let CalibrationError::Coincide { first, second, .. } = error else {
            panic!("{error}");
        };
        assert_eq!((first, second), (Piece::Numbered(1), Piece::Numbered(3)));
        // A fourth one apart from the others mends it.
        let four = [turn(90.0), Complex64::ZERO, turn(92.0), turn(-90.0)];
        assert!(OnePortTerms::solve(&measured(&four)).is_ok());
    }

    #[test]
    fn a_standard_measured_twice_is_found() {
        let mut readings = measured(&[turn(0.0), turn(180.0), Complex64::ZERO]);
        readings[1].1 = readings[0].1;
        let error = OnePortTerms::solve(&readings).unwrap_err();
        assert!(matches!(error, CalibrationError::SameReading { .. }));
        assert!(
            OnePortTerms::solve(&readings[..2])
                .unwrap_err()
                .is_missing()
        );
        readings[1].1.re = f64::NAN;
        let error = OnePortTerms::solve(&readings).unwrap_err();
        assert!(matches!(
            error,
            CalibrationError::NotFinite {
                piece: Piece::Numbered(2),
                ..
            }
        ));
    }
}
