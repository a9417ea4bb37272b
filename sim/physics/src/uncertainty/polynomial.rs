//! Real roots of quadratics and quartics on the positive axis, smallest first.
//!
//! A quartic Σ c_k·τ^k on τ > 0 is, with x = τ/(1 + τ) and up to a positive factor, the
//! Bernstein polynomial of coefficients c_k/C(4, k) on 0 < x < 1. Sign changes of the
//! coefficients bound the number of roots (Descartes), halving the interval isolates them, and
//! a bracketed Newton step finishes. No root is skipped, and nothing is allocated.
//!
//! Source: G. E. Collins and A. G. Akritas, Polynomial real root isolation using Descartes'
//! rule of signs, SYMSAC 1976 (cited from memory).

/// Smallest τ ≥ 0 with c0 + c1·τ + c2·τ² ≥ 0, given c0 ≤ 0; infinite where there is none.
#[inline]
pub(crate) fn first_root_of_quadratic(c: [f64; 3]) -> f64 {
    let [c0, c1, c2] = c;
    let discriminant = c1 * c1 - 4.0 * c0 * c2;
    let root = discriminant.max(0.0).sqrt();
    // Each form where it does not cancel; computing both costs less than a wrong guess which.
    let rising = -2.0 * c0 / (c1 + root);
    let falling = (root - c1) / (2.0 * c2);
    let late = if c2 > 0.0 { falling } else { f64::INFINITY };
    let first = if c1 >= 0.0 { rising } else { late };
    let first = if discriminant < 0.0 {
        f64::INFINITY
    } else {
        first
    };
    if c0 >= 0.0 { 0.0 } else { first }
}

/// Smallest τ ≥ 0 with Σ c_k·τ^k ≥ 0, given c0 ≤ 0; infinite where there is none.
pub(crate) fn first_root_of_quartic(c: [f64; 5]) -> f64 {
    if c[0] >= 0.0 {
        return 0.0;
    }
    match sign_changes(&c) {
        0 => f64::INFINITY,
        1 => polish(&c, guess(&c), 0.0, f64::INFINITY, true),
        _ => first_isolated(&c, bernstein(&c), 0.0, 1.0).unwrap_or(f64::INFINITY),
    }
}

/// All τ > 0 at which Σ c_k·τ^k changes sign, rising; at most four.
pub(crate) fn sign_change_points(c: [f64; 5]) -> impl Iterator<Item = f64> {
    let mut found = [None; 4];
    let mut count = 0;
    collect_isolated(&c, bernstein(&c), 0.0, 1.0, &mut |root| {
        if count < 4 {
            found[count] = Some(root);
            count += 1;
        }
    });
    found.into_iter().flatten()
}

/// Value at τ.
pub(crate) fn value_at(c: &[f64; 5], t: f64) -> f64 {
    let t2 = t * t;
    ((c[4] * t2 + (c[3] * t + c[2])) * t2) + (c[1] * t + c[0])
}

/// Value of a quadratic at τ.
pub(crate) fn quadratic_at(c: [f64; 3], t: f64) -> f64 {
    (c[2] * t + c[1]) * t + c[0]
}

/// Product of two quadratics.
pub(crate) fn product(a: [f64; 3], b: [f64; 3]) -> [f64; 5] {
    [
        a[0] * b[0],
        a[0] * b[1] + a[1] * b[0],
        a[0] * b[2] + a[1] * b[1] + a[2] * b[0],
        a[1] * b[2] + a[2] * b[1],
        a[2] * b[2],
    ]
}

/// Sign changes of the coefficients, zeros left out.
fn sign_changes(c: &[f64; 5]) -> u32 {
    // Bit k of each mask is coefficient k; a run of equal signs costs one shift and no branch.
    let mut negative = 0u32;
    let mut positive = 0u32;
    for (k, &x) in c.iter().enumerate() {
        negative |= u32::from(x < 0.0) << k;
        positive |= u32::from(x > 0.0) << k;
    }
    if negative | positive == 0b11111 {
        return ((negative ^ (negative >> 1)) & 0b1111).count_ones();
    }
    let signs = c.iter().filter(|x| **x != 0.0).map(|x| *x < 0.0);
    signs
        .clone()
        .zip(signs.skip(1))
        .filter(|(a, b)| a != b)
        .count() as u32
}

fn bernstein(c: &[f64; 5]) -> [f64; 5] {
    [c[0], c[1] / 4.0, c[2] / 6.0, c[3] / 4.0, c[4]]
}

/// Bernstein coefficients of both halves (de Casteljau).
fn halves(b: [f64; 5]) -> ([f64; 5], [f64; 5]) {
    let (mut left, mut right) = ([0.0; 5], [0.0; 5]);
    let mut row = b;
    for k in 0..5 {
        left[k] = row[0];
        right[4 - k] = row[4 - k];
        for j in 0..4 - k {
            row[j] = 0.5 * (row[j] + row[j + 1]);
        }
    }
    (left, right)
}

/// Narrower than this in x, two roots are one within rounding.
const MIN_WIDTH: f64 = 1e-15;

fn first_isolated(c: &[f64; 5], b: [f64; 5], low: f64, high: f64) -> Option<f64> {
    match sign_changes(&b) {
        0 => None,
        1 => Some(polish_between(c, &b, low, high)),
        _ if high - low < MIN_WIDTH => Some(from_unit(low)),
        _ => {
            let middle = 0.5 * (low + high);
            let (left, right) = halves(b);
            if let Some(root) = first_isolated(c, left, low, middle) {
                return Some(root);
            }
            if right[0] >= 0.0 {
                return Some(from_unit(middle));
            }
            first_isolated(c, right, middle, high)
        }
    }
}

fn collect_isolated(c: &[f64; 5], b: [f64; 5], low: f64, high: f64, found: &mut impl FnMut(f64)) {
    match sign_changes(&b) {
        0 => {}
        1 => found(polish_between(c, &b, low, high)),
        _ if high - low < MIN_WIDTH => {}
        _ => {
            let middle = 0.5 * (low + high);
            let (left, right) = halves(b);
            collect_isolated(c, left, low, middle, &mut *found);
            // A root on the cut shows in neither half.
            if right[0] == 0.0 && left[3] * right[1] < 0.0 {
                found(from_unit(middle));
            }
            collect_isolated(c, right, middle, high, &mut *found);
        }
    }
}

fn from_unit(x: f64) -> f64 {
    x / (1.0 - x)
}

/// The only root of `c` between `low` and `high` in x, where `b` are its coefficients there.
fn polish_between(c: &[f64; 5], b: &[f64; 5], low: f64, high: f64) -> f64 {
    let start = from_unit(0.5 * (low + high));
    // From the coefficients, not from the value at `low`, which may be a root itself.
    let rising = b.iter().find(|x| **x != 0.0).is_some_and(|x| *x < 0.0);
    polish(c, start, from_unit(low), from_unit(high), rising)
}

/// Where the first three terms vanish: close for a root far below 1.
fn guess(c: &[f64; 5]) -> f64 {
    if c[2] > 0.0 {
        (-c[1] + (c[1] * c[1] - 4.0 * c[0] * c[2]).sqrt()) / (2.0 * c[2])
    } else {
        1.0
    }
}

/// The only sign change of a quartic in the open interval (low, high), `rising` from below
/// zero or falling.
fn polish(c: &[f64; 5], start: f64, mut low: f64, mut high: f64, rising: bool) -> f64 {
    // A Newton step this small squares to rounding.
    const LAST_STEP: f64 = 1e-8;
    const NARROW: f64 = 1e-15;
    // Enough to halve the whole exponent range and then the digits.
    const MAX_STEPS: usize = 200;
    let slopes = [c[1], 2.0 * c[2], 3.0 * c[3], 4.0 * c[4]];
    let mut t = start;
    for _ in 0..MAX_STEPS {
        let value = value_at(c, t);
        let slope = (slopes[3] * t + slopes[2]) * (t * t) + (slopes[1] * t + slopes[0]);
        let next = t - value / slope;
        if (value < 0.0) == rising {
            low = t;
        } else {
            high = t;
        }
        let step = (next - t).abs();
        // False for NaN too.
        if next > low && next < high {
            t = next;
            if step <= LAST_STEP * next {
                return t;
            }
        } else {
            if step <= NARROW * t || high - low <= NARROW * low {
                return t;
            }
            t = between(low, high);
        }
    }
    t
}

/// A point inside (low, high), halving the exponent range where it is wide.
fn between(low: f64, high: f64) -> f64 {
    const STRIDE: f64 = 16.0;
    if high.is_infinite() {
        (low * STRIDE).max(1.0)
    } else if low == 0.0 {
        high / STRIDE
    } else if high > 2.0 * low {
        (low * high).sqrt()
    } else {
        0.5 * (low + high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_roots(roots: [f64; 4], lead: f64) -> [f64; 5] {
        let pair = |a: f64, b: f64| [a * b, -a - b, 1.0];
        product(pair(roots[0], roots[1]), pair(roots[2], roots[3])).map(|c| lead * c)
    }

    #[test]
    fn the_smallest_positive_root_is_never_skipped() {
        // Lead negative so that the value at zero is below zero for four positive roots.
        for roots in [
            [1.0, 2.0, 3.0, 4.0],
            [1e-6, 0.5, 7.0, 1e5],
            [0.999, 1.001, 40.0, 41.0],
            [1.0, 1.5, 2.0, 1e4],
        ] {
            let first = first_root_of_quartic(with_roots(roots, -1.0));
            assert!(
                (first / roots[0] - 1.0).abs() < 1e-9,
                "{first} of {roots:?}"
            );
        }
        let three = first_root_of_quartic(with_roots([-5.0, 0.3, 0.4, 9.0], 1.0));
        assert!((three - 0.3).abs() < 1e-12);
        let one = first_root_of_quartic(with_roots([-1.0, -2.0, -3.0, 1e7], 1.0));
        assert!((one / 1e7 - 1.0).abs() < 1e-12);
        // (τ² − 2τ + 1.01)(τ² + 1) has no real root.
        let never = product([-1.01, 2.0, -1.0], [1.0, 0.0, 1.0]);
        assert_eq!(first_root_of_quartic(never), f64::INFINITY);
    }

    #[test]
    fn every_sign_change_is_listed_in_order() {
        let found: Vec<f64> = sign_change_points(with_roots([1e-4, 0.2, 1.0, 3e3], 2.0)).collect();
        assert_eq!(found.len(), 4);
        for (got, want) in found.iter().zip([1e-4, 0.2, 1.0, 3e3]) {
            assert!((got / want - 1.0).abs() < 1e-9, "{got} for {want}");
        }
    }

    #[test]
    fn quadratic_takes_the_first_crossing() {
        assert_eq!(first_root_of_quadratic([-2.0, 3.0, -1.0]), 1.0);
        assert_eq!(first_root_of_quadratic([-2.0, -1.0, 1.0]), 2.0);
        assert_eq!(first_root_of_quadratic([-2.0, -1.0, -1.0]), f64::INFINITY);
        assert_eq!(first_root_of_quadratic([-2.0, 0.0, 0.0]), f64::INFINITY);
        assert_eq!(first_root_of_quadratic([0.0, -1.0, 0.0]), 0.0);
    }
}
