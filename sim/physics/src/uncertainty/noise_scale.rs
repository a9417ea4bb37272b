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
    Budget, Complex64, Covariance, Fixture, Immittance, RawAnalyzer, Scattering, TwelveTerms,
    p_value,
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

    /// The mean of P(χ² ≥ x/V) over V, within 10⁻⁴.
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
/// and variance 2/(9ν) within 10⁻⁴ of p. Source: Wilson and Hilferty, Proc. Natl. Acad. Sci. 17,
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
    ///
    /// Noise n of a standard's raw reading m is a residual n·dΓ/dm of that standard, with
    /// dΓ/dm = (1 − MΓ)²/R in reflect. In the through fixtures what is of second order in the raw
    /// match is left out of the standards' share, some percent of the whole.
    fn noise_ratio(&self, analyzer: &RawAnalyzer, point: &NoisePoint) -> Option<f64> {
        let NoisePoint {
            freq_hz,
            fixture,
            device,
        } = *point;
        let s11 = fixture.port_reflection(device, self.z0).value()?;
        let s21 = fixture.reading(device, self.z0).value()?;
        let (reflected, passed) = (Fixture::Reflect, Fixture::SeriesThrough);
        let terms = analyzer.terms(freq_hz);
        let port = terms.forward.one_port;
        let in_reflect = |gamma: Complex64| {
            let slope = (1.0 - port.source_match * gamma).powi(2) / port.reflect_tracking;
            (port.raw(gamma), slope, reflected)
        };
        let raw_through = terms.raw(&Scattering::THROUGH);
        let one = Complex64::ONE;
        let standards = [
            in_reflect(Complex64::ZERO),
            in_reflect(one),
            in_reflect(-one),
            in_reflect(terms.forward.load_match),
            (raw_through.s21, raw_through.s21.inv(), passed),
            (terms.forward.crosstalk, raw_through.s21.inv(), passed),
        ];
        let (read, own) = if fixture == reflected {
            let (raw, slope, _) = in_reflect(s11);
            (s11, self.noise_of(raw, reflected).through(slope))
        } else {
            (s21, self.own_noise_of_through(&terms, s11, s21))
        };
        let mut claimed = self.noise_of(read, fixture);
        let mut found = own;
        let of_standards = self.standards_noise(fixture, device)?;
        for ((a, noise), (raw, slope, kind)) in of_standards.into_iter().zip(standards) {
            claimed = claimed + noise.through(a);
            found = found + self.noise_of(raw, kind).through(a * slope);
        }
        half_trace_of_ratio(&claimed, &found)
    }

    /// Noise of S21 of a part in a through fixture from the four raw readings.
    fn own_noise_of_through(
        &self,
        terms: &TwelveTerms,
        s11: Complex64,
        s21: Complex64,
    ) -> Covariance {
        const STEP: f64 = 1e-6;
        let raw = terms.raw(&Scattering {
            s11,
            s12: s21,
            s21,
            s22: s11,
        });
        let of = |at: fn(&mut Scattering) -> &mut Complex64, kind| {
            let moved = |by: f64| {
                let mut moved = raw;
                *at(&mut moved) += by;
                terms.correct(&moved).s21
            };
            let slope = (moved(STEP) - moved(-STEP)) / (2.0 * STEP);
            let mut raw = raw;
            self.noise_of(*at(&mut raw), kind).through(slope)
        };
        of(|s| &mut s.s11, Fixture::Reflect)
            + of(|s| &mut s.s12, Fixture::SeriesThrough)
            + of(|s| &mut s.s21, Fixture::SeriesThrough)
            + of(|s| &mut s.s22, Fixture::Reflect)
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
    use crate::{Definitions, Instrument, Method, ReferenceImpedance, solve};

    #[test]
    fn the_cube_root_is_the_series() {
        for nu in [201, 1000, 4000] {
            let spread = (2.0 * f64::from(nu)).sqrt();
            for k in -3..=4 {
                let x = f64::from(nu) + spread * f64::from(k);
                let off = tail(x, nu) - p_value(x, nu);
                assert!(off.abs() < 1e-4, "{nu}, {k}: {off:e}");
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
        for (sigmas, p) in [(-1.0_f64, 0.841_344_7), (0.0, 0.5), (2.326_348, 0.01)] {
            let x = f64::from(nu) * (0.3 + 0.2 * sigmas).exp();
            let found = scale.p_value(x, nu);
            assert!((found / p - 1.0).abs() < 2e-3, "{sigmas}: {found}");
        }
    }

    /// The derivatives of a solved calibration give the same ratio.
    #[test]
    fn the_ratio_is_that_of_a_solved_calibration() {
        let z0 = ReferenceImpedance::FIFTY_OHM;
        let budget = Budget::new(&Instrument::CLUB_BENCH, z0, 0).unwrap();
        for (seed, re, im) in [
            (1, 50.0, 0.0),
            (2, 3.0, -40.0),
            (3, 200.0, 90.0),
            (4, 1e3, 1.0),
        ] {
            let device = Immittance::from_impedance(Complex64::new(re, im)).unwrap();
            let analyzer = RawAnalyzer::with_raw_match(seed, 0.1);
            for (fixture, tolerance) in Fixture::ALL.into_iter().zip([1e-4, 0.07, 0.07]) {
                let freq_hz = 3e7;
                let s11 = fixture.port_reflection(device, z0).value().unwrap();
                let s21 = fixture.reading(device, z0).value().unwrap();
                let planes = Scattering {
                    s11,
                    s12: s21,
                    s21,
                    s22: s11,
                };
                let is_reflect = fixture == Fixture::Reflect;
                let method = if is_reflect {
                    Method::OnePort
                } else {
                    Method::BothDirections
                };
                let ideal = Definitions::IDEAL;
                let standards = analyzer.measure_standards(&ideal, freq_hz, &[], None);
                let correction = solve(method, &standards, &ideal).unwrap();
                let raw = correction.raw_of(fixture, &planes);
                let read = |s: &Scattering| if is_reflect { s.s11 } else { s.s21 };
                let own = if is_reflect {
                    correction.own_noise_of_one_port(raw.s11, &budget)
                } else {
                    correction.own_noise_of_through(&raw, &budget)
                };
                let exact = own
                    + correction
                        .noise_of_standards(&budget, |moved| read(&moved.apply_in(fixture, &raw)));
                let claimed = budget
                    .standards_noise(fixture, device)
                    .unwrap()
                    .into_iter()
                    .fold(
                        budget.noise_of(read(&planes), fixture),
                        |sum, (a, noise)| sum + noise.through(a),
                    );
                let wanted = half_trace_of_ratio(&claimed, &exact).unwrap();
                let point = NoisePoint {
                    freq_hz,
                    fixture,
                    device,
                };
                let found = budget.noise_ratio(&analyzer, &point).unwrap();
                let off = (found / wanted - 1.0).abs();
                assert!(
                    off < tolerance,
                    "{fixture:?} {re} {im}: {found} for {wanted}"
                );
            }
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
