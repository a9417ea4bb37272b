//! What of a fit is given as values, and what is refused.

use std::f64::consts::TAU;

use nalgebra::DMatrix;

use super::bic::BIC_MARGIN;
use super::extracted::{Extracted, Goodness, Quantity, Refused, Value};
use super::fit::{Problem, Solution};
use super::form::{Form, MAX_VALUES, crystal, series_rlc};
use super::{ExtractError, ImpedanceSweep, Model};
use crate::REFUSED_P;

/// Least number of points inside the width of a resonance.
pub const MIN_POINTS_IN_WIDTH: usize = 5;

/// A resistance this many standard uncertainties below zero is refused, since no passive part has
/// it: noise makes it in one of 30 000 sweeps of a part without loss.
pub(super) const CLEARLY_BELOW_ZERO: f64 = 4.0;

/// True for a value that is above zero by more than twice its u.
pub(super) fn is_told(value: f64, u: f64) -> bool {
    value > 0.0 && u < 0.5 * value
}

/// # Errors
/// [`ExtractError::Misfit`] with p < 0.001.
fn check_goodness(model: Model, goodness: &Goodness) -> Result<(), ExtractError> {
    match goodness.p {
        Some(p) if p < REFUSED_P => Err(ExtractError::Misfit {
            model,
            chi_square: goodness.chi_square,
            degrees_of_freedom: goodness.degrees_of_freedom,
            p,
            worst_hz: goodness.worst_hz,
            worst_in_sigma: goodness.worst_in_sigma,
        }),
        _ => Ok(()),
    }
}

impl ImpedanceSweep<'_> {
    /// The values of a solution with what is derived from them.
    ///
    /// # Errors
    /// [`ExtractError`] where the fit is a misfit, or a value can't be that of a part or is not
    /// told.
    pub(super) fn judged(
        &self,
        model: Model,
        form: Form,
        problem: &Problem,
        solution: &Solution,
    ) -> Result<Extracted, ExtractError> {
        check_goodness(model, &solution.goodness)?;
        let mut v = [0.0; MAX_VALUES];
        v[..solution.values.len()].copy_from_slice(&solution.values);
        let derived = form.derived(&v);
        let named: Vec<(Quantity, f64)> = form
            .quantities()
            .iter()
            .copied()
            .zip(v)
            .chain(
                derived
                    .iter()
                    .map(|&(quantity, value, _)| (quantity, value)),
            )
            .collect();
        let slopes = self.slopes(form, problem, solution, named.len());
        let covariance = &slopes * &solution.covariance * slopes.transpose();
        let own: Vec<(Quantity, f64, f64)> = named[..form.quantities().len()]
            .iter()
            .enumerate()
            .map(|(k, &(quantity, value))| (quantity, value, covariance[(k, k)].sqrt()))
            .collect();
        self.check_values(form, &own)?;
        self.check_width(form, &v)?;
        let refused = derived
            .iter()
            .filter_map(|&(quantity, value, needs)| {
                let needed = own.iter().find(|(own, ..)| Some(*own) == needs);
                let why = needed
                    .and_then(|needed| self.why_not_derived(form, quantity, *needed, &v))
                    .or_else(|| (!value.is_finite()).then_some(ExtractError::NeverZero))?;
                Some(Refused { quantity, why })
            })
            .collect();
        let mut found = Extracted::new(&named, &covariance, refused, Some(solution.goodness));
        found.drop_lossless_resonance();
        found.fitted = Some((form, v));
        if self.has_errors() {
            found.ln_determinant = solution.ln_determinant;
        }
        Ok(found)
    }

    /// Checks the fitted values with their u.
    ///
    /// # Errors
    /// [`ExtractError`] for a resistance clearly below zero, and where the part can't be described
    /// without a value that the sweep doesn't tell.
    fn check_values(&self, form: Form, own: &[(Quantity, f64, f64)]) -> Result<(), ExtractError> {
        for &(quantity, value, u) in own {
            if value < -CLEARLY_BELOW_ZERO * u && quantity.is_resistance() {
                return Err(ExtractError::NegativeResistance {
                    quantity,
                    value_ohm: value,
                    u_ohm: u,
                });
            }
            if !form.is_optional(quantity) && !is_told(value, u) {
                return Err(ExtractError::NotTold {
                    quantity,
                    relative_u: u / value.abs(),
                    span_hz: self.span_hz(),
                });
            }
        }
        Ok(())
    }

    /// Derivatives of all values by the coordinates of the search.
    fn slopes(
        &self,
        form: Form,
        problem: &Problem,
        solution: &Solution,
        rows: usize,
    ) -> DMatrix<f64> {
        let p = solution.values.len();
        let mut slopes = DMatrix::zeros(rows, p);
        for k in 0..p {
            let step = problem.step(k);
            let [low, high] = [-step, step].map(|by| problem.values_near(&solution.theta, k, by));
            slopes[(k, k)] = (high[k] - low[k]) / (2.0 * step);
            let pairs = form.derived(&low).into_iter().zip(form.derived(&high));
            for (row, (low, high)) in (p..rows).zip(pairs) {
                slopes[(row, k)] = (high.1 - low.1) / (2.0 * step);
            }
        }
        slopes
    }

    /// Why a value that is derived from the optional value `needed` is not given; `None` where it
    /// is.
    fn why_not_derived(
        &self,
        form: Form,
        quantity: Quantity,
        needed: (Quantity, f64, f64),
        v: &[f64; MAX_VALUES],
    ) -> Option<ExtractError> {
        let (needed, value, u) = needed;
        if matches!(quantity, Quantity::SelfResonance | Quantity::LcResonance) {
            // (v/u)² is what χ² would grow by without this value, BIC what it costs.
            let gain = (value / u).powi(2) - (2.0 * self.points() as f64).ln();
            let is_seen = value > 0.0 && gain > BIC_MARGIN;
            return (!is_seen).then_some(ExtractError::ResonanceNotTold { quantity: needed });
        }
        if is_told(value, u) {
            return None;
        }
        if form != Form::SeriesRlc {
            let below = Value {
                quantity: needed,
                value,
                u,
            }
            .upper_bound();
            return Some(ExtractError::NotSeen {
                quantity: needed,
                below,
            });
        }
        // Q, and what the phase can tell.
        let x = TAU * v[0] * v[1];
        Some(ExtractError::QBeyondPhase {
            q: x / value,
            limit: 0.5 * x / u,
        })
    }

    /// A resonance in parallel is not among these: it is the circuit of a choke, whose L and C the
    /// slopes tell, and R has its own uncertainty.
    fn check_width(&self, form: Form, v: &[f64; MAX_VALUES]) -> Result<(), ExtractError> {
        let width_hz = match form {
            Form::SeriesRlc => series_rlc(v).width_hz().max(0.0),
            Form::Crystal => crystal(v).width_hz(0.0),
            _ => return Ok(()),
        };
        self.enough_in_width(v[0], width_hz)
    }

    pub(super) fn enough_in_width(
        &self,
        centre_hz: f64,
        width_hz: f64,
    ) -> Result<(), ExtractError> {
        let inside = |hz: &&f64| (**hz - centre_hz).abs() <= 0.5 * width_hz;
        let found = self.freq_hz().iter().filter(inside).count();
        if found >= MIN_POINTS_IN_WIDTH {
            return Ok(());
        }
        let near = self.nearest(centre_hz).clamp(1, self.points() - 1);
        Err(ExtractError::FewInWidth {
            found,
            needed: MIN_POINTS_IN_WIDTH,
            width_hz,
            step_hz: self.freq_hz()[near] - self.freq_hz()[near - 1],
        })
    }
}
