//! From a measured sweep to ohms.
//!
//! [`reduce`] and [`reduce_with`] give a whole sweep at once. A [`Reducer`] gives any run of its
//! points, computed on all cores, so that a long sweep never stands in memory a second time.
//! [`Ensemble`] does so for one part measured in several fixtures.

mod calibration_file;
mod ensemble;
mod error;
mod findings;
mod judge;
mod recipe;
mod reducer;
mod remark;
pub mod report;

use jigwise_physics::{
    BlankError, Complex64, Covariance, Equivalents, Fixture, Immittance, ReferenceImpedance,
};
use jigwise_touchstone::Sweep;

pub use self::calibration_file::{CalibrationFile, ports_of};
pub use self::ensemble::{Ensemble, EnsembleError, PartPoint};
pub use self::error::ReduceError;
pub use self::findings::{Findings, MODELS, Wanted, model_key, model_words};
pub use self::judge::{Knowledge, Source};
pub use self::recipe::{Recipe, StandardSweeps, blank_names};
pub use self::reducer::{Reducer, Survey};
pub use self::remark::{CONSISTENCY_LIMIT, ROUNDING, Remark};

/// A sweep turned into impedances.
#[derive(Debug, Clone)]
pub struct Reduction {
    /// The fixture the part was measured in.
    pub fixture: Fixture,
    /// The reference of the readings: the file's, and port 1's where the file has several.
    pub reference: ReferenceImpedance,
    /// One entry per frequency, rising.
    pub points: Vec<ReducedPoint>,
    /// Frequencies, Hz, that blanks could not correct, and why.
    pub left_out: Vec<(f64, BlankError)>,
}

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
    pub knowledge: Option<Knowledge>,
}

impl ReducedPoint {
    /// The standard uncertainties of R and X, Ω, where an instrument is known.
    pub fn uncertainty_ohm(&self) -> Option<(f64, f64)> {
        let total = self.knowledge?.total;
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

/// Reduces a sweep measured in `fixture`: from S11 for reflect, from S21 for the others.
///
/// Where the ports have different references, a through reading is first brought to that of
/// port 1 at both; reflect needs port 1 alone.
///
/// # Errors
/// [`ReduceError`] where the sweep does not hold the reading that the fixture needs.
pub fn reduce(sweep: &Sweep, fixture: Fixture) -> Result<Reduction, ReduceError> {
    reduce_with(sweep, fixture, &Recipe::default())
}

/// As [`reduce`], with standards, blanks, a moved plane and an instrument.
///
/// Points that the blanks can't correct are left out and kept count of in
/// [`Reduction::left_out`].
///
/// # Errors
/// [`ReduceError`] where the sweep does not hold the reading that the fixture needs, a standard
/// or blank does not fit the sweep, the standards can't be solved, or the blanks can correct no
/// point at all.
pub fn reduce_with(
    sweep: &Sweep,
    fixture: Fixture,
    recipe: &Recipe,
) -> Result<Reduction, ReduceError> {
    let reducer = Reducer::new(sweep, fixture, recipe)?;
    let mut points = Vec::with_capacity(reducer.len());
    let mut left_out = Vec::new();
    for found in reducer.run(0..reducer.len()) {
        match found {
            Ok(point) => points.push(point),
            Err(ReduceError::Blank { freq_hz, error }) => left_out.push((freq_hz, error)),
            Err(error) => return Err(error),
        }
    }
    if let (true, Some(&(freq_hz, error))) = (points.is_empty(), left_out.first()) {
        return Err(ReduceError::Blank { freq_hz, error });
    }
    Ok(Reduction {
        fixture,
        reference: reducer.reference(),
        points,
        left_out,
    })
}

/// Readings and systematic steps of a sweep as the extraction of part values takes them.
#[derive(Debug, Clone, Default)]
pub struct Judged {
    /// Frequencies, Hz, rising.
    pub freq_hz: Vec<f64>,
    /// Z, Ω.
    pub z_ohm: Vec<Complex64>,
    /// Covariance from noise, Ω².
    pub random: Vec<Covariance>,
    /// For each systematic component one step in ohms at every point.
    pub shifts: Vec<Vec<Complex64>>,
    /// Where each comes from.
    pub sources: Vec<Source>,
}

/// Most points that a fit is made from; more say nothing new and cost time.
const MOST_FITTED: usize = 2_001;

/// Reduces a sweep, thinned evenly to at most 2001 points, for [`jigwise_physics::ImpedanceSweep`].
/// Points without a finite impedance, and one at 0 Hz, are left out. Without an instrument there is neither
/// scatter nor shift.
///
/// # Errors
/// As [`reduce_with`].
pub fn judge(sweep: &Sweep, fixture: Fixture, recipe: &Recipe) -> Result<Judged, ReduceError> {
    Reducer::new(sweep, fixture, recipe)?.judged()
}

impl Reducer<'_> {
    /// As [`judge`].
    ///
    /// # Errors
    /// As [`reduce_with`].
    pub fn judged(&self) -> Result<Judged, ReduceError> {
        let mut judged = Judged::default();
        let stride = self.len().div_ceil(MOST_FITTED);
        let mut steps = Vec::new();
        for k in (0..self.len()).step_by(stride) {
            match self.judge(true).point(k, Some(&mut steps)) {
                Ok(point) => judged.push(&point, self.has_budget(), &steps),
                Err(ReduceError::Blank { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(judged)
    }
}

impl Judged {
    fn push(&mut self, point: &ReducedPoint, has_budget: bool, steps: &[(Source, Complex64)]) {
        let at_rest = point.freq_hz == 0.0;
        let Some(z) = point.device.impedance().filter(|_| !at_rest) else {
            return;
        };
        let random = match (has_budget, point.knowledge) {
            (true, None) => return,
            (_, knowledge) => knowledge.map_or(Covariance::ZERO, |known| known.random),
        };
        if self.freq_hz.is_empty() && has_budget {
            self.sources = steps.iter().map(|(source, _)| *source).collect();
            self.shifts = vec![Vec::new(); steps.len()];
        }
        for (shifts, (_, step)) in self.shifts.iter_mut().zip(steps) {
            shifts.push(*step);
        }
        self.freq_hz.push(point.freq_hz);
        self.z_ohm.push(z);
        self.random.push(random);
    }
}
