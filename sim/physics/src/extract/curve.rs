//! What start values are found from: an immittance over frequency, and straight fits to it.

use std::f64::consts::TAU;

use nalgebra::{Matrix2, Vector2};
use num_complex::Complex64;

use super::ImpedanceSweep;
use super::form::{Coordinate, Form};
use crate::Covariance;

/// A form with the start of its coordinates.
pub(super) type Start = (Form, Vec<Coordinate>);

/// Immittances over frequency with the covariance of each.
pub(super) struct Curve {
    pub omega: Vec<f64>,
    pub w: Vec<Complex64>,
    covariance: Vec<Covariance>,
}

impl Curve {
    pub(super) fn impedance(sweep: &ImpedanceSweep) -> Self {
        Self {
            omega: sweep.freq_hz().iter().map(|hz| TAU * hz).collect(),
            w: sweep.z_ohm().to_vec(),
            covariance: super::fit::weighed(sweep).0,
        }
    }

    pub(super) fn admittance(sweep: &ImpedanceSweep) -> Self {
        Self::impedance(sweep).inverted()
    }

    pub(super) fn inverted(mut self) -> Self {
        for (w, c) in self.w.iter_mut().zip(&mut self.covariance) {
            // A reading of exactly zero says nothing about its inverse.
            let known = if *w == Complex64::ZERO {
                Complex64::new(f64::MIN_POSITIVE.sqrt(), 0.0)
            } else {
                *w
            };
            *c = c.through(-1.0 / (known * known));
            *w = known.inv();
        }
        self
    }

    /// The slopes (a, b) of Im w = a·ω − b/ω.
    pub(super) fn reactive(&self) -> Option<(f64, f64)> {
        // In units of a frequency of the sweep, or squares of 10⁹ meet those of 10⁻⁹.
        let unit = self.omega[self.omega.len() / 2];
        let mut normal = Matrix2::zeros();
        let mut right = Vector2::zeros();
        for ((&omega, w), c) in self.omega.iter().zip(&self.w).zip(&self.covariance) {
            let basis = Vector2::new(omega / unit, -unit / omega);
            normal += basis * basis.transpose() / c.im;
            right += basis * (w.im / c.im);
        }
        let found = normal.try_inverse()? * right;
        let (a, b) = (found[0] / unit, found[1] * unit);
        (a.is_finite() && b.is_finite()).then_some((a, b))
    }

    /// a of Im w = a·ω.
    pub(super) fn slope(&self) -> f64 {
        let points = self.omega.iter().zip(&self.w).zip(&self.covariance);
        let (above, below) = points.fold((0.0, 0.0), |(above, below), ((&omega, w), c)| {
            (above + w.im * omega / c.im, below + omega * omega / c.im)
        });
        above / below
    }

    pub(super) fn real_mean(&self) -> f64 {
        let points = self.w.iter().zip(&self.covariance);
        let (above, below) = points.fold((0.0, 0.0), |(above, below), (w, c)| {
            (above + w.re / c.re, below + 1.0 / c.re)
        });
        above / below
    }
}

pub(super) fn log(start: f64) -> Coordinate {
    Coordinate::Log { start }
}

pub(super) fn linear(start: f64, scale: f64) -> Coordinate {
    Coordinate::Linear {
        start,
        scale: start.abs().max(scale),
    }
}

/// A frequency, moved in units of a width.
pub(super) fn linear_at(start: f64, scale: f64) -> Coordinate {
    Coordinate::Linear { start, scale }
}
