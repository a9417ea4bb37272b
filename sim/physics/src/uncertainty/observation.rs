//! What the fixtures say of a part at one frequency, as equations with their covariance.

use crate::{Complex64, Covariance};

/// What one fixture says of the part, seen from an estimate of it, all in ohms to first order.
///
/// A step belongs to one real number of standard uncertainty 1. Its number says which: steps of
/// the same number in two observations come of one and the same error.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// How far from the estimate the reading puts the part: (S − S(Z))·dZ/dS, Ω.
    pub residual_ohm: Complex64,
    /// Covariance of it from noise that no other observation has, Ω².
    pub own_noise: Covariance,
    /// Steps of noise that several fixtures have in common at this frequency, Ω.
    pub common_noise: Vec<(usize, Complex64)>,
    /// Steps of what is one constant all over the sweep, Ω.
    pub constants: Vec<(usize, Complex64)>,
}

/// Three fixtures, two real numbers each.
pub(super) const MAX_EQUATIONS: usize = 6;
/// A column of the equations; those beyond their number are zero.
pub(super) type Column = [f64; MAX_EQUATIONS];

/// r = J·δZ + noise + Σ_j s_j·c_j, with the covariance of the noise and unit variance of each c_j.
pub(super) struct Equations {
    size: usize,
    residual: Column,
    noise: [Column; MAX_EQUATIONS],
    /// s_j by the numbers of the constants.
    pub constants: Vec<Column>,
}

/// The estimate's step and what is known of it.
pub(super) struct Mean {
    pub step_ohm: Complex64,
    pub covariance: Covariance,
    pub chi_square: f64,
}

/// Equations in units of the standard uncertainty of independent errors.
pub(super) struct Whitened {
    pub residual: Column,
    /// By the real and by the imaginary part of δZ.
    pub slopes: [Column; 2],
    pub constants: Vec<Column>,
}

impl Equations {
    /// Of at most three observations; more are left out.
    pub(super) fn of(seen: &[Observation]) -> Self {
        let seen = &seen[..seen.len().min(MAX_EQUATIONS / 2)];
        let mut residual = [0.0; MAX_EQUATIONS];
        let mut noise = [[0.0; MAX_EQUATIONS]; MAX_EQUATIONS];
        for (at, one) in (0..).step_by(2).zip(seen) {
            (residual[at], residual[at + 1]) = (one.residual_ohm.re, one.residual_ohm.im);
            let own = one.own_noise;
            noise[at][at] = own.re;
            noise[at + 1][at + 1] = own.im;
            noise[at][at + 1] = own.cross;
            noise[at + 1][at] = own.cross;
        }
        for step in columns(seen, |one| &one.common_noise) {
            add_square(&mut noise, &step);
        }
        Self {
            size: 2 * seen.len(),
            residual,
            noise,
            constants: columns(seen, |one| &one.constants),
        }
    }

    /// δZ by generalised least squares, noise and constants both taken for errors. `None` where
    /// their covariance is singular.
    pub(super) fn mean(&self) -> Option<Mean> {
        let mut whole = self.noise;
        for step in &self.constants {
            add_square(&mut whole, step);
        }
        let whitened = self.whitened_by(whole, &[])?;
        let Whitened {
            residual,
            slopes: [re, im],
            ..
        } = &whitened;
        let normal = Covariance {
            re: dot(re, re),
            im: dot(im, im),
            cross: dot(re, im),
        };
        let determinant = normal.determinant();
        let (a, b) = (dot(re, residual), dot(im, residual));
        let step_ohm = Complex64::new(
            (normal.im * a - normal.cross * b) / determinant,
            (normal.re * b - normal.cross * a) / determinant,
        );
        let left = |at: usize| residual[at] - re[at] * step_ohm.re - im[at] * step_ohm.im;
        Some(Mean {
            step_ohm,
            covariance: Covariance {
                re: normal.im / determinant,
                im: normal.re / determinant,
                cross: -normal.cross / determinant,
            },
            chi_square: (0..self.size).map(|at| left(at).powi(2)).sum(),
        })
    }

    /// In units of the noise. `None` where its covariance is singular.
    pub(super) fn whitened(&self) -> Option<Whitened> {
        self.whitened_by(self.noise, &self.constants)
    }

    fn whitened_by(
        &self,
        covariance: [Column; MAX_EQUATIONS],
        constants: &[Column],
    ) -> Option<Whitened> {
        let lower = cholesky(covariance, self.size)?;
        let whiten = |column: &Column| forward(&lower, column, self.size);
        let slopes = [0, 1].map(|part| {
            let mut slope = [0.0; MAX_EQUATIONS];
            slope[part..self.size]
                .iter_mut()
                .step_by(2)
                .for_each(|s| *s = 1.0);
            whiten(&slope)
        });
        Some(Whitened {
            residual: whiten(&self.residual),
            slopes,
            constants: constants.iter().map(whiten).collect(),
        })
    }
}

/// The steps by their numbers, each over all observations.
fn columns(
    seen: &[Observation],
    pick: impl Fn(&Observation) -> &[(usize, Complex64)],
) -> Vec<Column> {
    let numbers = seen
        .iter()
        .flat_map(|one| pick(one).iter().map(|(number, _)| number + 1));
    let mut columns = vec![[0.0; MAX_EQUATIONS]; numbers.max().unwrap_or(0)];
    for (at, one) in (0..).step_by(2).zip(seen) {
        for (number, step) in pick(one) {
            columns[*number][at] += step.re;
            columns[*number][at + 1] += step.im;
        }
    }
    columns
}

/// Adds s·sᵀ.
fn add_square(matrix: &mut [Column; MAX_EQUATIONS], step: &Column) {
    for (row, a) in matrix.iter_mut().zip(step) {
        for (entry, b) in row.iter_mut().zip(step) {
            *entry += a * b;
        }
    }
}

pub(super) fn dot(a: &Column, b: &Column) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// L with L·Lᵀ = V for the leading `size` rows; `None` unless V is positive definite.
fn cholesky(v: [Column; MAX_EQUATIONS], size: usize) -> Option<[Column; MAX_EQUATIONS]> {
    let mut lower = [[0.0; MAX_EQUATIONS]; MAX_EQUATIONS];
    for row in 0..size {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let rest = v[row][column] - known;
            lower[row][column] = if row == column {
                if rest.is_nan() || rest <= 0.0 {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / lower[column][column]
            };
        }
    }
    Some(lower)
}

/// L⁻¹·b.
fn forward(lower: &[Column; MAX_EQUATIONS], b: &Column, size: usize) -> Column {
    let mut x = [0.0; MAX_EQUATIONS];
    for row in 0..size {
        let known: f64 = (0..row).map(|k| lower[row][k] * x[k]).sum();
        x[row] = (b[row] - known) / lower[row][row];
    }
    x
}
