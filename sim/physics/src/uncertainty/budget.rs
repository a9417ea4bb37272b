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
//! and δZ/Z = a_j·δ_j/D. The δL column is the first order of the exact law Z′ = Z·Z0/Zload and
//! holds whatever the raw match. In the through fixtures the other columns also carry products
//! with the raw match of the receiving port, which the budget leaves out: a raw match of 0.13
//! moves the ½ of δO and δS by up to 0.30, λ and δX by up to 28 % of themselves.
//!
//! Source: the exact law of imperfect standards of a one-port calibration, expanded; checked
//! against a simulated twelve-term chain in the reference tests.

use std::f64::consts::SQRT_2;

use crate::uncertainty::path::DisplaySteps;
use crate::uncertainty::view::View;
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

    /// How a unit of this cause enters a fixture, and by what real factor; `None` where it does
    /// not.
    pub(crate) fn shape(self, fixture: Fixture) -> Option<(Shape, f64)> {
        let reflect = fixture == Fixture::Reflect;
        Some(match self {
            Self::NoiseFloor | Self::Reconnect => (Shape::Absolute, 1.0),
            Self::TraceMagnitude | Self::DisplayMagnitude => (Shape::Radial, 1.0),
            Self::TracePhase | Self::DisplayPhase | Self::CablePhase => (Shape::Tangential, 1.0),
            Self::Load => (Shape::Scale, -2.0),
            Self::Open if reflect => (Shape::OpenEnd, -1.0),
            Self::Short if reflect => (Shape::ShortEnd, 1.0),
            Self::Open | Self::Short => (Shape::Scale, 0.5),
            Self::SourceMatch if reflect => (Shape::Square, 1.0),
            Self::SourceMatch => (Shape::Scale, -1.0),
            Self::Directivity if reflect => (Shape::Absolute, 1.0),
            Self::ReflectTracking if reflect => (Shape::Relative, 1.0),
            Self::LoadMatch if !reflect => (Shape::Scale, -1.0),
            Self::ThroughTracking if !reflect => (Shape::Relative, 1.0),
            Self::Crosstalk if !reflect => (Shape::Absolute, 1.0),
            Self::Drift => (Shape::Relative, 1.0),
            // Two contacts in a row, independent of each other.
            Self::Contact if fixture == Fixture::SeriesThrough => (Shape::Resistance, SQRT_2),
            Self::Contact => (Shape::Resistance, 1.0),
            Self::GroundLoop if fixture == Fixture::ShuntThrough => (Shape::Impedance, 1.0),
            Self::Directivity
            | Self::ReflectTracking
            | Self::LoadMatch
            | Self::ThroughTracking
            | Self::Crosstalk
            | Self::GroundLoop => return None,
        })
    }
}

/// What a unit error does to the reading S of a device z, D = z·dS/dz.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// 1.
    Absolute,
    /// S.
    Relative,
    /// D: the same part of Z whatever Z is.
    Scale,
    /// D·(z − 1)/2.
    OpenEnd,
    /// D·(z − 1)/(2z).
    ShortEnd,
    /// S².
    Square,
    /// S, by a real error.
    Radial,
    /// j·S, by a real error.
    Tangential,
    /// dS/dZ, by a real error in ohms.
    Resistance,
    /// dS/dZ, by a complex error in ohms.
    Impedance,
}

impl Shape {
    pub(crate) const ALL: [Self; 10] = [
        Self::Absolute,
        Self::Relative,
        Self::Scale,
        Self::OpenEnd,
        Self::ShortEnd,
        Self::Square,
        Self::Radial,
        Self::Tangential,
        Self::Resistance,
        Self::Impedance,
    ];

    /// True where the error is a real number: scatter along one axis.
    const fn is_real(self) -> bool {
        matches!(self, Self::Radial | Self::Tangential | Self::Resistance)
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
    /// E|δ|² by cause, or the variance of a real one.
    mean_squares: MeanSquares,
    /// The same, times the square of the factor, summed by shape.
    sums: [[f64; Shape::ALL.len()]; 3],
}

type MeanSquares = [[f64; Cause::ALL.len()]; 3];

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
        let reflect =
            Cause::ALL.map(|cause| mean_square(instrument, connections, cause, Fixture::Reflect));
        // Only the floor has an entry for each kind of fixture.
        let mut through = reflect;
        through[Cause::NoiseFloor as usize] = mean_square(
            instrument,
            connections,
            Cause::NoiseFloor,
            Fixture::ShuntThrough,
        );
        let mean_squares = [reflect, through, through];
        let mut sums = [[0.0; Shape::ALL.len()]; 3];
        for (fixture, (sums, squares)) in Fixture::ALL
            .into_iter()
            .zip(sums.iter_mut().zip(&mean_squares))
        {
            for (cause, square) in Cause::ALL.into_iter().zip(squares) {
                if let Some((shape, factor)) = cause.shape(fixture) {
                    sums[shape as usize] += factor * factor * square;
                }
            }
        }
        Ok(Self {
            z0,
            display_magnitude: instrument.display_magnitude,
            display_phase_rad: instrument.display_phase_rad,
            display: DisplaySteps::new(instrument.display_magnitude, instrument.display_phase_rad),
            reconnect_variance: 0.5 * instrument.reconnect.powi(2),
            averages: f64::from(instrument.averages),
            systematic_is_bound: instrument.systematic_is_bound,
            mean_squares,
            sums,
        })
    }

    /// What S-parameters refer to.
    pub fn reference(&self) -> ReferenceImpedance {
        self.z0
    }

    /// E|δ|² of a cause, or the variance of a real one.
    pub(crate) fn mean_square(&self, cause: Cause, fixture: Fixture) -> f64 {
        self.mean_squares[fixture as usize][cause as usize]
    }

    /// Sum of E|δ|² times the square of the factor, over the causes of a shape.
    pub(crate) fn sum(&self, shape: Shape, fixture: Fixture) -> f64 {
        self.sums[fixture as usize][shape as usize]
    }

    pub(crate) fn noise(&self, fixture: Fixture) -> Noise {
        Noise {
            floor: 0.5 * self.mean_square(Cause::NoiseFloor, fixture),
            radial: self.mean_square(Cause::TraceMagnitude, fixture),
            tangential: self.mean_square(Cause::TracePhase, fixture),
        }
    }

    /// Scatter of the reading by one cause.
    pub(crate) fn by_cause(&self, cause: Cause, view: &View) -> Covariance {
        cause
            .shape(view.fixture)
            .map_or(Covariance::ZERO, |(shape, factor)| {
                let square = factor * factor * self.mean_square(cause, view.fixture);
                scatter(shape, square, view)
            })
    }

    /// Scatter of the reading by all causes.
    pub(crate) fn total(&self, view: &View) -> Covariance {
        Shape::ALL
            .into_iter()
            .map(|shape| scatter(shape, self.sum(shape, view.fixture), view))
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

    /// Covariance of R and X in Ω², to first order (GUM). `None` for an open (and where Ω²
    /// exceed the range of numbers), where no error of the reading is small in ohms, and at the
    /// pole of an active part.
    pub fn impedance_covariance(&self, fixture: Fixture, device: Immittance) -> Option<Covariance> {
        let reading = self.reading_covariance(fixture, device)?;
        in_ohms(reading, fixture, device, self.z0)
    }

    /// e = √(u_R² + u_X²)/|Z| at k = 1. `None` for an open, a short and the pole of an active
    /// part, where a relative uncertainty has no meaning.
    pub fn figure_of_merit(&self, fixture: Fixture, device: Immittance) -> Option<f64> {
        let view = View::of(fixture, device, self.z0.ohm())?;
        relative(self.total(&view), &view)
    }
}

/// What a scatter of the reading is in Ω²; `None` where that is no finite number.
pub(crate) fn in_ohms(
    reading: Covariance,
    fixture: Fixture,
    device: Immittance,
    z0: ReferenceImpedance,
) -> Option<Covariance> {
    let ohms = reading.through(fixture.ohm_per_reading(device, z0)?);
    ohms.is_finite().then_some(ohms)
}

/// √(trace C)/|D|: what a scatter of the reading is as a part of |Z|.
pub(crate) fn relative(reading: Covariance, view: &View) -> Option<f64> {
    let slope = view.slope.norm();
    (slope > 0.0).then(|| reading.trace().sqrt() / slope)
}

/// Scatter by errors of one shape with the mean square `square`.
#[inline]
fn scatter(shape: Shape, square: f64, view: &View) -> Covariance {
    let amplitude = view.amplitude(shape);
    if shape.is_real() {
        Covariance::along(amplitude) * square
    } else {
        Covariance::circular(0.5 * square * amplitude.norm_sqr())
    }
}

fn mean_square(instrument: &Instrument, connections: u32, cause: Cause, fixture: Fixture) -> f64 {
    let averages = f64::from(instrument.averages);
    let floor = |rms: f64| rms * rms / averages * instrument.ifbw_hz / instrument.floor_ifbw_hz;
    // A step of width w rounds by a uniform error of variance w²/12.
    let rounding = |step: f64| step * step / 12.0;
    // Uniform in a disc of radius r: E|δ|² = r²/2.
    let share = if instrument.systematic_is_bound {
        0.5
    } else {
        1.0
    };
    let residual = |size: f64| share * size * size;
    match (cause, instrument.systematic) {
        (Cause::NoiseFloor, _) => floor(match fixture {
            Fixture::Reflect => instrument.reflect_floor,
            Fixture::ShuntThrough | Fixture::SeriesThrough => instrument.through_floor,
        }),
        (Cause::TraceMagnitude, _) => instrument.trace_magnitude.powi(2) / averages,
        (Cause::TracePhase, _) => instrument.trace_phase_rad.powi(2) / averages,
        (Cause::DisplayMagnitude, _) => rounding(instrument.display_magnitude),
        (Cause::DisplayPhase, _) => rounding(instrument.display_phase_rad),
        (Cause::Reconnect, _) if connections == 0 => 0.0,
        (Cause::Reconnect, _) => instrument.reconnect.powi(2) / f64::from(connections),
        (Cause::CablePhase, _) => instrument.cable_phase_rad.powi(2),
        (Cause::Drift, _) => instrument.drift.powi(2),
        (Cause::Contact, _) => instrument.contact_ohm.powi(2),
        (Cause::GroundLoop, _) => instrument.ground_loop_ohm.powi(2),
        (Cause::Load, Systematic::Standards(s)) => residual(s.load),
        (Cause::Open, Systematic::Standards(s)) => residual(s.open),
        (Cause::Short, Systematic::Standards(s)) => residual(s.short),
        (Cause::ThroughTracking, Systematic::Standards(s)) => residual(s.through_tracking),
        (Cause::Crosstalk, Systematic::Standards(s)) => residual(s.crosstalk),
        (Cause::LoadMatch, Systematic::Standards(s)) => residual(s.load_match),
        (Cause::Directivity, Systematic::Vendor(f)) => residual(f.directivity),
        (Cause::ReflectTracking, Systematic::Vendor(f)) => residual(f.reflect_tracking),
        (Cause::SourceMatch, Systematic::Vendor(f)) => residual(f.source_match),
        (Cause::ThroughTracking, Systematic::Vendor(f)) => residual(f.through_tracking),
        (Cause::Crosstalk, Systematic::Vendor(f)) => residual(f.crosstalk),
        (Cause::LoadMatch, Systematic::Vendor(f)) => residual(f.load_match),
        (Cause::Directivity | Cause::ReflectTracking | Cause::SourceMatch, _)
        | (Cause::Load | Cause::Open | Cause::Short, _) => 0.0,
    }
}
