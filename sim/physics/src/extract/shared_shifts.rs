//! χ² of residuals that share systematic shifts, and the factored matrices behind it.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// χ² = rᵀ·(1 + S·Sᵀ)⁻¹·r of residuals r with shared systematic shifts S, one column of `shifts` for
/// each real component, all in standard deviations of the noise. `None` where it is no finite
/// number.
///
/// ```
/// use jigwise_physics::chi_square_with_shifts;
/// // An offset of 3 that a component of 10 explains, and two residuals that it doesn't.
/// let shifts = [vec![10.0; 2]];
/// assert!(chi_square_with_shifts(&[3.0, 3.0], &shifts).unwrap() < 0.1);
/// assert!(chi_square_with_shifts(&[3.0, -3.0], &shifts).unwrap() > 17.9);
/// ```
pub fn chi_square_with_shifts(residuals: &[f64], shifts: &[Vec<f64>]) -> Option<f64> {
    let chi_square = square(residuals) - followed_by_shifts(shifts, residuals)?;
    chi_square.is_finite().then_some(chi_square.max(0.0))
}

/// χ² of the law that no quantity is below zero, and its degrees of freedom: the least of
/// Σ min(0, rₖ − sₖ·β)² + |β|² over the sizes β of the shared systematic shifts, for estimates r and
/// shifts S in standard deviations of their noise. Estimates that the shifts leave above zero keep
/// the law and add nothing. `None` where it is no finite number.
///
/// ```
/// use jigwise_physics::chi_square_below_zero;
/// // One shift takes all of them below zero, and the first is well above it without.
/// let shifts = [vec![10.0; 3]];
/// assert!(chi_square_below_zero(&[-2.0, -10.0, -10.5], &shifts).unwrap().0 < 1.5);
/// assert!(chi_square_below_zero(&[20.0, -10.0, -10.0], &[vec![-10.0, 10.0, -10.0]]).unwrap().0 > 90.0);
/// ```
pub fn chi_square_below_zero(estimates: &[f64], shifts: &[Vec<f64>]) -> Option<(f64, u32)> {
    const MAX_ROUNDS: usize = 50;
    let mut below: Vec<bool> = estimates.iter().map(|r| *r < 0.0).collect();
    let counted = below.iter().filter(|below| **below).count();
    let mut chi_square = 0.0;
    let mut last = counted;
    for _ in 0..MAX_ROUNDS {
        let kept = |column: &[f64]| -> Vec<f64> {
            let taken = column.iter().zip(&below).filter(|(_, below)| **below);
            taken.map(|(value, _)| *value).collect()
        };
        let residuals = kept(estimates);
        let columns: Vec<Vec<f64>> = shifts.iter().map(|column| kept(column)).collect();
        let along = DVector::from_fn(columns.len(), |k, _| dot(&columns[k], &residuals));
        let sizes = match columns.len() {
            0 => along.clone(),
            _ => Scaled::of(&gram(&columns), 0.0)?.solve(&along),
        };
        chi_square = square(&residuals) - along.dot(&sizes);
        last = residuals.len();
        let left = |k: usize| {
            let moved: f64 = shifts.iter().zip(&sizes).map(|(s, size)| s[k] * size).sum();
            estimates[k] - moved
        };
        let found: Vec<bool> = (0..estimates.len()).map(|k| left(k) < 0.0).collect();
        if found == below {
            break;
        }
        below = found;
    }
    let nu = u32::try_from(counted.max(last)).ok()?;
    chi_square.is_finite().then_some((chi_square.max(0.0), nu))
}

/// (S⊥ᵀr)ᵀ·(1 + S⊥ᵀS⊥)⁻¹·(S⊥ᵀr).
pub(super) fn followed_by_shifts(unfollowed: &[Vec<f64>], residuals: &[f64]) -> Option<f64> {
    if unfollowed.is_empty() {
        return Some(0.0);
    }
    let along = DVector::from_fn(unfollowed.len(), |k, _| dot(&unfollowed[k], residuals));
    Some(along.dot(&Scaled::of(&gram(unfollowed), 0.0)?.solve(&along)))
}

/// 1 + SᵀS.
pub(super) fn gram(columns: &[Vec<f64>]) -> DMatrix<f64> {
    let mut gram = DMatrix::identity(columns.len(), columns.len());
    for (j, column) in columns.iter().enumerate() {
        for (k, other) in columns.iter().enumerate().take(j + 1) {
            gram[(j, k)] += dot(column, other);
            gram[(k, j)] = gram[(j, k)];
        }
    }
    gram
}

/// A factored normal matrix, rows and columns scaled to a unit diagonal first.
pub(super) struct Scaled {
    factor: Cholesky<f64, Dyn>,
    scale: DVector<f64>,
}

impl Scaled {
    pub(super) fn of(normal: &DMatrix<f64>, damping: f64) -> Option<Self> {
        let scale = normal.diagonal().map(f64::sqrt);
        if !scale.iter().all(|s| *s > 0.0 && s.is_finite()) {
            return None;
        }
        let n = scale.len();
        let scaled = DMatrix::from_fn(n, n, |j, k| {
            let entry = normal[(j, k)] / (scale[j] * scale[k]);
            if j == k { entry + damping } else { entry }
        });
        scaled.cholesky().map(|factor| Self { factor, scale })
    }

    pub(super) fn solve(&self, right: &DVector<f64>) -> DVector<f64> {
        let scaled = right.component_div(&self.scale);
        self.factor.solve(&scaled).component_div(&self.scale)
    }

    pub(super) fn ln_determinant(&self) -> f64 {
        let diagonal = self.factor.l_dirty().diagonal();
        2.0 * diagonal.map(f64::ln).sum() + 2.0 * self.scale.map(f64::ln).sum()
    }

    pub(super) fn inverse(&self) -> DMatrix<f64> {
        let inverse = self.factor.inverse();
        DMatrix::from_fn(self.scale.len(), self.scale.len(), |j, k| {
            inverse[(j, k)] / (self.scale[j] * self.scale[k])
        })
    }
}

pub(super) fn square(r: &[f64]) -> f64 {
    dot(r, r)
}

/// In as many sums side by side as a processor adds at once: a sweep has thousands of readings.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    const SIDE_BY_SIDE: usize = 8;
    let mut sums = [0.0; SIDE_BY_SIDE];
    let (a, a_rest) = a.as_chunks::<SIDE_BY_SIDE>();
    let (b, b_rest) = b.as_chunks::<SIDE_BY_SIDE>();
    for (a, b) in a.iter().zip(b) {
        for k in 0..SIDE_BY_SIDE {
            sums[k] += a[k] * b[k];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f64>() + rest
}
