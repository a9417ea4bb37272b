//! Which circuit a sweep is of: model selection by the Bayesian information criterion.
//!
//! BIC = −2·ln L + p·ln n, with L the likelihood at the fitted values, p the number of values and
//! n = 2N the real and imaginary parts of N points. Up to a constant that all circuits share,
//!
//! - −2·ln L = χ² + ln det V where the scatter of the readings is given; V is the covariance of
//!   all readings, which all circuits share unless it is taken at the impedance of each
//!   ([`SweepErrors`](super::SweepErrors)),
//! - −2·ln L = n·ln(χ²/n) where it is taken from the residuals, χ²/n their mean square.
//!
//! The circuits are tried in rounds, those expected by how the part behaves at the low end of
//! the sweep first. Of a round the circuit of least BIC is taken; an earlier one stays unless a later
//! one is less by [`BIC_MARGIN`], or has fewer values. The next round is tried only where no circuit
//! of the one before follows the readings.
//!
//! A circuit whose χ² has p < 0.001 is refused. Its uncertainties are not widened by √(χ²/ν): a
//! misfit says that the circuit or the budget is wrong, and not by how much the values are.
//!
//! Source: G. Schwarz, Estimating the dimension of a model, Annals of Statistics 6(2), 461–464,
//! 1978 (cited from memory).

use std::f64::consts::FRAC_PI_4;

use super::{ExtractError, Extracted, ImpedanceSweep, Model, Quantity};
use crate::LineEnd;

/// By how much the BIC of a later circuit must be less for it to be taken instead of an earlier
/// one: a factor of twenty in likelihood. Common practice, no source.
pub const BIC_MARGIN: f64 = 6.0;

/// Without a given scatter, a circuit that misses the readings by more than this (rms, relative
/// to |Z|) is not taken for the part.
pub const MAX_RELATIVE_RESIDUAL: f64 = 0.1;

/// Share of |Z| that a calibration may leave in the readings, the same all over the sweep, where
/// no scatter is given that says how much it is. A resistor that misses the readings by no more
/// is taken for one, whatever other circuit follows that error. Common practice, no source.
pub const CALIBRATION_RESIDUAL: f64 = 0.02;

/// A relative residual below this is that of the last digits of the readings.
pub const ROUNDING_RESIDUAL: f64 = 1e-6;

/// How a part behaves at the low end of a sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LowEnd {
    /// −X > |R|: like a capacitor.
    Capacitive,
    /// X > |R|: like a coil.
    Inductive,
    /// |X| ≤ |R|: like a resistor.
    Resistive,
}

impl LowEnd {
    /// The circuits tried first, and those tried only where none of these follows the readings.
    pub const fn candidates(self) -> [&'static [Model]; 2] {
        match self {
            Self::Capacitive => [
                &[Model::Capacitor],
                &[Model::SeriesRlc, Model::Crystal, Model::Stub(LineEnd::Open)],
            ],
            Self::Inductive => [
                &[
                    Model::Inductor,
                    Model::InductorWithSkin,
                    Model::Choke,
                    Model::ParallelRlc,
                ],
                &[Model::Stub(LineEnd::Short)],
            ],
            Self::Resistive => [
                &[Model::Resistor, Model::Inductor, Model::Capacitor],
                &[
                    Model::InductorWithSkin,
                    Model::Choke,
                    Model::SeriesRlc,
                    Model::ParallelRlc,
                ],
            ],
        }
    }
}

/// The circuits tried on a sweep, and the one that describes the part.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelChoice {
    /// Every circuit tried, with its values or why it has none.
    pub tried: Vec<(Model, Result<Extracted, ExtractError>)>,
    /// Index in `tried` of the circuit that describes the part; `None` where none does.
    pub chosen: Option<usize>,
}

impl Extracted {
    /// Bayesian information criterion, up to a constant that all circuits fitted to one sweep
    /// share; lower is better. `None` for values of one point.
    pub fn bic(&self) -> Option<f64> {
        let goodness = self.goodness?;
        let values = self.fitted_values()? as f64;
        let n = f64::from(goodness.degrees_of_freedom) + values;
        let minus_two_ln_likelihood = match goodness.p {
            Some(_) => goodness.chi_square + self.ln_determinant,
            // A residual below 1e-9 relative is that of the digits of the numbers.
            None => n * (goodness.chi_square / n).max(1e-18).ln(),
        };
        Some(minus_two_ln_likelihood + values * n.ln())
    }

    /// rms of the residuals relative to |Z|, √(χ²/ν), where no scatter of the readings was
    /// given; `None` where it was, and for values of one point.
    pub fn relative_residual(&self) -> Option<f64> {
        let goodness = self.goodness.filter(|goodness| goodness.p.is_none())?;
        Some((goodness.chi_square / f64::from(goodness.degrees_of_freedom.max(1))).sqrt())
    }
}

impl ImpedanceSweep<'_> {
    /// How the part behaves at the low end: by the median angle of the first twentieth of the
    /// points, beyond 45° reactive.
    pub fn low_end(&self) -> LowEnd {
        let first = &self.z_ohm()[..self.points().div_ceil(20)];
        let mut angles: Vec<f64> = first.iter().map(|z| z.im.atan2(z.re.abs())).collect();
        angles.sort_by(f64::total_cmp);
        match angles[angles.len() / 2] {
            angle if angle > FRAC_PI_4 => LowEnd::Inductive,
            angle if angle < -FRAC_PI_4 => LowEnd::Capacitive,
            _ => LowEnd::Resistive,
        }
    }

    /// The circuit that describes the part, among the [`LowEnd::candidates`] of the sweep.
    ///
    /// ```
    /// use jigwise_physics::*;
    /// let part = Capacitor { capacitance_f: 10e-9, esr_ohm: 0.1, esl_h: 2e-9, leakage_ohm: None };
    /// let freq_hz: Vec<f64> = (1..=60).map(|k| 1e6 * k as f64).collect();
    /// let z_ohm: Vec<_> = freq_hz
    ///     .iter()
    ///     .map(|&f| part.immittance(f).unwrap().impedance().unwrap())
    ///     .collect();
    /// let random = vec![Covariance::circular(0.01f64.powi(2)); freq_hz.len()];
    /// let choice = ImpedanceSweep::new(&freq_hz, &z_ohm, &random, &[])?.choose_model();
    /// assert_eq!(choice.tried[choice.chosen.unwrap()].0, Model::Capacitor);
    /// # Ok::<(), ExtractError>(())
    /// ```
    pub fn choose_model(&self) -> ModelChoice {
        self.choose_model_among(&self.low_end().candidates())
    }

    /// The circuit that describes the part, among those of the first round of `rounds` in which
    /// one follows the readings.
    pub fn choose_model_among(&self, rounds: &[&[Model]]) -> ModelChoice {
        let mut tried = Vec::new();
        let mut chosen = None;
        for round in rounds {
            tried.extend(round.iter().map(|&model| (model, self.fit(model))));
            chosen = best(&tried);
            if chosen.is_some() {
                break;
            }
        }
        ModelChoice { tried, chosen }
    }
}

type Tried = [(Model, Result<Extracted, ExtractError>)];

/// The circuit of least BIC; an earlier one unless a later is less by [`BIC_MARGIN`], or has fewer
/// values.
fn best(tried: &Tried) -> Option<usize> {
    let relative_residual = |at: usize| tried[at].1.as_ref().ok()?.relative_residual();
    let mut best: Option<(usize, f64)> = None;
    for (at, (_, found)) in tried.iter().enumerate() {
        if relative_residual(at).is_some_and(|residual| residual > MAX_RELATIVE_RESIDUAL) {
            continue;
        }
        let Some(bic) = found.as_ref().ok().and_then(Extracted::bic) else {
            continue;
        };
        if is_better_told_as_choke(tried, at) {
            continue;
        }
        // One with fewer values than the earlier one is the simpler of the two.
        let values = |at: usize| tried[at].1.as_ref().ok()?.fitted_values();
        let margin = |before: usize| {
            if values(at) < values(before) {
                0.0
            } else {
                BIC_MARGIN
            }
        };
        if best.is_none_or(|(before, least)| bic < least - margin(before)) {
            best = Some((at, bic));
        }
    }
    let (at, _) = best?;
    let is_plain_resistor = tried[0].0 == Model::Resistor
        && relative_residual(0).is_some_and(|residual| residual <= CALIBRATION_RESIDUAL)
        && relative_residual(at).is_some_and(|residual| residual >= ROUNDING_RESIDUAL);
    Some(if is_plain_resistor { 0 } else { at })
}

/// True for R, L and C in parallel with a Q below one where a choke follows the readings too. Both
/// are one circuit then, and a core that is lossy below the resonance says more of the part.
fn is_better_told_as_choke(tried: &Tried, at: usize) -> bool {
    let (model, found) = &tried[at];
    let q = found
        .as_ref()
        .ok()
        .and_then(|found| found.value(Quantity::Q));
    let has_choke = tried
        .iter()
        .any(|(model, found)| *model == Model::Choke && found.is_ok());
    *model == Model::ParallelRlc && has_choke && q.is_some_and(|q| q.value < 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Capacitor, Complex64, Covariance, Draws, Inductor, Part, Resistor};

    const SIGMA_OHM: f64 = 0.05;

    fn freq_hz() -> Vec<f64> {
        (1..=60).map(|k| 5e5 * f64::from(k)).collect()
    }

    fn readings(part: impl Into<Part>, sigma_ohm: f64) -> Vec<Complex64> {
        let part = part.into();
        let mut draws = Draws::new(11);
        freq_hz()
            .iter()
            .map(|&hz| part.immittance(hz).unwrap().impedance().unwrap())
            .map(|z| z + draws.circular(sigma_ohm * sigma_ohm))
            .collect()
    }

    fn chosen(z_ohm: &[Complex64], sigma_ohm: f64) -> Option<Model> {
        let random = vec![Covariance::circular(sigma_ohm * sigma_ohm); z_ohm.len()];
        let choice = ImpedanceSweep::new(&freq_hz(), z_ohm, &random, &[])
            .unwrap()
            .choose_model();
        choice.chosen.map(|at| choice.tried[at].0)
    }

    fn capacitor() -> Capacitor {
        Capacitor {
            capacitance_f: 1e-9,
            esr_ohm: 0.5,
            esl_h: 20e-9,
            leakage_ohm: None,
        }
    }

    #[test]
    fn the_low_end_decides_what_is_tried_first() {
        let coil = Inductor {
            inductance_h: 10e-6,
            series_resistance_ohm: 1.0,
            parallel_capacitance_f: 2e-12,
            skin: None,
        };
        let resistor = Resistor {
            resistance_ohm: 100.0,
            parallel_capacitance_f: 20e-12,
            series_inductance_h: 0.0,
        };
        for (part, low_end, model) in [
            (
                Part::from(capacitor()),
                LowEnd::Capacitive,
                Model::Capacitor,
            ),
            (Part::from(coil), LowEnd::Inductive, Model::Inductor),
            (Part::from(resistor), LowEnd::Resistive, Model::Resistor),
        ] {
            let z_ohm = readings(part, SIGMA_OHM);
            let random = vec![Covariance::circular(SIGMA_OHM * SIGMA_OHM); z_ohm.len()];
            let hz = freq_hz();
            let sweep = ImpedanceSweep::new(&hz, &z_ohm, &random, &[]).unwrap();
            assert_eq!(sweep.low_end(), low_end);
            assert_eq!(chosen(&z_ohm, SIGMA_OHM), Some(model));
        }
    }

    /// BIC by its definition, from the residuals themselves.
    #[test]
    fn bic_is_that_of_the_residuals() {
        let z_ohm = readings(capacitor(), SIGMA_OHM);
        let hz = freq_hz();
        for sigma_ohm in [0.0, SIGMA_OHM] {
            let random = vec![Covariance::circular(sigma_ohm * sigma_ohm); z_ohm.len()];
            let sweep = ImpedanceSweep::new(&hz, &z_ohm, &random, &[]).unwrap();
            let found = sweep.fit(Model::Capacitor).unwrap();
            let n = 2.0 * z_ohm.len() as f64;
            let mut square = 0.0;
            for (&hz, z) in hz.iter().zip(&z_ohm) {
                let weight = if sigma_ohm > 0.0 { sigma_ohm } else { z.norm() };
                let residual = z - found.impedance_ohm(hz).unwrap();
                square += residual.norm_sqr() / (weight * weight);
            }
            let misfit = if sigma_ohm > 0.0 {
                square
            } else {
                n * (square / n).ln()
            };
            let wanted = misfit + 3.0 * n.ln();
            assert!((found.bic().unwrap() / wanted - 1.0).abs() < 1e-9);
        }
    }

    /// An honest misfit is refused, however small: no value is printed with a wider u instead.
    #[test]
    fn a_scatter_too_small_is_refused() {
        let z_ohm = readings(capacitor(), SIGMA_OHM);
        assert_eq!(chosen(&z_ohm, SIGMA_OHM), Some(Model::Capacitor));
        for factor in [1.5, 3.0] {
            assert_eq!(chosen(&z_ohm, SIGMA_OHM / factor), None);
        }
    }

    /// 100 Ω with what a calibration leaves, 1.6 % and −1.2 Ω all over the sweep, is no capacitor
    /// of 60 nF, which follows the −1.2 Ω a little better than a resistor does.
    #[test]
    fn without_a_scatter_an_error_of_the_calibration_makes_no_capacitor() {
        let ripple = |hz: f64| 0.25 * Complex64::cis(hz / 1e6 * 2.4);
        let z_ohm: Vec<_> = freq_hz()
            .into_iter()
            .map(|hz| Complex64::new(101.6, -1.2) + ripple(hz))
            .collect();
        assert_eq!(chosen(&z_ohm, 0.0), Some(Model::Resistor));
    }

    #[test]
    fn without_a_scatter_a_circuit_far_off_is_not_taken() {
        let z_ohm: Vec<_> = freq_hz()
            .into_iter()
            .map(|hz| Complex64::new(100.0 + 40.0 * (hz / 1e6 * 2.4).sin(), 3.0))
            .collect();
        assert_eq!(chosen(&z_ohm, 0.0), None);
    }
}
