//! What is uncertain about one point in ohms: noise and systematic errors of its readings,
//! propagated to first order.

use jigwise_bench::Blank;
use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Covariance, Coverage, Fixture, Immittance, Stray, Trust,
    coverage_region_through,
};

use super::{PointReducer, Read};
use crate::{PointUncertainty, Source};

/// A reading, of the part or of a blank, on its way to the part's ohms.
struct PropagatedReading<'a> {
    read: &'a Read,
    amplitudes: [Complex64; Cause::ALL.len()],
    /// dZ of the part by d of this reading at the part's plane.
    ohms: Complex64,
}

impl PropagatedReading<'_> {
    /// dZ of the part by d of this reading as corrected, before the plane is moved.
    fn ohms_of_corrected(&self) -> Complex64 {
        self.ohms * self.read.turn
    }
}

/// The systematic errors of a point, summed up as they are found.
struct SystematicSum<'a> {
    /// Covariance of R and X, with the noise it began with, Ω².
    total: Covariance,
    /// Each source with its step, where they are asked for.
    steps: Option<&'a mut Vec<(Source, Complex64)>>,
}

impl<'a> SystematicSum<'a> {
    fn new(random: Covariance, mut steps: Option<&'a mut Vec<(Source, Complex64)>>) -> Self {
        if let Some(steps) = steps.as_deref_mut() {
            steps.clear();
        }
        Self {
            total: random,
            steps,
        }
    }

    /// Adds one standard uncertainty `step` of a source: a real number, or a complex one, whose
    /// second real number moves Z at a right angle.
    fn add(&mut self, source: Source, is_real: bool, step: Complex64) {
        let turned = (!is_real).then_some(step * Complex64::I);
        for step in [Some(step), turned].into_iter().flatten() {
            self.total = self.total + Covariance::along(step);
            if let Some(steps) = self.steps.as_deref_mut() {
                steps.push((source, step));
            }
        }
    }
}

/// The part's reading and its blanks', as many as there are.
type Sides<'a> = [Option<PropagatedReading<'a>>; 1 + Blank::MAX_PER_FIXTURE];

impl PointReducer<'_> {
    /// `None` for an open and at a pole, where no error of the reading is small in ohms.
    pub(super) fn uncertainty(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Option<PointUncertainty> {
        let slopes = self.slopes(part, blanks, device)?;
        let ohm_in_fixture = self.fixture.ohm_per_reading(part.device, self.reference)?;
        let reads = [Some(part), blanks.first(), blanks.get(1)];
        let mut sides: Sides<'_> = [const { None }; 1 + Blank::MAX_PER_FIXTURE];
        for ((read, ohms), side) in reads.into_iter().flatten().zip(slopes).zip(&mut sides) {
            *side = Some(PropagatedReading {
                read,
                amplitudes: budget.sensitivities(self.fixture, read.device)?,
                ohms,
            });
        }
        let random = self.noise(budget, correction, &sides);
        let mut sum = SystematicSum::new(random, steps);
        for (at, cause) in Cause::ALL.into_iter().enumerate() {
            let sigma = budget.sigma(cause, self.fixture);
            if sigma == 0.0 || !cause.stays_over_a_sweep() {
                continue;
            }
            let step_of = |side: &PropagatedReading<'_>| {
                sigma * self.step_in_reading(correction, side, at, cause)
            };
            add_cause(&mut sum, cause, &sides, ohm_in_fixture, step_of);
        }
        if !blanks.is_empty() && self.recipe.blank_share > 0.0 {
            let taken = device.impedance()? - part.device.impedance()?;
            sum.add(Source::Removal, true, taken * self.recipe.blank_share);
        }
        for (stray, step) in self.stray_steps(part, blanks) {
            sum.add(Source::Stray(stray), true, step);
        }
        let total = sum.total;
        if !total.is_finite() {
            return None;
        }
        // All of it as if it were an error of the part's own reading, whose map to ohms is exact.
        let scatter = total.through(slopes[0].inv());
        let map = self.fixture.map(self.reference);
        let map = if blanks.is_empty() {
            map
        } else {
            let devices: Vec<Immittance> = blanks.iter().map(|blank| blank.device).collect();
            map.after(&Blank::removal(self.fixture, &devices).ok()?.inverse())
        };
        let t0 = map.difference(device.ratio(), Immittance::OPEN.ratio())?;
        Some(PointUncertainty {
            random,
            total,
            trust: Trust::of_scatter(t0.norm(), scatter, Coverage::P95),
            region: coverage_region_through(&map, device, scatter, Coverage::P95),
            is_region_exact: blanks.is_empty(),
        })
    }

    /// What each stray that no blank takes off moves, at full size, Ω.
    fn stray_steps(
        &self,
        part: &Read,
        blanks: &[Read],
    ) -> impl Iterator<Item = (Stray, Complex64)> {
        let strays = self.recipe.strays.filter(|_| blanks.is_empty());
        let all = strays.into_iter().flat_map(|strays| {
            Stray::ALL.map(|stray| {
                let (device, z0) = (part.device, self.reference);
                let step = strays.step_ohm(stray, self.fixture, device, part.freq_hz, z0);
                Some((stray, step.ok().flatten()?))
            })
        });
        all.flatten()
    }

    /// The change of one reading by a unit of a cause, number `at` of all.
    fn step_in_reading(
        &self,
        correction: Option<&Correction>,
        side: &PropagatedReading<'_>,
        at: usize,
        cause: Cause,
    ) -> Complex64 {
        let calibrated = correction.and_then(|correction| self.shift(correction, side.read, cause));
        // What is added to a reading at the port grows with what is taken off the way.
        let plain = match cause {
            Cause::Reconnect => side.amplitudes[at] * side.read.turn,
            _ => side.amplitudes[at],
        };
        calibrated.unwrap_or(plain)
    }

    /// dZ of the part by d of each reading, its own first and then the blanks'; where there are
    /// blanks by central differences of an analytic function. A blank is moved as a reading,
    /// since a good one is an open or a short and has no relative step in ohms.
    fn slopes(
        &self,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
    ) -> Option<[Complex64; 1 + Blank::MAX_PER_FIXTURE]> {
        const STEP: f64 = 1e-5;
        device.impedance()?;
        let own = self.fixture.ohm_per_reading(part.device, self.reference)?;
        let mut slopes = [own; 1 + Blank::MAX_PER_FIXTURE];
        if blanks.is_empty() {
            return Some(slopes);
        }
        let mut all = [part.device; 1 + Blank::MAX_PER_FIXTURE];
        for (slot, blank) in all[1..].iter_mut().zip(blanks) {
            *slot = blank.device;
        }
        let found = |which: usize, moved: Immittance| {
            let mut all = all;
            all[which] = moved;
            let found = Blank::take_off(self.fixture, all[0], &all[1..=blanks.len()]);
            found.ok()?.part.impedance()
        };
        let not_zero = |step: Complex64, otherwise: f64| {
            if step == Complex64::ZERO {
                Complex64::from(otherwise)
            } else {
                step
            }
        };
        let z = part.device.impedance()?;
        let step = not_zero(z * STEP, self.reference.ohm() * STEP);
        let at = |z| found(0, Immittance::from_impedance(z).ok()?);
        slopes[0] = own * (at(z + step)? - at(z - step)?) / (2.0 * step);
        let reading = self.of_fixture(&part.corrected);
        for (which, blank) in (1..).zip(blanks) {
            let s = self.of_fixture(&blank.corrected);
            // The part is an open or a short where its reading is a blank's.
            let step = not_zero((reading - s) * STEP, STEP);
            let at = |s| found(which, self.fixture.immittance(s, self.reference).ok()?);
            slopes[which] = (at(s + step)? - at(s - step)?) / (2.0 * step);
        }
        Some(slopes)
    }

    /// Covariance of the part's R and X from noise, Ω².
    fn noise(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        sides: &[Option<PropagatedReading<'_>>],
    ) -> Covariance {
        let sides = || sides.iter().flatten();
        let own = sides()
            .map(|side| {
                self.own_noise(budget, correction, side.read)
                    .through(side.ohms)
            })
            .fold(Covariance::ZERO, |sum, one| sum + one);
        let Some(correction) = correction else {
            return own;
        };
        // One correction for part and blanks: its noise is theirs together.
        let of_all = |moved: &Correction| {
            sides()
                .map(|side| {
                    let flat = moved.apply_in(self.fixture, &side.read.raw);
                    self.of_fixture(&flat) * side.ohms_of_corrected()
                })
                .sum()
        };
        own + correction.noise_of_standards(budget, of_all)
    }

    /// Noise of the reading at the part's plane from the raw readings that are its own.
    fn own_noise(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        read: &Read,
    ) -> Covariance {
        let noise = match correction {
            Some(correction) if self.fixture == Fixture::Reflect => {
                correction.own_noise_of_one_port(read.raw.s11, budget)
            }
            Some(correction) => correction.own_noise_of_through(&read.raw, budget),
            None => return budget.noise_of(self.of_fixture(&read.corrected), self.fixture),
        };
        noise.through(read.turn)
    }

    fn shift(&self, correction: &Correction, read: &Read, cause: Cause) -> Option<Complex64> {
        let shift = if self.fixture == Fixture::Reflect {
            correction.shift_one_port(read.raw.s11, cause)
        } else {
            correction.shift(&read.raw, cause).map(|s| s.s21)
        };
        shift.map(|shift| shift * read.turn)
    }
}

/// Adds a cause: once for all readings, where it is of the calibration that they share, else once
/// for each of them.
fn add_cause(
    sum: &mut SystematicSum<'_>,
    cause: Cause,
    sides: &Sides<'_>,
    ohm_in_fixture: Complex64,
    step_of: impl Fn(&PropagatedReading<'_>) -> Complex64,
) {
    let mut of_calibration = Complex64::ZERO;
    for (connection, side) in sides.iter().flatten().enumerate() {
        // A contact or ground loop lies at the part, inside of what blanks remove.
        let is_at_part = connection == 0 && matches!(cause, Cause::Contact | Cause::GroundLoop);
        let ohms = if is_at_part {
            ohm_in_fixture
        } else {
            side.ohms
        };
        let in_ohms = step_of(side) * ohms;
        if cause.is_of_calibration() {
            of_calibration += in_ohms;
        } else {
            let source = Source::Cause { cause, connection };
            sum.add(source, cause.is_real(), in_ohms);
        }
    }
    if cause.is_of_calibration() {
        let source = Source::Cause {
            cause,
            connection: 0,
        };
        sum.add(source, cause.is_real(), of_calibration);
    }
}
