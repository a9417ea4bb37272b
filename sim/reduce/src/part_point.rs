//! One frequency of a part seen in one to three fixtures.

use jigwise_physics::{
    Blend, BlendError, Complex64, Covariance, Coverage, DiscImage, Fixture, Immittance, Trust,
};

use crate::{ROUNDING, ReducedPoint};

/// A circle in the plane of R and X, and on which side of it the part lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Region {
    /// Its centre, Ω.
    pub center_ohm: Complex64,
    /// Its radius, Ω.
    pub radius_ohm: f64,
    /// True where the part lies inside it.
    pub is_inside: bool,
    /// How it was found.
    pub by: RegionBy,
}

/// How a region was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RegionBy {
    /// Exactly, from the scatter of the one reading.
    Reading,
    /// The same with the errors of the blanks carried over to the part's reading to first order.
    ReadingAndBlanks,
    /// From the linear covariance of a blend.
    Linear,
}

impl RegionBy {
    /// The word for it in files.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Reading => "exact",
            Self::ReadingAndBlanks => "exact but for the blanks",
            Self::Linear => "linear",
        }
    }
}

/// One frequency of a part seen in one to three fixtures.
#[derive(Debug, Clone)]
pub struct PartPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// What each fixture gives, in the order of [`Fixture::ALL`].
    pub seen: [Option<ReducedPoint>; 3],
    /// The fixture that knows the part best here.
    pub chosen: Fixture,
    /// The blend, where an instrument is known and the part was measured in two fixtures.
    pub blend: Option<Result<Blend, BlendError>>,
    pub(crate) device: Immittance,
}

impl PartPoint {
    /// The point of the chosen fixture.
    pub fn best(&self) -> Option<&ReducedPoint> {
        self.seen[self.chosen as usize].as_ref()
    }

    /// The blend, where there is one.
    pub fn blended(&self) -> Option<&Blend> {
        self.blend.as_ref()?.as_ref().ok()
    }

    /// The part: the blend where there is one, otherwise what the chosen fixture gives.
    pub fn device(&self) -> Immittance {
        self.device
    }

    /// Covariance of R and X of [`Self::device`], Ω², k = 1.
    pub fn covariance(&self) -> Option<Covariance> {
        match self.blended() {
            Some(blend) => Some(blend.covariance),
            None => Some(self.best()?.uncertainty?.total),
        }
    }

    /// Standard uncertainties of R and X, Ω.
    pub fn uncertainty_ohm(&self) -> Option<(f64, f64)> {
        let total = self.covariance()?;
        Some((total.re.sqrt(), total.im.sqrt()))
    }

    /// Standard uncertainties along Z and across it, Ω; `None` for an open and a short.
    pub fn polar_uncertainty_ohm(&self) -> Option<(f64, f64)> {
        let z = self.device.impedance().filter(|z| z.norm() > 0.0)?;
        let turned = self.covariance()?.through(z.conj() / z.norm());
        Some((turned.re.sqrt(), turned.im.sqrt()))
    }

    /// What the digits of R and X are shown by, Ω: their standard uncertainties where these have a
    /// meaning, a share of the region where it alone has one, and the digits of the computation
    /// where no uncertainty is known.
    pub fn spread_ohm(&self) -> (f64, f64) {
        let size = self.device.impedance().map_or(0.0, Complex64::norm);
        let known = self.uncertainty_ohm();
        match self.trust() {
            Some(trust) if trust.has_deviation() => known.unwrap_or((0.0, 0.0)),
            Some(_) => {
                let radius = self
                    .region()
                    .map_or(f64::INFINITY, |region| region.radius_ohm);
                let spread = (0.5 * radius).min(size);
                (spread, spread)
            }
            None => (ROUNDING * size, ROUNDING * size),
        }
    }

    /// Which statement of uncertainty holds: that of the fixture it rests on, of a blend that of
    /// the fixture in it that bends most.
    pub fn trust(&self) -> Option<Trust> {
        let of = |point: &ReducedPoint| Some(point.uncertainty?.trust);
        match self.blended() {
            None => of(self.best()?),
            Some(blend) => Fixture::ALL
                .into_iter()
                .filter(|fixture| blend.used[*fixture as usize])
                .filter_map(|fixture| of(self.seen[fixture as usize].as_ref()?))
                .max(),
        }
    }

    /// The 95 % region of the impedance: that of the fixture it rests on; for a blend the circle
    /// that is as wide in every direction as the linear covariance is in its widest. `None` where
    /// the region is half the plane.
    pub fn region(&self) -> Option<Region> {
        if let Some(blend) = self.blended() {
            let sigma_ohm = blend.covariance.principal_variances().0.sqrt();
            return Some(Region {
                center_ohm: blend.impedance_ohm,
                radius_ohm: Coverage::P95.radius_in_sigma() * sigma_ohm,
                is_inside: true,
                by: RegionBy::Linear,
            });
        }
        let known = self.best()?.uncertainty?;
        let (center_ohm, radius_ohm, is_inside) = match known.region? {
            DiscImage::Inside { center, radius } => (center, radius, true),
            DiscImage::Outside { center, radius } => (center, radius, false),
            DiscImage::HalfPlane => return None,
        };
        Some(Region {
            center_ohm,
            radius_ohm,
            is_inside,
            by: if known.is_region_exact {
                RegionBy::Reading
            } else {
                RegionBy::ReadingAndBlanks
            },
        })
    }

    /// [`Self::device`] with what belongs to the reading of the chosen fixture.
    pub fn as_reduced(&self) -> Option<ReducedPoint> {
        Some(ReducedPoint {
            device: self.device,
            ..*self.best()?
        })
    }
}
