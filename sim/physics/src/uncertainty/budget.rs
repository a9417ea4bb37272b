//! From the entries of an [`Instrument`] to the scatter of a reading and of the ohms got back.
//!
//! To first order each cause j moves the reading by a_j·δ_j. With z = Z/Z0 and
//! D = z·dS/dz (2z/(z+1)², 2z/(2z+1)², −2z/(z+2)²), the sensitivity coefficients
//! a_j of the standards model are
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
//! with the raw source match s and load match l of the ports. To first order in both, with ρ the
//! part's reflection, they add
//!
//! | cause | shunt-through | series-through |
//! | --- | --- | --- |
//! | δO | 0 | −2D·l |
//! | δS | 2D·l | 0 |
//! | λ | 2D·l | −2D·l |
//! | δT | −2D·l | −2D·l |
//! | δX | −ρ·s + ρ·(S21 + ρ)·l | −ρ·s + ρ·(S21 − ρ)·l |
//!
//! For a known front end ([`Budget::with_front_end`]) they are taken exactly; else they count
//! with their mean square, s and l of the rms [`Instrument::raw_match`] and of unknown phase, as
//! [`Cause::RawMatch`]. Over many front ends that is right; for one of them, which has one match
//! and keeps it, as little as 0.8 may be covered where 0.95 is meant.
//!
//! Source: the exact law of imperfect standards of a one-port calibration, expanded, and the
//! twelve-term equations differentiated (`uncertainty/raw_match.rs`); checked against a simulated
//! twelve-term chain in the reference tests.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::uncertainty::noise::{DisplaySteps, Noise};
use crate::uncertainty::on_bench::OnBench;
use crate::uncertainty::port_match::RawMatch;
use crate::uncertainty::view::View;
use crate::{Cause, Covariance, EntryError, Fixture, Immittance, Instrument, ReferenceImpedance};

/// The error budget of an instrument, checked and in SI units, ready for any device.
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
    pub(crate) known_match: Option<RawMatch>,
    pub(crate) on_bench: Option<OnBench>,
    /// E|δ|² by cause, or the variance of a real one.
    mean_squares: ByCause,
    /// [`Budget::sigma`] by cause.
    sigmas: ByCause,
    /// The same, times the square of the factor, summed by effect.
    sums: [[f64; Effect::ALL.len()]; 3],
}

type ByCause = [[f64; Cause::ALL.len()]; 3];

impl Budget {
    /// The budget of `instrument`, with ports of `z0`, for a part connected `connections` times
    /// after the calibration. With 0 the part stays soldered in and reconnecting adds nothing;
    /// with n ≥ 1 it adds that of the mean of n connections, reconnect²/(2n) per component.
    ///
    /// # Errors
    /// [`EntryError`] where the instrument has an entry out of range, and where all entries
    /// together make the reading of an open, a short or a match uncertain by more than 1 (rms):
    /// such a reading may lie anywhere in the circle, and tells nothing.
    pub fn new(
        instrument: &Instrument,
        z0: ReferenceImpedance,
        connections: u32,
    ) -> Result<Self, EntryError> {
        instrument.validate()?;
        let reflect =
            Cause::ALL.map(|cause| cause.mean_square(instrument, connections, Fixture::Reflect));
        // Only the floor has an entry for each kind of fixture.
        let mut through = reflect;
        through[Cause::NoiseFloor as usize] =
            Cause::NoiseFloor.mean_square(instrument, connections, Fixture::ShuntThrough);
        let mean_squares = [reflect, through, through];
        let budget = Self {
            z0,
            display_magnitude: instrument.display_magnitude,
            display_phase_rad: instrument.display_phase_rad,
            display: DisplaySteps::new(instrument.display_magnitude, instrument.display_phase_rad),
            reconnect_variance: 0.5 * instrument.reconnect.powi(2),
            averages: f64::from(instrument.averages),
            systematic_is_bound: instrument.systematic_is_bound,
            known_match: None,
            on_bench: None,
            mean_squares,
            sigmas: sigmas_of(&mean_squares),
            sums: sums_by_effect(&mean_squares),
        };
        budget.within_the_circle()
    }

    fn within_the_circle(self) -> Result<Self, EntryError> {
        let matched = Immittance::from_impedance(self.z0.ohm().into()).ok();
        let ends = [Some(Immittance::OPEN), Some(Immittance::SHORT), matched];
        for device in ends.into_iter().flatten() {
            for fixture in Fixture::ALL {
                let reading = self.reading_covariance(fixture, device);
                let rms = reading.map_or(0.0, |c| c.trace().sqrt());
                if rms > 1.0 {
                    return Err(EntryError {
                        entry: "rms error of a reading by all entries together",
                        value: rms,
                        min: 0.0,
                        max: 1.0,
                        unit: "",
                    });
                }
            }
        }
        Ok(self)
    }

    /// The same budget without the entry [`Instrument::raw_match`]: what is uncertain where the
    /// raw match is accounted for elsewhere, as by the front end of a simulation.
    #[must_use]
    pub fn without_raw_match(&self) -> Self {
        let mut mean_squares = self.mean_squares;
        for of_fixture in &mut mean_squares {
            of_fixture[Cause::RawMatch as usize] = 0.0;
        }
        Self {
            mean_squares,
            sigmas: sigmas_of(&mean_squares),
            sums: sums_by_effect(&mean_squares),
            ..*self
        }
    }

    /// Adds to E|δ|² of causes that act alike in all fixtures.
    pub(crate) fn add_mean_squares(&mut self, squares: &[(Cause, f64)]) {
        if squares.iter().all(|(_, square)| *square == 0.0) {
            return;
        }
        for of_fixture in &mut self.mean_squares {
            for (cause, square) in squares {
                of_fixture[*cause as usize] += square;
            }
        }
        self.sigmas = sigmas_of(&self.mean_squares);
        self.sums = sums_by_effect(&self.mean_squares);
    }

    /// A device as a fixture sees it, with the raw match where it is known.
    #[inline]
    pub(crate) fn view(&self, fixture: Fixture, device: Immittance) -> Option<View<'_>> {
        let z0 = self.z0.ohm();
        let mut view = match &self.on_bench {
            None => View::of(fixture, device, z0)?,
            Some(OnBench {
                lines, left_out, ..
            }) => View::on_bench(fixture, device, z0, &lines[fixture as usize], left_out)?,
        };
        view.known_match = self.known_match;
        Some(view)
    }

    /// The reference impedance of the S-parameters.
    pub fn reference(&self) -> ReferenceImpedance {
        self.z0
    }

    /// E|δ|² of a cause, or the variance of a real one.
    pub(crate) fn mean_square(&self, cause: Cause, fixture: Fixture) -> f64 {
        self.mean_squares[fixture as usize][cause as usize]
    }

    /// Sum of E|δ|² times the square of the factor, over the causes with this effect.
    pub(crate) fn sum(&self, effect: Effect, fixture: Fixture) -> f64 {
        self.sums[fixture as usize][effect as usize]
    }

    pub(crate) fn noise(&self, fixture: Fixture) -> Noise {
        Noise {
            floor: 0.5 * self.mean_square(Cause::NoiseFloor, fixture),
            radial: self.mean_square(Cause::TraceMagnitude, fixture),
            tangential: self.mean_square(Cause::TracePhase, fixture),
        }
    }

    /// Random scatter of one reading, with that of connecting where the part is swapped.
    pub(crate) fn noise_when(&self, fixture: Fixture, swapped: bool) -> Noise {
        let mut noise = self.noise(fixture);
        if swapped {
            noise.floor += self.reconnect_variance;
        }
        noise
    }

    /// Covariance of the noise of one raw reading, which counts as S11 for reflect and as S21
    /// for the through fixtures: floor, and trace noise along and across the reading.
    pub fn noise_of(&self, reading: Complex64, fixture: Fixture) -> Covariance {
        self.noise(fixture).covariance(reading)
    }

    /// Covariance of one reading from noise: floor and trace noise, and for a `swapped` part
    /// the scatter of connecting it. Dimensionless; `None` at the pole of an active part.
    ///
    /// This is the C of the separation d = √(ΔSᵀ·C̄⁻¹·ΔS).
    pub fn random_covariance(
        &self,
        fixture: Fixture,
        device: Immittance,
        swapped: bool,
    ) -> Option<Covariance> {
        let view = self.view(fixture, device)?;
        Some(self.noise_when(fixture, swapped).covariance(view.s))
    }

    /// The standard uncertainty of a cause: of its real number, or of each component of its
    /// complex number. Dimensionless, radians for phases, ohms for contact and ground loop.
    pub fn sigma(&self, cause: Cause, fixture: Fixture) -> f64 {
        self.sigmas[fixture as usize][cause as usize]
    }

    /// Scatter of the reading by one cause.
    pub(crate) fn by_cause(&self, cause: Cause, view: &View<'_>) -> Covariance {
        let square = self.mean_square(cause, view.fixture);
        if cause == Cause::RawMatch {
            return self.by_raw_match(view);
        }
        if cause == Cause::Strays {
            return self
                .stray_steps(view)
                .fold(Covariance::ZERO, |sum, step| sum + Covariance::along(step));
        }
        if cause.is_of_calibration() {
            let own = square * view.sensitivity_to(cause).norm_sqr();
            return Covariance::circular(0.5 * (own + view.left_out(cause)));
        }
        cause
            .effect(view.fixture)
            .map_or(Covariance::ZERO, |(effect, factor)| {
                scatter(effect, factor * factor * square, view)
            })
    }

    /// Scatter of the reading by all causes.
    pub(crate) fn total(&self, view: &View<'_>) -> Covariance {
        let sum = |parts: &mut dyn Iterator<Item = Covariance>| {
            parts.fold(Covariance::ZERO, |sum, one| sum + one)
        };
        if view.placed.is_some() || view.known_match.is_some() && view.fixture != Fixture::Reflect {
            return sum(&mut Cause::ALL
                .into_iter()
                .map(|cause| self.by_cause(cause, view)));
        }
        sum(&mut Effect::ALL
            .into_iter()
            .map(|effect| scatter(effect, self.sum(effect, view.fixture), view)))
    }

    /// Covariance of the reading from one cause, dimensionless. `None` at the pole of an active
    /// part, where there is no reading.
    pub fn contribution(
        &self,
        cause: Cause,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<Covariance> {
        let view = self.view(fixture, device)?;
        Some(self.by_cause(cause, &view))
    }

    /// Covariance of the reading from all causes, dimensionless. `None` at the pole of an
    /// active part.
    pub fn reading_covariance(&self, fixture: Fixture, device: Immittance) -> Option<Covariance> {
        Some(self.total(&self.view(fixture, device)?))
    }

    /// Covariance of R and X in Ω², to first order (GUM). `None` for an open, where no error of
    /// the reading is small in ohms, at the pole of an active part, and where it exceeds the
    /// range of numbers.
    pub fn impedance_covariance(&self, fixture: Fixture, device: Immittance) -> Option<Covariance> {
        let view = self.view(fixture, device)?;
        in_ohms(self.total(&view), &view, device, self.z0)
    }

    /// e = √(u_R² + u_X²)/|Z| at k = 1. `None` for an open, a short and the pole of an active
    /// part, where a relative uncertainty has no meaning.
    pub fn figure_of_merit(&self, fixture: Fixture, device: Immittance) -> Option<f64> {
        let view = self.view(fixture, device)?;
        relative(self.total(&view), &view)
    }
}

fn sigmas_of(mean_squares: &ByCause) -> ByCause {
    mean_squares.map(|squares| {
        Cause::ALL.map(|cause| {
            let share = if cause.is_real() { 1.0 } else { 0.5 };
            (share * squares[cause as usize]).sqrt()
        })
    })
}

/// Σ E|δ|² times the square of the factor, by effect; of the raw match its products with the
/// other residuals.
fn sums_by_effect(mean_squares: &ByCause) -> [[f64; Effect::ALL.len()]; 3] {
    let mut sums = [[0.0; Effect::ALL.len()]; 3];
    for (fixture, (sums, squares)) in Fixture::ALL
        .into_iter()
        .zip(sums.iter_mut().zip(mean_squares))
    {
        let raw_match = squares[Cause::RawMatch as usize];
        for (cause, square) in Cause::ALL.into_iter().zip(squares) {
            if let Some((effect, factor)) = cause.effect(fixture) {
                sums[effect as usize] += factor * factor * square;
            }
            if let Some((effect, factor)) = cause.effect_with_raw_match(fixture) {
                sums[effect as usize] += factor * factor * square * raw_match;
            }
        }
    }
    sums
}

/// What a scatter of the reading is in Ω²; `None` where that is no finite number.
pub(crate) fn in_ohms(
    reading: Covariance,
    view: &View<'_>,
    device: Immittance,
    z0: ReferenceImpedance,
) -> Option<Covariance> {
    let slope = match view.placed {
        None => view.fixture.ohm_per_reading(device, z0)?,
        Some(_) if device.is_open() => return None,
        Some(_) => 1.0 / view.per_ohm,
    };
    let ohms = reading.through(slope);
    ohms.is_finite().then_some(ohms)
}

/// √(trace C)/|D|: what a scatter of the reading is as a part of |Z|.
pub(crate) fn relative(reading: Covariance, view: &View<'_>) -> Option<f64> {
    let slope = view.slope.norm();
    (slope > 0.0).then(|| reading.trace().sqrt() / slope)
}

/// Scatter by errors of one effect with the mean square `square`.
#[inline]
fn scatter(effect: Effect, square: f64, view: &View<'_>) -> Covariance {
    let sensitivity = view.sensitivity(effect);
    if effect.is_real() {
        Covariance::along(sensitivity) * square
    } else {
        Covariance::circular(0.5 * square * sensitivity.norm_sqr())
    }
}
