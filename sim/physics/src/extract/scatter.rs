//! How much readings scatter about a smooth curve, from their differences.

use num_complex::Complex64;

use crate::Covariance;

/// Points at each side of one that its scatter is taken from.
const WINDOW: usize = 8;

/// Weights of the fourth and the sixth difference: binomial coefficients of alternating sign.
/// Applied to independent errors of one σ they give σ times the root of the sum of their squares.
const DIFFERENCES: [&[f64]; 2] = [
    &[1.0, -4.0, 6.0, -4.0, 1.0],
    &[1.0, -6.0, 15.0, -20.0, 15.0, -6.0, 1.0],
];

/// The median of |x| of a Gaussian of one σ.
const MEDIAN_IN_SIGMA: f64 = 0.674_489_75;

/// The scatter of R and of X at each point about a smooth curve, Ω²: the median of the differences
/// around it, of that order which shows less. What bends slowly drops out of a difference, and a
/// narrow resonance moves few of those that the median is of. Zero for fewer than seven points,
/// which tell no scatter from shape.
pub(super) fn about_a_smooth_curve(z_ohm: &[Complex64]) -> Vec<Covariance> {
    let of = |part: fn(&Complex64) -> f64| {
        let values: Vec<f64> = z_ohm.iter().map(part).collect();
        let [fourth, sixth] = DIFFERENCES.map(|weights| sigmas(&values, weights));
        fourth.into_iter().zip(sixth).map(|(a, b)| a.min(b))
    };
    of(|z| z.re)
        .zip(of(|z| z.im))
        .map(|(re, im)| Covariance {
            re: re * re,
            im: im * im,
            cross: 0.0,
        })
        .collect()
}

/// σ around each value by the differences with `weights`.
fn sigmas(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let size = weights.iter().map(|w| w * w).sum::<f64>().sqrt();
    let differences: Vec<f64> = values
        .windows(weights.len())
        .map(|window| {
            let sum: f64 = window.iter().zip(weights).map(|(x, w)| x * w).sum();
            sum.abs() / size
        })
        .collect();
    let Some(last) = differences.len().checked_sub(1) else {
        return vec![0.0; values.len()];
    };
    let half = weights.len() / 2;
    (0..values.len())
        .map(|k| {
            let centre = k.saturating_sub(half).min(last);
            let from = centre.saturating_sub(WINDOW);
            let to = (centre + WINDOW).min(last);
            let mut around = differences[from..=to].to_vec();
            let middle = around.len() / 2;
            let (_, median, _) = around.select_nth_unstable_by(middle, f64::total_cmp);
            *median / MEDIAN_IN_SIGMA
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Draws;

    /// Noise of one ohm on a line, a parabola and a wide resonance is found as one ohm.
    #[test]
    fn the_noise_is_told_from_the_shape() {
        let mut draws = Draws::new(5);
        let z_ohm: Vec<Complex64> = (0..401)
            .map(|k| {
                let t = f64::from(k - 200) / 60.0;
                let shape = Complex64::new(3.0 * t * t, 10.0 * t) + 500.0 / Complex64::new(1.0, t);
                shape + draws.circular(1.0)
            })
            .collect();
        let found = about_a_smooth_curve(&z_ohm);
        let mean =
            |of: fn(&Covariance) -> f64| found.iter().map(of).sum::<f64>() / found.len() as f64;
        for mean in [mean(|c| c.re.sqrt()), mean(|c| c.im.sqrt())] {
            assert!((mean - 1.0).abs() < 0.15, "{mean}");
        }
    }

    #[test]
    fn a_smooth_curve_scatters_by_its_digits_only() {
        let z_ohm: Vec<Complex64> = (1..=60)
            .map(|k| Complex64::new(50.0, 1e-3 * f64::from(k)))
            .collect();
        assert!(
            about_a_smooth_curve(&z_ohm)
                .iter()
                .all(|c| c.trace() < 1e-24)
        );
        assert!(
            about_a_smooth_curve(&z_ohm[..4])
                .iter()
                .all(|c| c.trace() == 0.0)
        );
    }
}
