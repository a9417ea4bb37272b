//! From the entries of an [`Instrument`] to the scatter of a reading and of the ohms got back.
//!
//! To first order each cause j moves the reading by a_j·δ_j. With z = Z/Z0 and
//! D = z·dS/dz (2z/(z+1)², 2z/(2z+1)², −2z/(z+2)²), the amplitudes a_j of the standards model
//! are
//!
//! | cause | reflect | shunt-through | series-through |
//! | --- | --- | --- | --- |
//! | δL | −2D | −2D | −2D |
//! | δO | −D(z−1)/2 | D/2 | D/2 |
//! | δS | D(z−1)/(2z) | D/2 | D/2 |
//! | λ | 0 | −D | −D |
//! | δT | 0 | S21 | S21 |
//! | δX | 0 | 1 | 1 |
//!
//! and δZ/Z = a_j·δ_j/D. The δL column is the first order of the exact law Z′ = Z·Z0/Zload;
//! δO and δS in the through fixtures also carry products with the raw source match, which the
//! budget leaves out.
//!
//! Source: the exact law of imperfect standards of a one-port calibration, expanded; checked
//! against a simulated twelve-term chain in the reference tests.

use num_complex::Complex64;

use crate::path::DisplaySteps;
use crate::{
    Covariance, EntryError, Fixture, Immittance, Instrument, ReferenceImpedance, Systematic,
};

/// Why a reading is not what it should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// Noise of receiver and source that does not depend on the signal.
    NoiseFloor,
    /// Noise of the magnitude, proportional to the signal.
    TraceMagnitude,
    /// Noise of the phase.
    TracePhase,
    /// Rounding of the magnitude shown.
    DisplayMagnitude,
    /// Rounding of the phase shown.
    DisplayPhase,
    /// The calibration load.
    Load,
    /// The calibration open.
    Open,
    /// The calibration short.
    Short,
    /// Directivity by data sheet.
    Directivity,
    /// Reflection tracking by data sheet.
    ReflectTracking,
    /// Source match by data sheet.
    SourceMatch,
    /// Through tracking.
    ThroughTracking,
    /// Crosstalk between the ports.
    Crosstalk,
    /// Match of the receiving port.
    LoadMatch,
    /// Taking the part out and putting it back.
    Reconnect,
    /// Flexed cable.
    CablePhase,
    /// Drift since the calibration.
    Drift,
    /// Contacts of the fixture.
    Contact,
    /// Current shared by the cable braids.
    GroundLoop,
}

impl Cause {
    /// All of them, random ones first.
    pub const ALL: [Self; 19] = [
        Self::NoiseFloor,
        Self::TraceMagnitude,
        Self::TracePhase,
        Self::DisplayMagnitude,
        Self::DisplayPhase,
        Self::Load,
        Self::Open,
        Self::Short,
        Self::Directivity,
        Self::ReflectTracking,
        Self::SourceMatch,
        Self::ThroughTracking,
        Self::Crosstalk,
        Self::LoadMatch,
        Self::Reconnect,
        Self::CablePhase,
        Self::Drift,
        Self::Contact,
        Self::GroundLoop,
    ];

    /// True for what differs from one reading to the next and averages out.
    pub const fn is_random(self) -> bool {
        matches!(
            self,
            Self::NoiseFloor | Self::TraceMagnitude | Self::TracePhase
        )
    }

    /// True for what calibration leaves: the same for every reading until the next one.
    pub const fn is_of_calibration(self) -> bool {
        matches!(
            self,
            Self::Load
                | Self::Open
                | Self::Short
                | Self::Directivity
                | Self::ReflectTracking
                | Self::SourceMatch
                | Self::ThroughTracking
                | Self::Crosstalk
                | Self::LoadMatch
        )
    }
}

/// Random scatter of one reading: variances of the floor per component, and along the radial
/// and tangential axes relative to |S|².
#[derive(Debug, Clone, Copy)]
pub(crate) struct Noise {
    pub floor: f64,
    pub radial: f64,
    pub tangential: f64,
}

/// A device as one fixture sees it, everything finite.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View {
    pub fixture: Fixture,
    /// Reading.
    pub s: Complex64,
    /// Numerator of the reading, for the pair (v, i).
    pub top: Complex64,
    /// Denominator of the reading, for the pair (v, i).
    pub bottom: Complex64,
    /// D = Z·dS/dZ.
    pub slope: Complex64,
    /// dS/dZ in 1/Ω.
    pub per_ohm: Complex64,
    v: Complex64,
    y: Complex64,
    inverse_square: Complex64,
}

impl View {
    /// `None` at the pole of an active part.
    pub(crate) fn of(fixture: Fixture, device: Immittance, z0: f64) -> Option<Self> {
        let (v, i) = (device.v(), device.i());
        let bottom = fixture.weighted_sum(v, i, z0);
        let size = bottom.norm_sqr();
        let inverse = bottom.conj() * (1.0 / size);
        let inverse_square = inverse * inverse;
        let top = fixture.weighted_top(v, i, z0);
        let s = top * inverse;
        let per_ohm = i * i * inverse_square * fixture.determinant(z0);
        let slope = v * i * inverse_square * fixture.determinant(z0);
        let finite = [s, per_ohm, slope]
            .iter()
            .all(|c| c.re.is_finite() && c.im.is_finite());
        finite.then_some(Self {
            fixture,
            s,
            top,
            bottom,
            slope,
            per_ohm,
            v,
            y: i * z0,
            inverse_square,
        })
    }

    /// a_j for unit δ_j; zero for causes that are no complex factor of the reading.
    pub(crate) fn amplitude(&self, cause: Cause) -> Complex64 {
        let zero = Complex64::ZERO;
        let reflect = self.fixture == Fixture::Reflect;
        match cause {
            Cause::Load => self.slope * -2.0,
            Cause::Open | Cause::Short if !reflect => self.slope * 0.5,
            Cause::Open => -self.v * (self.v - self.y) * self.inverse_square,
            Cause::Short => self.y * (self.v - self.y) * self.inverse_square,
            Cause::Directivity if reflect => Complex64::ONE,
            Cause::ReflectTracking if reflect => self.s,
            Cause::SourceMatch if reflect => self.s * self.s,
            Cause::SourceMatch => -self.slope,
            Cause::LoadMatch if !reflect => -self.slope,
            Cause::ThroughTracking if !reflect => self.s,
            Cause::Crosstalk if !reflect => Complex64::ONE,
            _ => zero,
        }
    }
}

/// The budget of an instrument at work: checked, in SI, ready for any device.
///
/// ```
/// use jigwise_physics::{Budget, Complex64, Fixture, Immittance, Instrument, ReferenceImpedance};
///
/// let budget = Budget::new(&Instrument::HANDHELD, ReferenceImpedance::FIFTY_OHM, 0)?;
/// let part = Immittance::from_impedance(Complex64::new(4_700.0, 0.0)).unwrap();
/// let in_series = budget.figure_of_merit(Fixture::SeriesThrough, part).unwrap();
/// let across = budget.figure_of_merit(Fixture::Reflect, part).unwrap();
/// assert!(in_series < 0.06 && across > 0.7);
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Budget {
    pub(crate) z0: ReferenceImpedance,
    pub(crate) display_magnitude: f64,
    pub(crate) display_phase_rad: f64,
    pub(crate) display: DisplaySteps,
    pub(crate) reconnect_variance: f64,
    pub(crate) averages: f64,
    pub(crate) systematic_is_bound: bool,
    variances: Variances,
}

/// Variances of every cause. Complex causes per component; the others along their own axis.
#[derive(Debug, Clone, Copy)]
struct Variances {
    reflect_floor: f64,
    through_floor: f64,
    trace_magnitude: f64,
    trace_phase: f64,
    display_magnitude: f64,
    display_phase: f64,
    load: f64,
    open: f64,
    short: f64,
    directivity: f64,
    reflect_tracking: f64,
    source_match: f64,
    through_tracking: f64,
    crosstalk: f64,
    load_match: f64,
    reconnect: f64,
    cable_phase: f64,
    drift: f64,
    contact: f64,
    ground_loop: f64,
}

impl Budget {
    /// The budget of `instrument`, with ports of `z0`, for a part connected `connections` times
    /// after the calibration. 0: soldered in and left, nothing for reconnecting. n ≥ 1:
    /// the mean of n connections, reconnect²/(2n) per component.
    ///
    /// # Errors
    /// [`EntryError`] where the instrument has an entry out of range.
    pub fn new(
        instrument: &Instrument,
        z0: ReferenceImpedance,
        connections: u32,
    ) -> Result<Self, EntryError> {
        instrument.validate()?;
        let averages = f64::from(instrument.averages);
        let noise = |rms: f64| rms * rms / averages;
        let floor = |rms: f64| 0.5 * noise(rms) * instrument.ifbw_hz / instrument.floor_ifbw_hz;
        let share = if instrument.systematic_is_bound {
            0.25
        } else {
            0.5
        };
        let residual = |size: f64| share * size * size;
        // A step of width w rounds by a uniform error of variance w²/12.
        let rounding = |step: f64| step * step / 12.0;
        let reconnect_variance = 0.5 * instrument.reconnect.powi(2);
        let mut variances = Variances {
            reflect_floor: floor(instrument.reflect_floor),
            through_floor: floor(instrument.through_floor),
            trace_magnitude: noise(instrument.trace_magnitude),
            trace_phase: noise(instrument.trace_phase_rad),
            display_magnitude: rounding(instrument.display_magnitude),
            display_phase: rounding(instrument.display_phase_rad),
            load: 0.0,
            open: 0.0,
            short: 0.0,
            directivity: 0.0,
            reflect_tracking: 0.0,
            source_match: 0.0,
            through_tracking: 0.0,
            crosstalk: 0.0,
            load_match: 0.0,
            reconnect: match connections {
                0 => 0.0,
                n => reconnect_variance / f64::from(n),
            },
            cable_phase: instrument.cable_phase_rad.powi(2),
            drift: 0.5 * instrument.drift.powi(2),
            contact: instrument.contact_ohm.powi(2),
            ground_loop: 0.5 * instrument.ground_loop_ohm.powi(2),
        };
        match instrument.systematic {
            Systematic::Standards(s) => {
                variances.load = residual(s.load);
                variances.open = residual(s.open);
                variances.short = residual(s.short);
                variances.through_tracking = residual(s.through_tracking);
                variances.crosstalk = residual(s.crosstalk);
                variances.load_match = residual(s.load_match);
            }
            Systematic::Vendor(f) => {
                variances.directivity = residual(f.directivity);
                variances.reflect_tracking = residual(f.reflect_tracking);
                variances.source_match = residual(f.source_match);
                variances.through_tracking = residual(f.through_tracking);
                variances.crosstalk = residual(f.crosstalk);
                variances.load_match = residual(f.load_match);
            }
        }
        Ok(Self {
            z0,
            display_magnitude: instrument.display_magnitude,
            display_phase_rad: instrument.display_phase_rad,
            display: DisplaySteps::new(instrument.display_magnitude, instrument.display_phase_rad),
            reconnect_variance,
            averages,
            systematic_is_bound: instrument.systematic_is_bound,
            variances,
        })
    }

    /// What S-parameters refer to.
    pub fn reference(&self) -> ReferenceImpedance {
        self.z0
    }

    /// Variance per component of δ_j for causes that are a complex factor of the reading.
    pub(crate) fn residual_variance(&self, cause: Cause) -> f64 {
        let v = &self.variances;
        match cause {
            Cause::Load => v.load,
            Cause::Open => v.open,
            Cause::Short => v.short,
            Cause::Directivity => v.directivity,
            Cause::ReflectTracking => v.reflect_tracking,
            Cause::SourceMatch => v.source_match,
            Cause::ThroughTracking => v.through_tracking,
            Cause::Crosstalk => v.crosstalk,
            Cause::LoadMatch => v.load_match,
            _ => 0.0,
        }
    }

    /// E|δ|² of a cause, or the variance along its one axis.
    pub(crate) fn mean_square(&self, cause: Cause, fixture: Fixture) -> f64 {
        let v = &self.variances;
        match cause {
            Cause::NoiseFloor => 2.0 * self.noise(fixture).floor,
            Cause::TraceMagnitude => v.trace_magnitude,
            Cause::TracePhase => v.trace_phase,
            Cause::DisplayMagnitude => v.display_magnitude,
            Cause::DisplayPhase => v.display_phase,
            Cause::CablePhase => v.cable_phase,
            Cause::Contact => v.contact,
            Cause::Reconnect => 2.0 * v.reconnect,
            Cause::Drift => 2.0 * v.drift,
            Cause::GroundLoop => 2.0 * v.ground_loop,
            _ => 2.0 * self.residual_variance(cause),
        }
    }

    pub(crate) fn noise(&self, fixture: Fixture) -> Noise {
        Noise {
            floor: match fixture {
                Fixture::Reflect => self.variances.reflect_floor,
                Fixture::ShuntThrough | Fixture::SeriesThrough => self.variances.through_floor,
            },
            radial: self.variances.trace_magnitude,
            tangential: self.variances.trace_phase,
        }
    }

    /// Scatter of the reading by one cause.
    pub(crate) fn by_cause(&self, cause: Cause, view: &View) -> Covariance {
        let v = &self.variances;
        let along_magnitude = |variance| Covariance::along(view.s) * variance;
        let along_phase = |variance| Covariance::along(view.s * Complex64::I) * variance;
        match cause {
            Cause::NoiseFloor => Covariance::circular(self.noise(view.fixture).floor),
            Cause::TraceMagnitude => along_magnitude(v.trace_magnitude),
            Cause::TracePhase => along_phase(v.trace_phase),
            Cause::DisplayMagnitude => along_magnitude(v.display_magnitude),
            Cause::DisplayPhase => along_phase(v.display_phase),
            Cause::CablePhase => along_phase(v.cable_phase),
            Cause::Reconnect => Covariance::circular(v.reconnect),
            Cause::Drift => Covariance::circular(v.drift * view.s.norm_sqr()),
            Cause::Contact => {
                Covariance::along(view.per_ohm) * (v.contact * contacts(view.fixture))
            }
            Cause::GroundLoop if view.fixture == Fixture::ShuntThrough => {
                Covariance::circular(v.ground_loop * view.per_ohm.norm_sqr())
            }
            Cause::GroundLoop => Covariance::ZERO,
            _ => Covariance::circular(
                self.residual_variance(cause) * view.amplitude(cause).norm_sqr(),
            ),
        }
    }

    pub(crate) fn total(&self, view: &View) -> Covariance {
        Cause::ALL
            .iter()
            .map(|&cause| self.by_cause(cause, view))
            .fold(Covariance::ZERO, |sum, one| sum + one)
    }

    /// Covariance of the reading from one cause, dimensionless. `None` at the pole of an active
    /// part, where there is no reading.
    pub fn contribution(
        &self,
        cause: Cause,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<Covariance> {
        let view = View::of(fixture, device, self.z0.ohm())?;
        Some(self.by_cause(cause, &view))
    }

    /// Covariance of the reading from all causes, dimensionless. `None` at the pole of an
    /// active part.
    pub fn reading_covariance(&self, fixture: Fixture, device: Immittance) -> Option<Covariance> {
        Some(self.total(&View::of(fixture, device, self.z0.ohm())?))
    }

    /// Covariance of R and X in Ω², to first order (GUM). `None` for an open, where no error of
    /// the reading is small in ohms, and at the pole of an active part.
    pub fn impedance_covariance(&self, fixture: Fixture, device: Immittance) -> Option<Covariance> {
        let reading = self.reading_covariance(fixture, device)?;
        let ohm_per_reading = fixture.ohm_per_reading(device, self.z0)?;
        Some(reading.through(ohm_per_reading))
    }

    /// e = √(u_R² + u_X²)/|Z| at k = 1. `None` for an open, a short and the pole of an active
    /// part, where a relative uncertainty has no meaning.
    pub fn figure_of_merit(&self, fixture: Fixture, device: Immittance) -> Option<f64> {
        let view = View::of(fixture, device, self.z0.ohm())?;
        relative(self.total(&view), &view)
    }
}

/// √(trace C)/|D|: what a scatter of the reading is as a part of |Z|.
pub(crate) fn relative(reading: Covariance, view: &View) -> Option<f64> {
    let slope = view.slope.norm();
    (slope > 0.0).then(|| reading.trace().sqrt() / slope)
}

/// Contacts in the path of the part.
pub(crate) fn contacts(fixture: Fixture) -> f64 {
    match fixture {
        Fixture::Reflect | Fixture::ShuntThrough => 1.0,
        Fixture::SeriesThrough => 2.0,
    }
}
