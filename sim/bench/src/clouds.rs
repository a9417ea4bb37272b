//! Repeated readings of a device and of the nudged device, in units of their own scatter.
//!
//! Whitened: with C̄ the mean of both random covariances and C̄ = L·Lᵀ (Cholesky), a reading S is
//! drawn at R·L⁻¹·S, where the rotation R puts the nudge along x. Both clouds then have unit
//! scatter and their centres are d apart, the separation of [`jigwise_physics::Budget`].

use std::sync::LazyLock;

use jigwise_physics::{
    CholeskyFactor, Complex64, Covariance, Draws, Fixture, Immittance, Residuals,
};

use crate::readout::Bench;

/// Points of one cloud.
pub const POINTS: usize = 200;
/// The points' own seed: they stay the same while a device is dragged.
const POINTS_SEED: u64 = 2_026;

/// Two clouds of one fixture, in σ, the middle between them at the origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Clouds {
    /// The fixture.
    pub fixture: Fixture,
    /// Distance of the two centres along x, σ.
    pub separation_sigma: f64,
    /// Readings before the nudge.
    pub before: Vec<[f64; 2]>,
    /// Readings after it.
    pub after: Vec<[f64; 2]>,
    /// Directions of growing |S| and of growing angle, unit vectors; `None` where |S| = 0.
    pub axes: Option<[[f64; 2]; 2]>,
    /// Where the ideal reading is, that of a perfect calibration.
    pub ideal: [f64; 2],
}

/// A 2×2 real matrix that turns readings into σ.
#[derive(Debug, Clone, Copy)]
struct Whitening([[f64; 2]; 2]);

impl Whitening {
    /// `None` where a direction has no scatter at all.
    fn new(mean: Covariance, toward: Complex64) -> Option<Self> {
        let CholeskyFactor {
            re: a,
            slant: b,
            im: c,
        } = mean.cholesky();
        // L⁻¹ of the lower triangle [[a, 0], [b, c]].
        let inverse = Self([[1.0 / a, 0.0], [-b / (a * c), 1.0 / c]]);
        let [x, y] = inverse.of(toward);
        let length = x.hypot(y);
        if !(a > 0.0 && c > 0.0 && length.is_finite()) {
            return None;
        }
        let (cosine, sine) = if length > 0.0 {
            (x / length, y / length)
        } else {
            (1.0, 0.0)
        };
        let [top, bottom] = inverse.0;
        let rotated = |k: usize| {
            [
                cosine * top[k] + sine * bottom[k],
                cosine * bottom[k] - sine * top[k],
            ]
        };
        let ([p, r], [q, s]) = (rotated(0), rotated(1));
        Some(Self([[p, q], [r, s]]))
    }

    fn of(self, value: Complex64) -> [f64; 2] {
        self.0.map(|[a, b]| a * value.re + b * value.im)
    }
}

impl Bench {
    /// The clouds of one fixture after the calibration that left `residuals`. `None` without an
    /// instrument, at the pole of an active part, and where the nudge means nothing.
    pub fn clouds(&self, fixture: Fixture, residuals: &Residuals) -> Option<Clouds> {
        let budget = self.budget()?;
        let nudge = self.nudge();
        let (device, nudged) = (self.device(), nudge.applied_to(self.device()));
        let map = budget.map(fixture);
        let reading = map.apply(device.ratio()).value()?;
        let covariance = |device| budget.random_covariance(fixture, device, nudge.is_swapped());
        let (first, second) = (covariance(device)?, covariance(nudged)?);
        let shift = |device| budget.calibration_shift(residuals, fixture, device);
        let (shift_before, shift_after) = (shift(device)?, shift(nudged)?);
        let ideal_step = map.difference(nudged.ratio(), device.ratio())?;
        let step = ideal_step + (shift_after - shift_before);
        let mean = Covariance {
            re: 0.5 * (first.re + second.re),
            im: 0.5 * (first.im + second.im),
            cross: 0.5 * (first.cross + second.cross),
        };
        let whitening = Whitening::new(mean, step)?;
        let half = 0.5 * whitening.of(step)[0];
        let place = |center: f64, scatter: Covariance| {
            let factor = scatter.cholesky();
            STANDARD_POINTS
                .iter()
                .map(|point| {
                    let [x, y] = whitening.of(factor.colour(point.re, point.im));
                    [center + x, y]
                })
                .collect()
        };
        let [ideal_x, ideal_y] = whitening.of(-shift_before);
        Some(Clouds {
            fixture,
            separation_sigma: 2.0 * half,
            before: place(-half, first),
            after: place(half, second),
            axes: (reading.norm() > 0.0).then(|| {
                let radial = reading / reading.norm();
                [radial, radial * Complex64::I].map(|axis| {
                    let [x, y] = whitening.of(axis);
                    let length = x.hypot(y);
                    [x / length, y / length]
                })
            }),
            ideal: [ideal_x - half, ideal_y],
        })
    }

    /// A reading that the calibration's residuals have moved, away from that of a good calibration in
    /// the fixture as it stands. `None` without an instrument and at the pole of an active part.
    pub fn reading_after(&self, fixture: Fixture, residuals: &Residuals) -> Option<Complex64> {
        let budget = self.budget()?;
        let shift = budget.calibration_shift(residuals, fixture, self.device())?;
        let good = budget.map(fixture).apply(self.device().ratio()).value()?;
        Some(good + shift)
    }

    /// The device computed back from [`Bench::reading_after`]. `None` without an instrument and at the pole of an active part.
    pub fn got_back_after(&self, fixture: Fixture, residuals: &Residuals) -> Option<Immittance> {
        self.device_of(fixture, self.reading_after(fixture, residuals)?)
    }
}

/// Fixed normal points with mean 0, variance 1 and no correlation, exactly.
static STANDARD_POINTS: LazyLock<Vec<Complex64>> = LazyLock::new(|| {
    let mut draws = Draws::new(POINTS_SEED);
    let mut points: Vec<[f64; 2]> = (0..POINTS)
        .map(|_| [draws.normal(), draws.normal()])
        .collect();
    let count = POINTS as f64;
    for k in [0, 1] {
        let mean = points.iter().map(|p| p[k]).sum::<f64>() / count;
        points.iter_mut().for_each(|p| p[k] -= mean);
    }
    let moment = |points: &[[f64; 2]], j: usize, k: usize| {
        points.iter().map(|p| p[j] * p[k]).sum::<f64>() / count
    };
    let slope = moment(&points, 0, 1) / moment(&points, 0, 0);
    points.iter_mut().for_each(|p| p[1] -= slope * p[0]);
    let [u, v] = [0, 1].map(|k| moment(&points, k, k).sqrt());
    points
        .into_iter()
        .map(|[x, y]| Complex64::new(x / u, y / v))
        .collect()
});
