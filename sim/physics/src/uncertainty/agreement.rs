//! Whether the fixtures that a part was swept in tell of the same part: one p-value for the whole
//! sweep.
//!
//! At each frequency the part is unknown, so of n observations 2(n − 1) combinations tell nothing
//! of it. In units of the noise these are the numbers y, all independent with variance 1, plus
//! S·c for the constants c of variance 1 that are the same at every frequency: y has the
//! covariance 1 + S·Sᵀ. With the principal directions u_i of S and their sizes d_i,
//!
//! - χ²_c = Σ (u_i·y)²/(1 + d_i²) over those with d_i > 1, where a constant is more than the noise
//!   of the whole sweep, has one degree of freedom for each;
//! - χ²_n = yᵀ(1 + S·Sᵀ)⁻¹y − χ²_c has the others.
//!
//! Both are looked at, for a sweep of many points would hide a constant of seven standard
//! uncertainties among its noise: p = 1 − (1 − min(p_c, p_n))², which is uniform where p_c and
//! p_n are.
//!
//! Source: generalised least squares in the form that adds its constants to the unknowns, derived
//! here; the smaller of two p-values after Tippett and Šidák (cited from memory).

use nalgebra::{DMatrix, SymmetricEigen};

use crate::uncertainty::observation::{Column, Equations, Observation, dot};
use crate::{BlendError, DOUBTFUL_P, NoiseScale, REFUSED_P};

/// How well the fixtures agree over a sweep. What the calibration, a connection or a blank leaves
/// is taken for one constant over the sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// The p-value of it all.
    pub p: f64,
    /// χ² of what differs by a constant over the sweep, and its degrees of freedom.
    pub of_constants: (f64, u32),
    /// χ² of what differs from point to point, and its degrees of freedom.
    pub of_noise: (f64, u32),
    /// How well the noise is known.
    pub noise_scale: NoiseScale,
}

impl Agreement {
    /// True below [`DOUBTFUL_P`]: a blend needs a warning.
    pub fn is_doubtful(&self) -> bool {
        self.p < DOUBTFUL_P
    }

    /// True below [`REFUSED_P`]: these are not sweeps of one part within this budget.
    pub fn is_contradiction(&self) -> bool {
        self.p < REFUSED_P
    }
}

impl From<Agreement> for BlendError {
    /// The contradiction, by the part of the sweep's χ² with the smaller p-value.
    fn from(agreement: Agreement) -> Self {
        let (constants, noise) = (agreement.of_constants, agreement.of_noise);
        let worse = match (p_of(constants), agreement.noise_scale.p_of(noise)) {
            (Some(a), Some(b)) if b < a => noise,
            (None, _) => noise,
            _ => constants,
        };
        Self::Contradiction {
            chi_square: worse.0,
            degrees_of_freedom: worse.1,
            p: agreement.p,
        }
    }
}

/// Takes what the fixtures say, point by point.
#[derive(Debug, Clone, Default)]
pub struct AgreementTally {
    scale: NoiseScale,
    /// yᵀy and the number of y.
    square: f64,
    count: usize,
    /// Sᵀy and the lower triangle of SᵀS, by rows.
    projection: Vec<f64>,
    normal: Vec<Vec<f64>>,
}

impl AgreementTally {
    /// Adds what several fixtures say at one frequency, seen from the same estimate. A point
    /// whose noise is singular tells nothing and is left out.
    pub fn add(&mut self, seen: &[Observation]) {
        if seen.len() < 2 {
            return;
        }
        let Some(whitened) = Equations::of(seen).whitened() else {
            return;
        };
        let along = orthonormal(whitened.slopes);
        let without_part = |column: &Column| {
            let mut left = *column;
            for direction in &along {
                let share = dot(direction, &left);
                for (entry, d) in left.iter_mut().zip(direction) {
                    *entry -= share * d;
                }
            }
            left
        };
        let y = without_part(&whitened.residual);
        let constants: Vec<Column> = whitened.constants.iter().map(without_part).collect();
        self.square += dot(&y, &y);
        self.count += 2 * (seen.len() - 1);
        while self.projection.len() < constants.len() {
            self.projection.push(0.0);
            self.normal.push(vec![0.0; self.projection.len()]);
        }
        for (row, step) in constants.iter().enumerate() {
            self.projection[row] += dot(step, &y);
            for (entry, other) in self.normal[row].iter_mut().zip(&constants) {
                *entry += dot(step, other);
            }
        }
    }

    /// A tally of readings whose noise is known as well as `scale` says.
    pub fn with_noise_scale(scale: NoiseScale) -> Self {
        Self {
            scale,
            ..Self::default()
        }
    }

    /// The agreement over all points; `None` where no point was told by two fixtures.
    pub fn finish(self) -> Option<Agreement> {
        if self.count == 0 {
            return None;
        }
        let columns = self.projection.len();
        let (mut constants, mut directions) = (0.0, 0);
        let mut noise = self.square;
        let normal = DMatrix::from_fn(columns, columns, |a, b| self.normal[a.max(b)][a.min(b)]);
        // Of an empty matrix there are no directions to ask for.
        let principal = (columns > 0).then(|| SymmetricEigen::new(normal));
        let principal = principal.iter().flat_map(|found| {
            let directions = found.eigenvectors.column_iter();
            found.eigenvalues.iter().zip(directions)
        });
        for (&size, direction) in principal {
            // dᵢ² and dᵢ·uᵢ·y.
            let projected: f64 = direction
                .iter()
                .zip(&self.projection)
                .map(|(a, b)| a * b)
                .sum();
            if size > 1.0 {
                let square = projected * projected / size;
                constants += square / (1.0 + size);
                noise -= square;
                directions += 1;
            } else if size > 0.0 {
                noise -= projected * projected / (1.0 + size);
            }
        }
        let of_constants = (constants, directions.min(self.count) as u32);
        let of_noise = (noise.max(0.0), self.count.saturating_sub(directions) as u32);
        let p = match (p_of(of_constants), self.scale.p_of(of_noise)) {
            // 1 − (1 − p)² without the rounding of a small p.
            (Some(a), Some(b)) => a.min(b) * (2.0 - a.min(b)),
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => return None,
        };
        Some(Agreement {
            noise_scale: self.scale,
            p,
            of_constants,
            of_noise,
        })
    }
}

/// The plane of two columns by two directions of length 1 at a right angle.
fn orthonormal([first, second]: [Column; 2]) -> [Column; 2] {
    let unit = |column: Column| {
        let length = dot(&column, &column).sqrt();
        column.map(|entry| entry / length)
    };
    let first = unit(first);
    let share = dot(&first, &second);
    let mut rest = second;
    for (entry, d) in rest.iter_mut().zip(&first) {
        *entry -= share * d;
    }
    [first, unit(rest)]
}

/// The p-value of a χ² with its degrees of freedom; `None` where there are none.
fn p_of(chi_square: (f64, u32)) -> Option<f64> {
    NoiseScale::KNOWN.p_of(chi_square)
}

impl NoiseScale {
    fn p_of(&self, (chi_square, degrees_of_freedom): (f64, u32)) -> Option<f64> {
        (degrees_of_freedom > 0).then(|| self.p_value(chi_square, degrees_of_freedom))
    }
}
