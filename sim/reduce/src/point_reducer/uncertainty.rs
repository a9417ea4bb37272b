//! What is uncertain about one point in ohms: noise and systematic errors of its readings,
//! propagated to first order.

use jigwise_bench::Blank;
use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Covariance, Coverage, Fixture, Immittance,
    RAW_STANDARD_READINGS, ReferenceImpedance, STANDARD_READINGS, Scattering, Sensitivities, Stray,
    Strays, ThroughDerivatives, Trust, coverage_region_through, distance_from_pole, is_bent,
};

use super::Read;
use crate::{PointUncertainty, Source};

/// A reading, of the part or of a blank, on its way to the part's ohms.
struct PropagatedReading<'a> {
    read: &'a Read,
    sensitivities: Sensitivities<'a>,
    /// Its derivatives by the standards, where they have a closed form.
    by_standards: Option<Box<ThroughDerivatives>>,
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
    #[inline]
    fn add(&mut self, source: Source, is_real: bool, step: Complex64) {
        self.add_real(source, step);
        if !is_real {
            self.add_real(source, step * Complex64::I);
        }
    }

    #[inline]
    fn add_real(&mut self, source: Source, step: Complex64) {
        self.total = self.total + Covariance::along(step);
        if let Some(steps) = self.steps.as_deref_mut() {
            steps.push((source, step));
        }
    }
}

/// The part's reading and its blanks', as many as there are.
type Sides<'a> = [Option<PropagatedReading<'a>>; 1 + Blank::MAX_PER_FIXTURE];

/// How the errors of a reading become those of the part's ohms.
#[derive(Debug, Clone, Copy)]
pub(super) struct Propagation {
    pub(super) fixture: Fixture,
    pub(super) reference: ReferenceImpedance,
    /// Share of what the blanks take away that is left as uncertainty (k = 1).
    pub(super) blank_share: f64,
    /// What the fixture may add where no blank takes it off.
    pub(super) strays: Option<Strays>,
}

/// How far the pole of the inverse is from a reading.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Nearness {
    /// |t0|/σ of the reading.
    pub(crate) t0_in_sigma: f64,
    /// As [`is_bent`] has it.
    pub(crate) is_bent: bool,
}

/// The errors of one point.
pub(super) struct Propagated {
    /// Covariance of R and X from noise, Ω².
    pub(super) random: Covariance,
    /// The same from everything, Ω².
    total: Covariance,
    /// dZ of the part by d of each reading at the part's plane, its own first and then the blanks'.
    pub(super) ohm_per_reading: [Complex64; 1 + Blank::MAX_PER_FIXTURE],
}

impl Propagation {
    /// The uncertainty of a point with its trust and region, and how its inverse bends. `None` for
    /// an open and at a pole, where no error of the reading is small in ohms.
    pub(super) fn uncertainty(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Option<(PointUncertainty, Nearness)> {
        let Propagated {
            random,
            total,
            ohm_per_reading,
        } = self.propagated(budget, correction, part, blanks, device, steps)?;
        // All of it as if it were an error of the part's own reading, whose map to ohms is exact.
        let scatter = total.through(ohm_per_reading[0].inv());
        let map = self.fixture.map(self.reference);
        let (map, t0) = if blanks.is_empty() {
            (
                map,
                distance_from_pole(self.fixture, device, self.reference)?,
            )
        } else {
            let devices: Vec<Immittance> = blanks.iter().map(|blank| blank.device).collect();
            let map = map.after(&Blank::removal(self.fixture, &devices).ok()?.inverse());
            let t0 = map.difference(device.ratio(), Immittance::OPEN.ratio())?;
            (map, t0.norm())
        };
        let uncertainty = PointUncertainty {
            random,
            total,
            trust: Trust::of_scatter(t0, scatter, Coverage::P95),
            region: coverage_region_through(&map, device, scatter, Coverage::P95),
            is_region_exact: blanks.is_empty(),
        };
        let nearness = Nearness {
            t0_in_sigma: t0 / scatter.principal_variances().0.sqrt(),
            is_bent: is_bent(t0, scatter),
        };
        Some((uncertainty, nearness))
    }

    /// The errors of a point, and into `steps` each systematic source's step in ohms: the change
    /// of Z by one standard uncertainty of one real number.
    pub(super) fn propagated(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Option<Propagated> {
        let ohm_in_fixture = self.fixture.ohm_per_reading(part.device, self.reference)?;
        let slopes = self.slopes(part, blanks, device, ohm_in_fixture)?;
        let reads = [Some(part), blanks.first(), blanks.get(1)];
        let mut sides: Sides<'_> = [const { None }; 1 + Blank::MAX_PER_FIXTURE];
        for ((read, ohms), side) in reads.into_iter().flatten().zip(slopes).zip(&mut sides) {
            *side = Some(PropagatedReading {
                read,
                sensitivities: budget.sensitivities(self.fixture, read.device)?,
                by_standards: self.by_standards(correction, read),
                ohms,
            });
        }
        let random = self.noise(budget, correction, &sides)?;
        let mut sum = SystematicSum::new(random, steps);
        // E|δ|² of what the calibration adds to the blanks and they take away with the fixture, Ω².
        let mut of_blanks = 0.0;
        for cause in Cause::ALL {
            let sigma = budget.sigma(cause, self.fixture);
            // Shifts that a correction itself gives hold the raw match of its front end.
            let is_known = cause == Cause::RawMatch && correction.is_some();
            if sigma == 0.0 || is_known || !cause.stays_over_a_sweep() {
                continue;
            }
            let step_of = |side: &PropagatedReading<'_>| {
                sigma * self.step_in_reading(correction, side, cause)
            };
            let of_blanks_ohm = add_cause(&mut sum, cause, &sides, ohm_in_fixture, step_of);
            let numbers = if cause.is_real() { 1.0 } else { 2.0 };
            of_blanks += numbers * of_blanks_ohm.norm_sqr();
        }
        if !blanks.is_empty() && self.blank_share > 0.0 {
            let taken = device.impedance()? - part.device.impedance()?;
            sum.add(Source::Removal, true, taken * self.blank_share);
            // What is taken away is itself known no better than the blanks are, in any phase.
            let phase = slopes[1] / slopes[1].norm();
            let unsure = self.blank_share * (0.5 * of_blanks).sqrt();
            if unsure > 0.0 && phase.is_finite() {
                sum.add(Source::UnsureRemoval, false, phase * unsure);
            }
        }
        if let Some(strays) = self.strays.filter(|_| blanks.is_empty()) {
            self.add_strays(&mut sum, &strays, part);
        }
        let total = sum.total;
        total.is_finite().then_some(Propagated {
            random,
            total,
            ohm_per_reading: slopes,
        })
    }

    /// The derivatives of a corrected reading of a through fixture.
    fn by_standards(
        &self,
        correction: Option<&Correction>,
        read: &Read,
    ) -> Option<Box<ThroughDerivatives>> {
        let correction = correction.filter(|_| self.fixture != Fixture::Reflect)?;
        correction.through_derivatives(&read.raw).map(Box::new)
    }

    /// What each stray that no blank takes off moves, at full size.
    fn add_strays(&self, sum: &mut SystematicSum<'_>, strays: &Strays, part: &Read) {
        for stray in Stray::ALL {
            let (device, z0) = (part.device, self.reference);
            let step = strays.step_ohm(stray, self.fixture, device, part.freq_hz, z0);
            if let Ok(Some(step)) = step {
                sum.add(Source::Stray(stray), true, step);
            }
        }
    }

    /// The change of one reading by a unit of a cause.
    fn step_in_reading(
        &self,
        correction: Option<&Correction>,
        side: &PropagatedReading<'_>,
        cause: Cause,
    ) -> Complex64 {
        let calibrated = correction.and_then(|correction| self.shift(correction, side, cause));
        calibrated.unwrap_or_else(|| {
            let plain = side.sensitivities.to(cause);
            // What is added to a reading at the port grows with what is taken off the way.
            match cause {
                Cause::Reconnect => plain * side.read.turn,
                _ => plain,
            }
        })
    }

    /// dZ of the part by d of each reading, its own first and then the blanks'; where there are
    /// blanks by central differences of an analytic function. A blank is moved as a reading,
    /// since a good one is an open or a short and has no relative step in ohms. `own` is that of
    /// the part as it is read.
    fn slopes(
        &self,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
        own: Complex64,
    ) -> Option<[Complex64; 1 + Blank::MAX_PER_FIXTURE]> {
        const STEP: f64 = 1e-5;
        device.impedance()?;
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
    ) -> Option<Covariance> {
        let sides = || sides.iter().flatten();
        let mut random = Covariance::ZERO;
        for side in sides() {
            let own = self.own_noise(budget, correction, side);
            random = random + own.through(side.ohms);
        }
        // One correction for part and blanks: its noise is theirs together.
        let Some(correction) = correction else {
            let mut moved = [(Complex64::ZERO, Covariance::ZERO); STANDARD_READINGS];
            for side in sides() {
                let of_side = side.sensitivities.noise_of_standards();
                for (moved, (sensitivity, noise)) in moved.iter_mut().zip(of_side) {
                    *moved = (moved.0 + sensitivity * side.ohms, noise);
                }
            }
            let of_standards = moved.map(|(slope, noise)| noise.through(slope));
            return Some(of_standards.into_iter().fold(random, |sum, one| sum + one));
        };
        if self.fixture == Fixture::Reflect {
            let readings = sides().map(|side| (side.read.raw.s11, side.ohms_of_corrected()));
            return Some(random + correction.noise_of_standards_one_port(budget, readings));
        }
        if let Some(slopes) = of_standards(sides()) {
            return Some(random + correction.noise_by(budget, &slopes));
        }
        let of_all = |moved: &Correction| {
            sides()
                .map(|side| {
                    let flat = moved.apply_in(self.fixture, &side.read.raw);
                    self.of_fixture(&flat) * side.ohms_of_corrected()
                })
                .sum()
        };
        Some(random + correction.noise_of_standards(budget, of_all))
    }

    /// Noise of the reading at the part's plane from the raw readings that are its own.
    fn own_noise(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        side: &PropagatedReading<'_>,
    ) -> Covariance {
        let read = side.read;
        let noise = match (correction, &side.by_standards) {
            (Some(correction), _) if self.fixture == Fixture::Reflect => {
                correction.own_noise_of_one_port(read.raw.s11, budget)
            }
            (Some(_), Some(known)) => known.own_noise(&read.raw, budget),
            (Some(correction), None) => correction.own_noise_of_through(&read.raw, budget),
            (None, _) => {
                let noise = budget.noise_of(self.of_fixture(&read.corrected), self.fixture);
                return noise + Covariance::circular(0.5 * read.doubt);
            }
        };
        if read.doubt == 0.0 {
            return noise.through(read.turn);
        }
        // What the way from the raw reading multiplies noise by, it multiplies a doubt by.
        let raw = budget.noise_of(self.of_fixture(&read.raw), self.fixture);
        let gain = noise.trace() / raw.trace();
        let doubt = 0.5 * read.doubt * if gain.is_finite() { gain } else { 1.0 };
        (noise + Covariance::circular(doubt)).through(read.turn)
    }

    pub(super) fn of_fixture(&self, s: &Scattering) -> Complex64 {
        match self.fixture {
            Fixture::Reflect => s.s11,
            _ => s.s21,
        }
    }

    fn shift(
        &self,
        correction: &Correction,
        side: &PropagatedReading<'_>,
        cause: Cause,
    ) -> Option<Complex64> {
        let read = side.read;
        let shift = match &side.by_standards {
            _ if self.fixture == Fixture::Reflect => correction.shift_one_port(read.raw.s11, cause),
            Some(known) => known.shift(cause),
            None => correction.shift(&read.raw, cause).map(|s| s.s21),
        };
        shift.map(|shift| shift * read.turn)
    }
}

/// dZ of the part by d of each raw reading of the standards, which all sides share; `None` where one
/// of them has no closed form.
fn of_standards<'a>(
    sides: impl Iterator<Item = &'a PropagatedReading<'a>>,
) -> Option<[Complex64; RAW_STANDARD_READINGS]> {
    let mut slopes = [Complex64::ZERO; RAW_STANDARD_READINGS];
    for side in sides {
        let known = side.by_standards.as_ref()?;
        let ohms = side.ohms_of_corrected();
        for (slope, d) in slopes.iter_mut().zip(known.standards) {
            *slope += d * ohms;
        }
    }
    Some(slopes)
}

/// Adds a cause: once for all readings, where it is of the calibration that they share, else once
/// for each of them. Gives dZ of the part by way of its blanks alone, where the calibration leaves
/// the cause.
fn add_cause(
    sum: &mut SystematicSum<'_>,
    cause: Cause,
    sides: &Sides<'_>,
    ohm_in_fixture: Complex64,
    step_of: impl Fn(&PropagatedReading<'_>) -> Complex64,
) -> Complex64 {
    let mut of_blanks_ohm = Complex64::ZERO;
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
            if connection > 0 {
                of_blanks_ohm += in_ohms;
            }
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
    of_blanks_ohm
}
