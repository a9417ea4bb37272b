//! How well the noise of readings is known that were corrected elsewhere, and the p-value of a χ²
//! that rests on it.
//!
//! A budget's noise is that of a raw reading. The correction magnifies it by what the front end is:
//! with directivity D, tracking R and source match M a reflection Γ scatters by (1 − MΓ)²/R times
//! the noise of D + RΓ/(1 − MΓ), and the standards' readings do the same. A corrected file tells
//! none of these. At a match, where Γ is small, D makes most of the reading, and the variance can be
//! twice the budget's and more.
//!
//! So V, the ratio of the true variance to the budget's over a sweep, is looked at for some of the
//! invented front ends of [`RawAnalyzer::with_raw_match`], with the raw match of the budget. ln V is
//! taken for a Gaussian of their mean and standard deviation, and p is the mean of P(χ² ≥ x/V).
//! Where the front end is known V is 1.

use std::f64::consts::FRAC_1_SQRT_2;

use crate::{
    Budget, Covariance, Definitions, Fixture, Immittance, Method, RawAnalyzer, Scattering, p_value,
    solve,
};

/// ln V of readings, V their variance in units of the budget's.
///
/// ```
/// use jigwise_physics::{NoiseScale, p_value};
///
/// assert_eq!(NoiseScale::KNOWN.p_value(8.0, 5), p_value(8.0, 5));
/// // Half as much noise again as the budget says, give or take a fifth: no longer a contradiction.
/// let scale = NoiseScale { mean: 0.4, deviation: 0.2 };
/// assert!(p_value(600.0, 400) < 1e-9 && scale.p_value(600.0, 400) > 0.3);
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct NoiseScale {
    /// Mean of ln V.
    pub mean: f64,
    /// Standard deviation of ln V.
    pub deviation: f64,
}

/// One point of a sweep: where, in which fixture, and the device that is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoisePoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// The fixture.
    pub fixture: Fixture,
    /// What is read, with the fixture's strays around it.
    pub device: Immittance,
}

impl NoiseScale {
    /// The noise of a front end that is known.
    pub const KNOWN: Self = Self {
        mean: 0.0,
        deviation: 0.0,
    };

    /// The mean of P(χ² ≥ x/V) over V, to a thousandth of it or 10⁻⁵.
    pub fn p_value(&self, x: f64, degrees_of_freedom: u32) -> f64 {
        const REACH: f64 = 4.5;
        let at = |ln_v: f64| tail(x * (-ln_v).exp(), degrees_of_freedom);
        if self.deviation <= 0.0 {
            return p_value(x * (-self.mean).exp(), degrees_of_freedom);
        }
        // P falls from 1 to 0 over some √(2/ν) of ln V: a third of that as a step.
        let width = (2.0 / f64::from(degrees_of_freedom.max(1))).sqrt();
        let steps = (REACH / (width / self.deviation / 3.0).min(0.25)).ceil();
        let (mut sum, mut weights) = (0.0, 0.0);
        for k in -(steps as i32)..=steps as i32 {
            let t = REACH * f64::from(k) / steps;
            let weight = (-0.5 * t * t).exp();
            sum += weight * at(self.mean + self.deviation * t);
            weights += weight;
        }
        sum / weights
    }

    /// The mean of several: those of one front end vary together.
    pub fn mean_of(all: &[Self]) -> Self {
        let n = all.len().max(1) as f64;
        Self {
            mean: all.iter().map(|one| one.mean).sum::<f64>() / n,
            deviation: all.iter().map(|one| one.deviation).sum::<f64>() / n,
        }
    }
}

/// P(χ² ≥ x). Above 200 degrees of freedom by the cube root, which is Gaussian of mean 1 − 2/(9ν)
/// and variance 2/(9ν) within 10⁻⁵ of p. Source: Wilson and Hilferty, Proc. Natl. Acad. Sci. 17,
/// 684–688, 1931 (cited from memory; checked below against the series).
fn tail(x: f64, degrees_of_freedom: u32) -> f64 {
    if degrees_of_freedom <= 200 {
        return p_value(x, degrees_of_freedom);
    }
    let nu = f64::from(degrees_of_freedom);
    let variance = 2.0 / (9.0 * nu);
    let z = ((x / nu).cbrt() - (1.0 - variance)) / variance.sqrt();
    0.5 * libm::erfc(z * FRAC_1_SQRT_2)
}

impl Budget {
    /// How well the noise of a sweep is known that was corrected elsewhere, from at most eight of
    /// its points; [`NoiseScale::KNOWN`] for a budget without raw match.
    pub fn noise_scale(&self, points: &[NoisePoint]) -> NoiseScale {
        const FRONT_ENDS: u64 = 16;
        const LOOKED_AT: usize = 8;
        let raw_match = self.raw_match();
        if raw_match == 0.0 || points.is_empty() {
            return NoiseScale::KNOWN;
        }
        let looked_at = || points.iter().step_by(points.len().div_ceil(LOOKED_AT));
        let ln_v: Vec<f64> = (1..=FRONT_ENDS)
            .filter_map(|seed| {
                let analyzer = RawAnalyzer::with_raw_match(seed, raw_match);
                let ratios = looked_at().filter_map(|point| self.noise_ratio(&analyzer, point));
                let (sum, count) = ratios.fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
                Some((sum / count).ln()).filter(|ln_v: &f64| ln_v.is_finite())
            })
            .collect();
        let n = ln_v.len() as f64;
        if n < 2.0 {
            return NoiseScale::KNOWN;
        }
        let mean = ln_v.iter().sum::<f64>() / n;
        let square: f64 = ln_v.iter().map(|v| (v - mean).powi(2)).sum();
        NoiseScale {
            mean,
            deviation: (square / (n - 1.0)).sqrt(),
        }
    }

    /// The variance of a corrected reading with this front end in units of the budget's: half the
    /// trace of C⁻¹·V.
    fn noise_ratio(&self, analyzer: &RawAnalyzer, point: &NoisePoint) -> Option<f64> {
        let NoisePoint {
            freq_hz,
            fixture,
            device,
        } = *point;
        let s11 = fixture.port_reflection(device, self.z0).value()?;
        let s21 = fixture.reading(device, self.z0).value()?;
        let is_reflect = fixture == Fixture::Reflect;
        let method = if is_reflect {
            Method::OnePort
        } else {
            Method::Full
        };
        let standards = analyzer.measure_standards(&Definitions::IDEAL, freq_hz, &[], None);
        let correction = solve(method, &standards, &Definitions::IDEAL).ok()?;
        let planes = Scattering {
            s11,
            s12: s21,
            s21,
            s22: s11,
        };
        let raw = correction.raw_of(fixture, &planes);
        let read = |s: &Scattering| if is_reflect { s.s11 } else { s.s21 };
        let own = if is_reflect {
            correction.own_noise_of_one_port(raw.s11, self)
        } else {
            correction.own_noise_of_through(&raw, self)
        };
        let true_noise =
            own + correction.noise_of_standards(self, |moved| read(&moved.apply_in(fixture, &raw)));
        let claimed = self
            .standards_noise(fixture, device)?
            .into_iter()
            .fold(self.noise_of(read(&planes), fixture), |sum, (a, noise)| {
                sum + noise.through(a)
            });
        half_trace_of_ratio(&claimed, &true_noise)
    }
}

fn half_trace_of_ratio(claimed: &Covariance, found: &Covariance) -> Option<f64> {
    let trace = found.re * claimed.im + found.im * claimed.re - 2.0 * found.cross * claimed.cross;
    let ratio = 0.5 * trace / claimed.determinant();
    ratio.is_finite().then_some(ratio)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Complex64, Instrument, ReferenceImpedance};

    #[test]
    fn the_cube_root_is_the_series() {
        for nu in [201, 1000, 4000] {
            let spread = (2.0 * f64::from(nu)).sqrt();
            for k in -3..=4 {
                let x = f64::from(nu) + spread * f64::from(k);
                assert!((tail(x, nu) - p_value(x, nu)).abs() < 1e-5, "{nu}, {k}");
            }
        }
    }

    /// For many degrees of freedom χ²/ν says V, whose p is that of a Gaussian.
    #[test]
    fn p_is_that_of_the_factor_where_points_are_many() {
        let scale = NoiseScale {
            mean: 0.3,
            deviation: 0.2,
        };
        let nu = 400_000;
        for (sigmas, p) in [(-1.0, 0.841_344_7), (0.0, 0.5), (2.326_348, 0.01)] {
            let x = f64::from(nu) * (0.3 + 0.2 * sigmas).exp();
            let found = scale.p_value(x, nu);
            assert!((found / p - 1.0).abs() < 2e-3, "{sigmas}: {found}");
        }
    }

    /// At a match most of the raw reading is the directivity; far from it the budget is nearly
    /// right.
    #[test]
    fn a_match_scatters_by_the_directivity() {
        let z0 = ReferenceImpedance::FIFTY_OHM;
        let scale = |instrument: &Instrument, ohm: f64| {
            let device = Immittance::from_impedance(Complex64::from(ohm)).unwrap();
            let points = [1e6, 5e7, 1e8].map(|freq_hz| NoisePoint {
                freq_hz,
                fixture: Fixture::Reflect,
                device,
            });
            Budget::new(instrument, z0, 0).unwrap().noise_scale(&points)
        };
        let club = scale(&Instrument::CLUB_BENCH, 50.0);
        assert!(club.mean > 0.5 && club.deviation > 0.1, "{club:?}");
        let far = scale(&Instrument::CLUB_BENCH, 5.0);
        assert!(far.mean < 0.3, "{far:?}");
        let known = Budget::new(&Instrument::CLUB_BENCH, z0, 0).unwrap();
        assert_eq!(
            known.without_raw_match().noise_scale(&[]),
            NoiseScale::KNOWN
        );
    }
}
