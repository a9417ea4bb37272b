//! Scatter of a complex quantity: the 2×2 covariance of its real and imaginary parts.
//!
//! Sources: JCGM 100:2008 (GUM) for propagation, annex H.2 as its example; JCGM 102:2011 on
//! quantities with several components.

use num_complex::Complex64;

/// Covariance of (Re w, Im w), in the square of the unit of w.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Covariance {
    /// Variance of the real part.
    pub re: f64,
    /// Variance of the imaginary part.
    pub im: f64,
    /// Covariance of the two.
    pub cross: f64,
}

impl Covariance {
    /// No scatter.
    pub const ZERO: Self = Self {
        re: 0.0,
        im: 0.0,
        cross: 0.0,
    };

    /// The same scatter in every direction.
    pub const fn circular(variance_per_component: f64) -> Self {
        Self {
            re: variance_per_component,
            im: variance_per_component,
            cross: 0.0,
        }
    }

    /// Scatter along one direction only: a·aᵀ for the vector a of a real unit-variance cause.
    pub fn along(a: Complex64) -> Self {
        Self {
            re: a.re * a.re,
            im: a.im * a.im,
            cross: a.re * a.im,
        }
    }

    /// Covariance of f(w) to first order for analytic f: J·C·Jᵀ with J the rotation and scale
    /// by f′(w). A circular scatter stays circular.
    pub fn through(self, derivative: Complex64) -> Self {
        let Complex64 { re: a, im: b } = derivative;
        Self {
            re: a * a * self.re - 2.0 * a * b * self.cross + b * b * self.im,
            im: b * b * self.re + 2.0 * a * b * self.cross + a * a * self.im,
            cross: a * b * (self.re - self.im) + (a * a - b * b) * self.cross,
        }
    }

    /// Covariance of a complex quantity that depends on N correlated real ones, from its N
    /// derivatives and their covariance matrix: C = Σ_jk J_j·J_kᵀ·c_jk.
    pub fn of_real_inputs<const N: usize>(
        derivatives: &[Complex64; N],
        covariance: &[[f64; N]; N],
    ) -> Self {
        let mut sum = Self::ZERO;
        for (a, row) in derivatives.iter().zip(covariance) {
            for (b, c) in derivatives.iter().zip(row) {
                sum.re += a.re * b.re * c;
                sum.im += a.im * b.im * c;
                sum.cross += a.re * b.im * c;
            }
        }
        sum
    }

    /// Mean of n observations and the covariance of that mean, from their scatter (n − 1 in
    /// the divisor). `None` for fewer than two.
    pub fn of_mean(observations: &[Complex64]) -> Option<(Complex64, Self)> {
        if observations.len() < 2 {
            return None;
        }
        let n = observations.len() as f64;
        let mean = observations.iter().sum::<Complex64>() / n;
        let scatter = observations
            .iter()
            .map(|w| Self::along(w - mean))
            .fold(Self::ZERO, |sum, one| sum + one);
        Some((mean, scatter * (1.0 / (n * (n - 1.0)))))
    }

    /// True unless a part is NaN or infinite.
    pub fn is_finite(self) -> bool {
        self.re.is_finite() && self.im.is_finite() && self.cross.is_finite()
    }

    /// Sum of both variances, E|δw|².
    pub fn trace(self) -> f64 {
        self.re + self.im
    }

    /// Determinant, zero where all scatter lies along one direction.
    pub fn determinant(self) -> f64 {
        self.re * self.im - self.cross * self.cross
    }

    /// Variances along the widest and the narrowest direction.
    pub fn principal_variances(self) -> (f64, f64) {
        let mean = 0.5 * self.trace();
        let half_spread = (0.25 * (self.re - self.im).powi(2) + self.cross * self.cross).sqrt();
        (mean + half_spread, (mean - half_spread).max(0.0))
    }

    /// Correlation of real and imaginary part, −1 to 1; zero where one of them has no scatter.
    pub fn correlation(self) -> f64 {
        // Roots first: the product of two large variances may be no number.
        let size = self.re.sqrt() * self.im.sqrt();
        if size == 0.0 {
            return 0.0;
        }
        (self.cross / size).clamp(-1.0, 1.0)
    }

    /// The Cholesky factor. Of a singular C it has a zero on its diagonal.
    ///
    /// ```
    /// use jigwise_physics::Covariance;
    /// let factor = Covariance { re: 4.0, im: 10.0, cross: 2.0 }.cholesky();
    /// assert_eq!((factor.re, factor.slant, factor.im), (2.0, 1.0, 3.0));
    /// let point = factor.colour(0.5, -1.0);
    /// assert_eq!(factor.whiten(point), [0.5, -1.0]);
    /// ```
    #[inline]
    pub fn cholesky(self) -> CholeskyFactor {
        let re = self.re.sqrt();
        let slant = if re == 0.0 { 0.0 } else { self.cross / re };
        CholeskyFactor {
            re,
            slant,
            im: (self.im - slant * slant).max(0.0).sqrt(),
        }
    }

    /// Mahalanobis distance √(δᵀ·C⁻¹·δ); `None` where C is singular.
    pub fn distance(self, delta: Complex64) -> Option<f64> {
        let determinant = self.determinant();
        let square = self.im * delta.re * delta.re - 2.0 * self.cross * delta.re * delta.im
            + self.re * delta.im * delta.im;
        (determinant > 0.0).then(|| (square / determinant).sqrt())
    }
}

/// The lower Cholesky factor L = [[re, 0], [slant, im]] of a [`Covariance`], C = L·Lᵀ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CholeskyFactor {
    /// Standard deviation of the real part.
    pub re: f64,
    /// Covariance of both parts over the standard deviation of the real part.
    pub slant: f64,
    /// Standard deviation of the imaginary part where the real part is known.
    pub im: f64,
}

impl CholeskyFactor {
    /// L·(a, b). For independent a and b of variance 1 it has the covariance C.
    pub fn colour(self, a: f64, b: f64) -> Complex64 {
        Complex64::new(self.re * a, self.slant * a + self.im * b)
    }

    /// L⁻¹·δ: two independent numbers of variance 1 for a δ of covariance C. Not finite where C
    /// is singular.
    pub fn whiten(self, delta: Complex64) -> [f64; 2] {
        let first = delta.re / self.re;
        [first, (delta.im - self.slant * first) / self.im]
    }
}

impl std::ops::Add for Covariance {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            re: self.re + other.re,
            im: self.im + other.im,
            cross: self.cross + other.cross,
        }
    }
}

impl std::ops::Mul<f64> for Covariance {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self {
            re: self.re * factor,
            im: self.im * factor,
            cross: self.cross * factor,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rotation_turns_the_axes_and_keeps_the_principal_variances() {
        let scatter = Covariance {
            re: 4.0,
            im: 1.0,
            cross: 0.0,
        };
        let turned = scatter.through(Complex64::from_polar(1.0, 0.3));
        let (wide, narrow) = turned.principal_variances();
        assert!((wide - 4.0).abs() < 1e-14 && (narrow - 1.0).abs() < 1e-14);
        // The widest scatter lies along 0.3 rad.
        let along = |angle_rad: f64| {
            let direction = Complex64::cis(angle_rad);
            turned.re * direction.re.powi(2)
                + turned.im * direction.im.powi(2)
                + 2.0 * turned.cross * direction.re * direction.im
        };
        assert!((along(0.3) - wide).abs() < 1e-14);
        let along = Complex64::from_polar(2.0, 0.3);
        assert!((turned.distance(along).unwrap() - 1.0).abs() < 1e-14);
    }
}
