//! Where the impedance lies with a wanted probability, and which statement of it holds.
//!
//! A reading scattered by a circular Gaussian of σ per component lies with probability p in the
//! disc of radius ρ = σ·√(−2·ln(1 − p)), 2.448·σ for 95 %. The inverse of a fixture is a Möbius
//! map, so the region of the impedance is a disc too, exactly. Every inverse is
//! Z = A + B/T with T = 1 − S11, 1 − S21 or S21; with t0 the nominal T the region has the
//! centre A + B·t0*/(|t0|² − ρ²) and the radius |B|·ρ/(|t0|² − ρ²) where ρ < |t0|. For a
//! scatter that is not circular, σ is that of its widest direction, and the disc covers more
//! than p.

use crate::number::within;
use crate::{Covariance, DiscImage, EntryError, Fixture, Immittance, Mobius, ReferenceImpedance};

/// A coverage probability, 0 < p < 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Coverage(f64);

impl Coverage {
    /// 95 %.
    pub const P95: Self = Self(0.95);

    /// The probability `p`.
    ///
    /// # Errors
    /// [`EntryError`] unless 0.01 ≤ p ≤ 0.999999: no finite region holds everything.
    pub fn new(p: f64) -> Result<Self, EntryError> {
        within("coverage probability", p, 0.01, 0.999_999, "").map(Self)
    }

    /// The probability p.
    pub const fn probability(self) -> f64 {
        self.0
    }

    /// Radius that holds p of a circular Gaussian, in σ of one component: √(−2·ln(1 − p)),
    /// 2.448 for 95 %.
    pub fn radius_in_sigma(self) -> f64 {
        (-2.0 * (-self.0).ln_1p()).sqrt()
    }

    /// The same radius in rms magnitudes √E|δ|²: √(−ln(1 − p)), 1.731 for 95 %.
    pub fn radius_in_rms(self) -> f64 {
        (-(-self.0).ln_1p()).sqrt()
    }
}

impl Default for Coverage {
    fn default() -> Self {
        Self::P95
    }
}

/// Least distance |t0| of a reading from the pole of its inverse, in σ, for a standard deviation
/// of Z to mean something. A blend and a fit leave out readings that are nearer.
pub const MIN_T0_IN_SIGMA: f64 = 6.0;

/// Least |t0| in σ of the widest direction for the linear covariance: from here on an exact Monte
/// Carlo finds at least 94 % of the draws inside the linear 95 % ellipse and inside R ± 2·u(R), as
/// long as [`MIN_LINEAR_ON_NARROW_SIDE`] is kept too (`tests/oracle/make_trust.py`). The radius of
/// the exact 95 % disc agrees within 4 %.
pub const MIN_LINEAR_T0_IN_SIGMA: f64 = 14.0;

/// Least |t0|·σ₂/σ₁² for the linear covariance of a scatter with the standard deviations σ₁ ≥ σ₂.
/// What the first order leaves out of Z is about |dZ/dS|·σ₁²/|t0|, and has to stay small beside the
/// narrow side too: with σ₁ = 10·σ₂ no more than 91.1 % lie inside at |t0| = 25·σ₁.
const MIN_LINEAR_ON_NARROW_SIDE: f64 = 6.0;

/// Least |t0|·σ₂/σ₁² for a reading in a blend: below it, what the first order leaves out is more than
/// half of σ₂, and two such readings meet beside the part.
const MIN_BLENDED_ON_NARROW_SIDE: f64 = 2.0;

/// Which statement of uncertainty holds, by the distance |t0| of the reading from the pole of
/// the inverse, in σ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Trust {
    /// |t0| of [`MIN_LINEAR_T0_IN_SIGMA`] or more, and no direction of much less scatter: the linear
    /// covariance holds; the exact 95 % disc agrees within 4 %.
    Linear,
    /// |t0| from [`MIN_T0_IN_SIGMA`] to [`MIN_LINEAR_T0_IN_SIGMA`], or a direction of much less
    /// scatter: the exact disc or quantiles hold; the linear radius is up to 20 % short.
    Disc,
    /// |t0| below [`MIN_T0_IN_SIGMA`], and the disc is bounded: the exact disc or quantiles hold. A standard deviation
    /// has no meaning, it grows with the number of draws.
    NoDeviation,
    /// The region reaches infinity: only a lower bound of |Z| is known.
    Unbounded,
}

impl Trust {
    /// The statement that holds at |t0|/σ for the wanted coverage.
    pub fn of(t0_in_sigma: f64, coverage: Coverage) -> Self {
        if t0_in_sigma <= coverage.radius_in_sigma() {
            Self::Unbounded
        } else if t0_in_sigma < MIN_T0_IN_SIGMA {
            Self::NoDeviation
        } else if t0_in_sigma < MIN_LINEAR_T0_IN_SIGMA {
            Self::Disc
        } else {
            Self::Linear
        }
    }

    /// False where a standard deviation has no meaning, so that no figure called u is to be shown.
    pub fn has_deviation(self) -> bool {
        self <= Self::Disc
    }

    /// The statement that holds at the distance `t0` from the pole for a reading that scatters
    /// by `reading`: that of its widest direction, and not the linear one where it is so narrow in
    /// the other that the curvature of the inverse shows beside it.
    ///
    /// ```
    /// use jigwise_physics::{Covariance, Coverage, Trust};
    ///
    /// let of = |re: f64, im: f64| {
    ///     let reading = Covariance { re: re * re, im: im * im, cross: 0.0 };
    ///     Trust::of_scatter(0.1, reading, Coverage::P95)
    /// };
    /// assert_eq!(of(0.003, 0.003), Trust::Linear);
    /// assert_eq!(of(0.003, 0.0003), Trust::Disc);
    /// assert_eq!(of(0.01, 0.01), Trust::Disc);
    /// ```
    pub fn of_scatter(t0: f64, reading: Covariance, coverage: Coverage) -> Self {
        let (wide, _) = reading.principal_variances();
        let told = Self::of(t0 / wide.sqrt(), coverage);
        if told == Self::Linear && on_narrow_side(t0, reading) < MIN_LINEAR_ON_NARROW_SIDE {
            return Self::Disc;
        }
        told
    }
}

/// True where a reading that scatters by `reading`, at the distance `t0` from the pole of its
/// inverse, scatters so little in one direction that the inverse bends it by more than half of
/// that. A blend leaves it out.
pub fn is_bent(t0: f64, reading: Covariance) -> bool {
    on_narrow_side(t0, reading) < MIN_BLENDED_ON_NARROW_SIDE
}

/// |t0|·σ₂/σ₁².
fn on_narrow_side(t0: f64, reading: Covariance) -> f64 {
    let (wide, narrow) = reading.principal_variances();
    t0 * narrow.max(0.0).sqrt() / wide
}

/// Distance |T| of a reading from the pole of the inverse. 2·Z0/|Z + Z0|,
/// Z0/|2Z + Z0|, 2·Z0/|Z + 2·Z0|; zero for an open. `None` at the pole of an active part.
pub fn distance_from_pole(
    fixture: Fixture,
    device: Immittance,
    z0: ReferenceImpedance,
) -> Option<f64> {
    let z0 = z0.ohm();
    let bottom = fixture.weighted_sum(device.v(), device.i(), z0).norm();
    let top = match fixture {
        Fixture::Reflect | Fixture::SeriesThrough => 2.0 * z0,
        Fixture::ShuntThrough => z0,
    };
    (bottom > 0.0).then(|| top * device.i().norm() / bottom)
}

/// The exact region of the impedance, in ohms, for a reading with the scatter `reading`.
/// `None` at the pole of an active part or without any scatter.
pub fn coverage_region(
    fixture: Fixture,
    device: Immittance,
    z0: ReferenceImpedance,
    reading: Covariance,
    coverage: Coverage,
) -> Option<DiscImage> {
    coverage_region_through(&fixture.map(z0), device, reading, coverage)
}

/// [`coverage_region`] for a reading that is `map` of Z, with strays or blanks in it.
pub fn coverage_region_through(
    map: &Mobius,
    device: Immittance,
    reading: Covariance,
    coverage: Coverage,
) -> Option<DiscImage> {
    let sigma = reading.principal_variances().0.sqrt();
    map.inverse_image_of_disc(device.ratio(), sigma * coverage.radius_in_sigma())
}
