//! Weighted complex least squares by Levenberg–Marquardt.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::form::{Coordinate, Form, MAX_VALUES};
use super::shared_shifts::{Scaled, followed_by_shifts, gram, square};
use super::{Goodness, ImpedanceSweep};
use crate::Covariance;
use crate::uncertainty::CholeskyFactor;

/// Where the search came to rest.
#[derive(Clone)]
pub(super) struct Solution {
    /// Values in the order of the form, SI units.
    pub values: Vec<f64>,
    /// Covariance in the coordinates of the search.
    pub covariance: DMatrix<f64>,
    /// The point in these coordinates.
    pub theta: [f64; MAX_VALUES],
    pub goodness: Goodness,
    /// ln det V, V the covariance of all readings from noise and systematic shifts.
    pub ln_determinant: f64,
}

/// The Cholesky factor of a point's covariance, never singular: its inverse makes residuals
/// independent, with unit variance.
fn whitening(covariance: Covariance) -> CholeskyFactor {
    let factor = covariance.cholesky();
    // The floor under both variances keeps this above zero.
    let least = (f64::EPSILON * covariance.im).sqrt();
    CholeskyFactor {
        im: factor.im.max(least),
        ..factor
    }
}

type Row = [f64; MAX_VALUES];

pub(super) struct Problem<'a> {
    sweep: &'a ImpedanceSweep<'a>,
    form: Form,
    coordinates: Vec<Coordinate>,
    whitenings: Vec<CholeskyFactor>,
    is_scatter_given: bool,
}

/// The covariance of each point that its weight is taken from, and whether it was given. A floor
/// of 10⁻⁹·|Z| stands for the digits of the numbers themselves.
pub(super) fn weighed(sweep: &ImpedanceSweep) -> (Vec<Covariance>, bool) {
    let largest = sweep.z_ohm().iter().map(|z| z.norm()).fold(0.0, f64::max);
    let is_given = sweep.has_random_scatter();
    let points = sweep.z_ohm().iter().zip(sweep.random());
    let covariances = points
        .map(|(z, random)| {
            let size = z.norm().max(1e-9 * largest).max(f64::MIN_POSITIVE.sqrt());
            if is_given {
                *random + Covariance::circular((1e-9 * size).powi(2))
            } else {
                Covariance::circular(size * size)
            }
        })
        .collect();
    (covariances, is_given)
}

impl<'a> Problem<'a> {
    pub(super) fn new(
        sweep: &'a ImpedanceSweep<'a>,
        form: Form,
        coordinates: Vec<Coordinate>,
    ) -> Self {
        let (covariances, is_scatter_given) = weighed(sweep);
        Self {
            sweep,
            form,
            coordinates,
            whitenings: covariances.into_iter().map(whitening).collect(),
            is_scatter_given,
        }
    }

    fn values_at(&self, theta: &Row) -> Row {
        let mut values = [0.0; MAX_VALUES];
        for ((value, coordinate), &t) in values.iter_mut().zip(&self.coordinates).zip(theta) {
            *value = coordinate.value(t);
        }
        values
    }

    fn residuals(&self, theta: &Row) -> Vec<f64> {
        let values = self.values_at(theta);
        let points = self.sweep.freq_hz().iter().zip(self.sweep.z_ohm());
        let mut residuals = Vec::with_capacity(2 * self.sweep.points());
        for ((&hz, &z), w) in points.zip(&self.whitenings) {
            residuals.extend_from_slice(&w.whiten(z - self.form.impedance_ohm(&values, hz)));
        }
        residuals
    }

    /// Derivatives of the whitened model, by central differences: the steps are small against
    /// what bends the model, so they are right to 10⁻⁸.
    fn jacobian(&self, theta: &Row) -> Vec<Row> {
        let mut rows = vec![[0.0; MAX_VALUES]; 2 * self.sweep.points()];
        for (k, coordinate) in self.coordinates.iter().enumerate() {
            let step = coordinate.step();
            let (mut low, mut high) = (*theta, *theta);
            low[k] -= step;
            high[k] += step;
            let (low, high) = (self.values_at(&low), self.values_at(&high));
            let points = self.sweep.freq_hz().iter().zip(&self.whitenings);
            for ((&hz, w), pair) in points.zip(rows.chunks_exact_mut(2)) {
                let change = self.form.impedance_ohm(&high, hz) - self.form.impedance_ohm(&low, hz);
                let [first, second] = w.whiten(change / (2.0 * step));
                pair[0][k] = first;
                pair[1][k] = second;
            }
        }
        rows
    }

    fn normal(&self, rows: &[Row]) -> DMatrix<f64> {
        let p = self.coordinates.len();
        let mut normal = DMatrix::zeros(p, p);
        for row in rows {
            for j in 0..p {
                for k in 0..=j {
                    normal[(j, k)] += row[j] * row[k];
                }
            }
        }
        for j in 0..p {
            for k in 0..j {
                normal[(k, j)] = normal[(j, k)];
            }
        }
        normal
    }

    fn project(&self, rows: &[Row], residuals: &[f64]) -> DVector<f64> {
        let mut sums = [0.0; MAX_VALUES];
        for (row, r) in rows.iter().zip(residuals) {
            for k in 0..MAX_VALUES {
                sums[k] += row[k] * r;
            }
        }
        DVector::from_column_slice(&sums[..self.coordinates.len()])
    }

    /// `None` where the search does not come to rest, or the sweep leaves a value entirely open.
    pub(super) fn solve(&self) -> Option<Solution> {
        self.solve_from([0.0; MAX_VALUES])
    }

    /// The circuit's impedance at every point, Ω.
    pub(super) fn model_ohm(&self, theta: &Row) -> Vec<Complex64> {
        let values = self.values_at(theta);
        let at = |&hz: &f64| self.form.impedance_ohm(&values, hz);
        self.sweep.freq_hz().iter().map(at).collect()
    }

    /// As [`Self::solve`], from another start.
    pub(super) fn solve_from(&self, start: Row) -> Option<Solution> {
        const MAX_STEPS: usize = 300;
        let freedom = (2 * self.sweep.points()).checked_sub(self.coordinates.len())?;
        let mut theta = start;
        let mut residuals = self.residuals(&theta);
        let mut cost = square(&residuals);
        let mut damping = 1e-3;
        let mut rows = self.jacobian(&theta);
        for _ in 0..MAX_STEPS {
            let normal = self.normal(&rows);
            let gradient = self.project(&rows, &residuals);
            if let Some(undamped) = Scaled::of(&normal, 0.0) {
                let step = undamped.solve(&gradient);
                let still_to_gain = step.dot(&gradient);
                let unit = if self.is_scatter_given {
                    1.0
                } else {
                    cost / freedom as f64
                };
                if still_to_gain <= 1e-14 * unit || step.amax() <= 1e-12 {
                    return self.finish(theta, &rows, &residuals, cost, freedom, &undamped);
                }
            }
            let mut moved = false;
            while damping < 1e15 {
                if let Some(damped) = Scaled::of(&normal, damping) {
                    let step = damped.solve(&gradient);
                    let mut tried = theta;
                    for ((t, s), coordinate) in
                        tried.iter_mut().zip(step.iter()).zip(&self.coordinates)
                    {
                        *t += coordinate.bounded(*s);
                    }
                    let tried_residuals = self.residuals(&tried);
                    let tried_cost = square(&tried_residuals);
                    if tried_cost.is_finite() && tried_cost < cost {
                        (theta, residuals, cost) = (tried, tried_residuals, tried_cost);
                        damping = (0.1 * damping).max(1e-12);
                        moved = true;
                        break;
                    }
                }
                damping *= 10.0;
            }
            if !moved {
                // No step of any length lowers the cost: at rest within rounding, if the slope
                // agrees.
                let undamped = Scaled::of(&normal, 0.0)?;
                let still_to_gain = undamped.solve(&gradient).dot(&gradient);
                let rounding = 1e-6 * (cost / freedom.max(1) as f64).max(1e-18);
                return (still_to_gain <= rounding)
                    .then(|| self.finish(theta, &rows, &residuals, cost, freedom, &undamped))?;
            }
            rows = self.jacobian(&theta);
        }
        None
    }

    fn finish(
        &self,
        theta: Row,
        rows: &[Row],
        residuals: &[f64],
        cost: f64,
        freedom: usize,
        normal: &Scaled,
    ) -> Option<Solution> {
        let p = self.coordinates.len();
        let unit = if self.is_scatter_given {
            1.0
        } else {
            cost / freedom.max(1) as f64
        };
        let whitened: Vec<Vec<f64>> = self.sweep.shifts().iter().map(|s| self.whiten(s)).collect();
        let mut covariance = normal.inverse() * unit;
        let mut unfollowed = Vec::with_capacity(whitened.len());
        for shift in &whitened {
            let moved = normal.solve(&self.project(rows, shift));
            let mut rest = shift.clone();
            for (row, r) in rows.iter().zip(&mut rest) {
                *r -= (0..p).map(|k| row[k] * moved[k]).sum::<f64>();
            }
            covariance += &moved * moved.transpose();
            unfollowed.push(rest);
        }
        let chi_square = if self.is_scatter_given {
            cost - followed_by_shifts(&unfollowed, residuals)?
        } else {
            cost
        };
        let ln_determinant = self.ln_determinant(&whitened)?;
        let degrees_of_freedom = u32::try_from(freedom).ok()?;
        let (worst, worst_square) = residuals
            .chunks_exact(2)
            .map(|pair| pair[0] * pair[0] + pair[1] * pair[1])
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let values = self.values_at(&theta);
        let worst_hz = self.sweep.freq_hz()[worst];
        let missed = self.sweep.z_ohm()[worst] - self.form.impedance_ohm(&values, worst_hz);
        Some(Solution {
            values: values[..p].to_vec(),
            covariance,
            theta,
            ln_determinant,
            goodness: Goodness {
                chi_square,
                degrees_of_freedom,
                p: self.is_scatter_given.then(|| {
                    let scale = self.sweep.noise_scale();
                    scale.p_value(chi_square, degrees_of_freedom)
                }),
                worst_hz,
                worst_ohm: missed.norm(),
                worst_in_sigma: (worst_square / unit.max(f64::MIN_POSITIVE)).sqrt(),
            },
        })
    }

    /// A shift in standard deviations of the scatter of each point.
    fn whiten(&self, shift: &[Complex64]) -> Vec<f64> {
        let points = shift.iter().zip(&self.whitenings);
        points.flat_map(|(&z, w)| w.whiten(z)).collect()
    }

    /// ln det V with det V = det W²·det(1 + SᵀS), W the scatter of each point, S the whitened
    /// shifts.
    fn ln_determinant(&self, whitened: &[Vec<f64>]) -> Option<f64> {
        let of_scatter: f64 = self.whitenings.iter().map(|w| (w.re * w.im).ln()).sum();
        let of_shifts = match whitened {
            [] => 0.0,
            _ => Scaled::of(&gram(whitened), 0.0)?.ln_determinant(),
        };
        Some(2.0 * of_scatter + of_shifts)
    }

    /// Values at a point moved in coordinate k, for the derivatives of derived values.
    pub(super) fn values_near(&self, theta: &Row, k: usize, by: f64) -> Row {
        let mut near = *theta;
        near[k] += by;
        self.values_at(&near)
    }

    pub(super) fn step(&self, k: usize) -> f64 {
        self.coordinates[k].step()
    }
}
