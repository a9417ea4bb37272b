//! How far found values are from the true ones.

use jigwise_physics::{Extracted, Quantity};
use nalgebra::{DMatrix, DVector};

/// δᵀ·C⁻¹·δ of the true values from those found, C the joint covariance of these values: a χ²
/// with as many degrees of freedom as there are values. `None` where one wasn't found or where
/// they are not independent.
pub fn distance_squared(found: &Extracted, truth: &[(Quantity, f64)]) -> Option<f64> {
    let own: Option<Vec<_>> = truth.iter().map(|&(q, _)| found.value(q)).collect();
    let own = own?;
    if own.iter().any(|value| value.u <= 0.0) {
        return None;
    }
    let n = truth.len();
    let delta = DVector::from_fn(n, |k, _| (own[k].value - truth[k].1) / own[k].u);
    let mut correlation = DMatrix::identity(n, n);
    for j in 0..n {
        for k in 0..n {
            let covariance = found.covariance(truth[j].0, truth[k].0)?;
            correlation[(j, k)] = covariance / (own[j].u * own[k].u);
        }
    }
    let factor = correlation.cholesky()?;
    Some(delta.dot(&factor.solve(&delta)))
}
