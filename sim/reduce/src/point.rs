//! One frequency of a reduced sweep.

use jigwise_physics::{
    Cause, Complex64, Covariance, DiscImage, Equivalents, Immittance, Stray, Trust,
};

/// One frequency of a reduced sweep.
#[derive(Debug, Clone, Copy)]
pub struct ReducedPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// S11 or S21, corrected by the standards and moved to the part's plane.
    pub reading: Complex64,
    /// The device that gives this reading, with the blanks taken out.
    pub device: Immittance,
    /// |S21 − S11 − 1| for shunt, |S21 + S11 − 1| for series; `None` where only one reading
    /// exists. Zero for one lumped part at the reference plane.
    pub consistency: Option<f64>,
    /// |S21 − S12|; `None` where the second is no reading of its own.
    pub reciprocity: Option<f64>,
    /// Part of the power that comes back out: |S11|² in reflect, |S11|² + |S21|² in the
    /// through fixtures. At most 1 for a passive part.
    pub power_out: f64,
    /// Size of what blanks took out, relative to the part.
    pub removed: f64,
    /// How well it is known; `None` without an instrument, and for an open.
    pub uncertainty: Option<PointUncertainty>,
}

impl ReducedPoint {
    /// The standard uncertainties of R and X, Ω, where an instrument is known.
    pub fn uncertainty_ohm(&self) -> Option<(f64, f64)> {
        let total = self.uncertainty?.total;
        Some((total.re.sqrt(), total.im.sqrt()))
    }

    /// |Z| in ohms; `None` for an open.
    pub fn magnitude_ohm(&self) -> Option<f64> {
        self.device.impedance().map(Complex64::norm)
    }

    /// The angle of Z in degrees; `None` for an open or a short.
    pub fn phase_deg(&self) -> Option<f64> {
        let z = self.device.impedance()?;
        (z.norm() > 0.0).then(|| z.arg().to_degrees())
    }

    /// X/ω in henries where the part is inductive.
    pub fn inductance_h(&self) -> Option<f64> {
        self.equivalents()?.series_inductance_h()
    }

    /// −1/(ωX) in farads where the part is capacitive.
    pub fn capacitance_f(&self) -> Option<f64> {
        self.equivalents()?.series_capacitance_f()
    }

    fn equivalents(&self) -> Option<Equivalents> {
        Equivalents::new(self.device, self.freq_hz).ok()
    }
}

/// Where a systematic error comes from that is the same all over a sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A cause of the instrument's budget, as it enters the part's reading, or with a number
    /// from 1 a blank's.
    Cause {
        /// The cause.
        cause: Cause,
        /// 0 for the part, then the blanks; what comes of the calibration is shared by all.
        connection: usize,
    },
    /// What a blank takes away and should not, or leaves: a share of what it takes away.
    Removal,
    /// The same share of what the calibration adds to a blank, which it takes away too.
    UnsureRemoval,
    /// A stray of the fixture that no blank takes off.
    Stray(Stray),
}

impl Source {
    /// True for what the calibration leaves, which is one and the same error in all fixtures. The
    /// raw match is none: it multiplies the short in one through fixture and the open in the other,
    /// and of what it does to both the signs differ for the load match, so that a tenth to a third
    /// of a variance is common.
    pub const fn is_of_calibration(self) -> bool {
        matches!(
            self,
            Self::Cause { cause, .. }
                if cause.is_of_calibration() && !matches!(cause, Cause::RawMatch)
        )
    }
}

/// The uncertainty of one point's impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointUncertainty {
    /// Covariance of R and X from noise, Ω², different at every point.
    pub random: Covariance,
    /// Covariance of R and X from everything, Ω², k = 1.
    pub total: Covariance,
    /// Which statement of uncertainty holds.
    pub trust: Trust,
    /// The 95 % region: all errors taken as errors of the part's own reading, whose map to ohms is
    /// exact. `None` where the reading has no scatter.
    pub region: Option<DiscImage>,
    /// True where that makes the region exact; with blanks their errors are carried over to the
    /// part's reading to first order.
    pub is_region_exact: bool,
}
