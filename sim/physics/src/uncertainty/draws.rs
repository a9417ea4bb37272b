//! Seeded random draws, the same on every platform.

use num_complex::Complex64;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::Covariance;

/// A stream of draws that is fixed by its seed.
///
/// ```
/// use jigwise_physics::Draws;
/// assert_eq!(Draws::new(7).normal(), Draws::new(7).normal());
/// assert_ne!(Draws::new(7).normal(), Draws::new(8).normal());
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draws(Xoshiro256PlusPlus);

impl Draws {
    /// The stream of `seed`.
    pub fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// One of many streams of a seed that do not overlap in practice.
    pub(crate) fn stream(seed: u64, number: u64) -> Self {
        // The odd constant spreads neighbouring numbers over all seeds.
        const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;
        Self::new(seed ^ number.wrapping_add(1).wrapping_mul(SPREAD))
    }

    /// Uniform in 0 ≤ x < 1.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        self.0.random()
    }

    /// Gaussian with mean 0 and variance 1.
    #[inline]
    pub fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    /// Circular Gaussian with the variance `per_component` in each part.
    #[inline]
    pub fn circular(&mut self, per_component: f64) -> Complex64 {
        Complex64::new(self.normal(), self.normal()) * per_component.sqrt()
    }

    /// Uniform in the disc of `radius`.
    pub fn in_disc(&mut self, radius: f64) -> Complex64 {
        loop {
            let point = Complex64::new(2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            if point.norm_sqr() <= 1.0 {
                return point * radius;
            }
        }
    }

    /// Gaussian with the given covariance of its parts.
    #[inline]
    pub fn with_covariance(&mut self, covariance: Covariance) -> Complex64 {
        let (a, b) = (self.normal(), self.normal());
        covariance.cholesky().colour(a, b)
    }
}
