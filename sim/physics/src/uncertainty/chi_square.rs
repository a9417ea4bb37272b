//! The p-value of a χ²: the probability of one at least as large.
//!
//! Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.4.4 and 26.4.5
//! (cited from memory; values checked against scipy).

/// p-value P(χ² ≥ x) with ν degrees of freedom. With h = x/2, for even ν e^(−h)·Σ_{k < ν/2} h^k/k!;
/// for odd ν erfc(√h) + e^(−h)·Σ_{k < (ν−1)/2} h^(k+½)/Γ(k+3/2). 1 for ν = 0 or x ≤ 0, 0 for
/// infinite x and for NaN.
///
/// ```
/// use jigwise_physics::p_value;
/// // The 95 % points of 1, 2 and 3 degrees of freedom.
/// for (x, nu) in [(3.841459, 1), (5.991465, 2), (7.814728, 3)] {
///     assert!((p_value(x, nu) - 0.05).abs() < 1e-7);
/// }
/// assert_eq!(p_value(f64::INFINITY, 3), 0.0);
/// ```
pub fn p_value(x: f64, degrees_of_freedom: u32) -> f64 {
    let h = 0.5 * x;
    if degrees_of_freedom == 0 || h <= 0.0 {
        return 1.0;
    }
    if !h.is_finite() {
        return 0.0;
    }
    // In logarithms: with many degrees of freedom e^(−h) alone is below the smallest number.
    let (mut sum, mut ln_term, half) = if degrees_of_freedom.is_multiple_of(2) {
        (0.0, -h, 0.0)
    } else {
        let ln_first = 0.5 * h.ln() - h + std::f64::consts::FRAC_2_SQRT_PI.ln();
        (libm::erfc(h.sqrt()), ln_first, 0.5)
    };
    let ln_h = h.ln();
    for k in 0..degrees_of_freedom / 2 {
        sum += ln_term.exp();
        ln_term += ln_h - (f64::from(k + 1) + half).ln();
    }
    sum.min(1.0)
}

/// A p-value for a sentence; one that is too small for a number has a bound.
pub(crate) fn p_words(p: f64) -> String {
    if p > 0.0 {
        format!("{p:.1e}")
    } else {
        "below 1e-300".to_owned()
    }
}
