//! From a measured sweep to ohms.

mod error;
mod judge;
mod recipe;

use std::borrow::Cow;
use std::fmt;

use jigwise_physics::{
    BlankError, Complex64, Covariance, Equivalents, Fixture, Immittance, ReferenceImpedance,
};
use jigwise_touchstone::Sweep;

use self::judge::Judge;
use crate::words::reading_name;

pub use self::error::ReduceError;
pub use self::judge::{Knowledge, Source};
pub use self::recipe::{Recipe, StandardSweeps};

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
    let sweep = ready(sweep, fixture)?;
    recipe.check(&sweep, fixture)?;
    let judge = Judge {
        sweep: &sweep,
        fixture,
        reference: ReferenceImpedance::new(sweep.references_ohm()[0])?,
        recipe,
    };
    let mut points = Vec::with_capacity(sweep.len());
    let mut left_out = Vec::new();
    for k in 0..sweep.len() {
        match judge.point(k, None) {
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
        reference: judge.reference,
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
/// Points without a finite impedance are left out. Without an instrument there is neither
/// scatter nor shift.
///
/// # Errors
/// As [`reduce_with`].
pub fn judge(sweep: &Sweep, fixture: Fixture, recipe: &Recipe) -> Result<Judged, ReduceError> {
    let sweep = ready(sweep, fixture)?;
    recipe.check(&sweep, fixture)?;
    let judge = Judge {
        sweep: &sweep,
        fixture,
        reference: ReferenceImpedance::new(sweep.references_ohm()[0])?,
        recipe,
    };
    let mut judged = Judged::default();
    let stride = sweep.len().div_ceil(MOST_FITTED);
    let mut steps = Vec::new();
    for k in (0..sweep.len()).step_by(stride) {
        let point = match judge.point(k, Some(&mut steps)) {
            Ok(point) => point,
            Err(ReduceError::Blank { .. }) => continue,
            Err(error) => return Err(error),
        };
        let Some(z) = point.device.impedance() else {
            continue;
        };
        let random = match (&recipe.budget, point.knowledge) {
            (Some(_), None) => continue,
            (_, knowledge) => knowledge.map_or(Covariance::ZERO, |k| k.random),
        };
        if judged.freq_hz.is_empty() && recipe.budget.is_some() {
            judged.sources = steps.iter().map(|(source, _)| *source).collect();
            judged.shifts = vec![Vec::new(); steps.len()];
        }
        for (shifts, (_, step)) in judged.shifts.iter_mut().zip(&steps) {
            shifts.push(*step);
        }
        judged.freq_hz.push(point.freq_hz);
        judged.z_ohm.push(z);
        judged.random.push(random);
    }
    Ok(judged)
}

/// The sweep with what the fixture needs, on one reference.
fn ready(sweep: &Sweep, fixture: Fixture) -> Result<Cow<'_, Sweep>, ReduceError> {
    if sweep.ports() > 2 {
        return Err(ReduceError::ManyPorts {
            ports: sweep.ports(),
        });
    }
    if !sweep.modes().is_empty() {
        return Err(ReduceError::MixedMode);
    }
    let first_ohm = sweep.references_ohm()[0];
    let through = fixture != Fixture::Reflect;
    if through && sweep.ports() < 2 {
        return Err(ReduceError::OnePort { fixture });
    }
    if through && (0..sweep.len()).all(|k| sweep.s(k, 2, 1) == Complex64::ZERO) {
        return Err(ReduceError::NoThrough { fixture });
    }
    if through && sweep.reference_ohm().is_nan() {
        let moved = sweep.renormalised(&[first_ohm]);
        return moved.map(Cow::Owned).map_err(ReduceError::References);
    }
    Ok(Cow::Borrowed(sweep))
}

/// Something about a reduced sweep that its owner should know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remark {
    /// Readings beyond one, which no passive part gives.
    BeyondOne {
        /// The fixture.
        fixture: Fixture,
        /// How many points.
        count: usize,
        /// Of how many.
        of: usize,
        /// The largest magnitude.
        largest: f64,
    },
    /// Points with a negative resistance.
    NegativeResistance {
        /// How many points.
        count: usize,
        /// Of how many.
        of: usize,
    },
    /// S11 and S21 do not belong to one lumped part at the reference plane.
    Inconsistent {
        /// The largest |S21 ∓ S11 − 1|.
        largest: f64,
        /// Where, Hz.
        freq_hz: f64,
    },
}

/// Above this the fixture's own identity is broken by more than a few percent of full scale.
const CONSISTENCY_LIMIT: f64 = 0.05;

impl Reduction {
    /// What should be said beside the numbers.
    pub fn remarks(&self) -> Vec<Remark> {
        let of = self.points.len();
        let mut remarks = Vec::new();
        let beyond = || {
            self.points
                .iter()
                .map(|p| p.reading.norm())
                .filter(|m| *m > 1.0)
        };
        let count = beyond().count();
        if count > 0 {
            remarks.push(Remark::BeyondOne {
                fixture: self.fixture,
                count,
                of,
                largest: beyond().fold(0.0, f64::max),
            });
        }
        let count = self.points.iter().filter(|p| p.device.is_active()).count();
        if count > 0 {
            remarks.push(Remark::NegativeResistance { count, of });
        }
        let worst = self
            .points
            .iter()
            .filter_map(|p| Some((p.consistency?, p.freq_hz)))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((largest, freq_hz)) = worst.filter(|(c, _)| *c > CONSISTENCY_LIMIT) {
            remarks.push(Remark::Inconsistent { largest, freq_hz });
        }
        remarks
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::BeyondOne {
                fixture,
                count,
                of,
                largest,
            } => write!(
                f,
                "|{}| is above one at {count} of {of} points (largest {largest:.5}): no passive \
                 part does that, so what is above one is calibration error or noise",
                reading_name(fixture)
            ),
            Self::NegativeResistance { count, of } => write!(
                f,
                "the resistance is below zero at {count} of {of} points: unless the part is \
                 active, the error of the reading is larger than the resistance there"
            ),
            Self::Inconsistent { largest, freq_hz } => write!(
                f,
                "S21 and S11 miss the identity of this fixture by up to {largest:.3} (at {}): \
                 the part is not one lumped part at the reference plane, the wrong fixture was \
                 named, or S11 was not corrected",
                crate::engineering(freq_hz, "Hz", 4)
            ),
        }
    }
}
