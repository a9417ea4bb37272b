//! One point of a sweep in ohms, with what is uncertain about it.

use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Covariance, Coverage, DiscImage, Fixture, Immittance,
    Method, PortExtension, ReferenceImpedance, Scattering, Trust, coverage_region,
    distance_from_pole,
};
use jigwise_touchstone::Sweep;

use super::recipe::{Recipe, point_at, without_blanks};
use super::{ReduceError, ReducedPoint};

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
    /// What a blank takes away and should not, or leaves.
    Removal,
}

/// How well a point is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knowledge {
    /// Covariance of R and X from noise, Ω², different at every point.
    pub random: Covariance,
    /// Covariance of R and X from everything, Ω², k = 1.
    pub total: Covariance,
    /// Which statement of uncertainty holds.
    pub trust: Trust,
    /// The exact 95 % region; `None` where blanks were taken out, whose reading has none.
    pub region: Option<DiscImage>,
}

/// A sweep being judged point by point.
pub(super) struct Judge<'a> {
    pub(super) sweep: &'a Sweep,
    pub(super) fixture: Fixture,
    pub(super) reference: ReferenceImpedance,
    pub(super) recipe: &'a Recipe,
    /// The budget, or `None` where the uncertainty is not asked for now.
    pub(super) budget: Option<&'a Budget>,
    /// What is made of the standards, where there are any.
    pub(super) method: Method,
    /// True where S12 is a reading of its own and not S21 taken twice.
    pub(super) is_two_way: bool,
}

/// One reading, corrected and moved to the part's plane.
struct Read {
    raw: Scattering,
    corrected: Scattering,
    device: Immittance,
    /// What moving the plane multiplies the reading by.
    turn: Complex64,
}

/// Most blanks that a fixture has.
const MOST_BLANKS: usize = 2;

/// A reading, of the part or of a blank, on its way to the part's ohms.
struct Side<'a> {
    read: &'a Read,
    amplitudes: [Complex64; Cause::ALL.len()],
    /// dZ of the part by d of this reading at the part's plane.
    ohms: Complex64,
}

impl Side<'_> {
    /// dZ of the part by d of this reading as corrected, before the plane is moved.
    fn ohms_of_corrected(&self) -> Complex64 {
        self.ohms * self.read.turn
    }
}

impl Read {
    fn power_out(&self, fixture: Fixture) -> f64 {
        let back = self.corrected.s11.norm_sqr();
        if fixture == Fixture::Reflect {
            back
        } else {
            back + self.corrected.s21.norm_sqr()
        }
    }
}

impl Judge<'_> {
    /// The point, and where an instrument is known each systematic source's step in ohms: the
    /// change of Z by one standard uncertainty of one real number.
    pub(super) fn point(
        &self,
        k: usize,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Result<ReducedPoint, ReduceError> {
        let freq_hz = self.sweep.frequency_hz()[k];
        let correction = self
            .recipe
            .standards
            .as_ref()
            .map(|standards| standards.correction(self.method, freq_hz, self.reference))
            .transpose()?;
        let correction = correction.as_ref();
        let part = self.read(self.sweep, k, freq_hz, correction)?;
        let mut blanks = Vec::with_capacity(self.recipe.blanks.len());
        let mut devices = [Immittance::OPEN; MOST_BLANKS];
        for (sweep, device) in self.recipe.blanks.iter().zip(&mut devices) {
            let k = point_at(sweep.frequency_hz(), freq_hz).unwrap_or_default();
            let blank = self.read(sweep, k, freq_hz, correction)?;
            *device = blank.device;
            blanks.push(blank);
        }
        let found = without_blanks(self.fixture, part.device, &devices[..blanks.len()])
            .map_err(|error| ReduceError::Blank { freq_hz, error })?;
        let reading = self.of_fixture(&part.corrected);
        let knowledge = self.budget.and_then(|budget| {
            self.knowledge(budget, correction, &part, &blanks, found.part, steps)
        });
        Ok(ReducedPoint {
            freq_hz,
            reading,
            device: found.part,
            consistency: self.fixture.consistency(part.corrected.s11, reading),
            reciprocity: self
                .is_two_way
                .then(|| (part.corrected.s21 - part.corrected.s12).norm()),
            power_out: part.power_out(self.fixture),
            removed: found.removed,
            knowledge,
        })
    }

    fn read(
        &self,
        sweep: &Sweep,
        k: usize,
        freq_hz: f64,
        correction: Option<&Correction>,
    ) -> Result<Read, ReduceError> {
        let reflect = self.fixture == Fixture::Reflect;
        let zero = Complex64::ZERO;
        let raw = if sweep.ports() < 2 || reflect {
            Scattering {
                s11: sweep.s(k, 1, 1),
                s12: zero,
                s21: zero,
                s22: zero,
            }
        } else {
            Scattering {
                s11: sweep.s(k, 1, 1),
                s12: sweep.s(k, 1, 2),
                s21: sweep.s(k, 2, 1),
                s22: sweep.s(k, 2, 2),
            }
        };
        let flat = match correction {
            Some(correction) => correction.apply_in(self.fixture, &raw),
            None => raw,
        };
        if !self.of_fixture(&flat).is_finite() {
            return Err(ReduceError::NoReading { freq_hz });
        }
        let [one, two] = &self.recipe.extension;
        let stays = PortExtension::default();
        let corrected = if (*one, *two) == (stays, stays) {
            flat
        } else {
            PortExtension::scattering(&flat, one, two, freq_hz)?
        };
        let (before, after) = if reflect {
            (flat.s11, corrected.s11)
        } else {
            (flat.s21, corrected.s21)
        };
        let device = self.fixture.immittance(after, self.reference)?;
        let turn = if before == zero {
            Complex64::ONE
        } else {
            after / before
        };
        Ok(Read {
            raw,
            corrected,
            device,
            turn,
        })
    }

    /// `None` for an open and at a pole, where no error of the reading is small in ohms.
    fn knowledge(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Option<Knowledge> {
        let slopes = self.slopes(part, blanks, device)?;
        let ohm_in_fixture = self.fixture.ohm_per_reading(part.device, self.reference)?;
        let reads = [Some(part), blanks.first(), blanks.get(1)];
        let mut sides = [const { None::<Side<'_>> }; 1 + MOST_BLANKS];
        for ((read, ohms), side) in reads.into_iter().flatten().zip(slopes).zip(&mut sides) {
            *side = Some(Side {
                read,
                amplitudes: budget.sensitivities(self.fixture, read.device)?,
                ohms,
            });
        }
        let (random, mut scatter) = self.noise(budget, correction, &sides)?;
        let sides = || sides.iter().flatten().enumerate();
        let mut total = random;
        let mut found = steps;
        if let Some(found) = found.as_deref_mut() {
            found.clear();
        }
        let mut add = |source: Source, is_real: bool, step: Complex64| {
            let turned = (!is_real).then_some(step * Complex64::I);
            for step in [Some(step), turned].into_iter().flatten() {
                total = total + Covariance::along(step);
                if let Some(found) = found.as_deref_mut() {
                    found.push((source, step));
                }
            }
        };
        for (at, cause) in Cause::ALL.into_iter().enumerate() {
            let sigma = budget.sigma(cause, self.fixture);
            if sigma == 0.0 || !cause.stays_over_a_sweep() {
                continue;
            }
            let in_reading = |side: &Side<'_>| {
                let calibrated =
                    correction.and_then(|correction| self.shift(correction, side.read, cause));
                // What is added to a reading at the port grows with what is taken off the way.
                let plain = match cause {
                    Cause::Reconnect => side.amplitudes[at] * side.read.turn,
                    _ => side.amplitudes[at],
                };
                sigma * calibrated.unwrap_or(plain)
            };
            let mut of_calibration = Complex64::ZERO;
            for (which, side) in sides() {
                let step = in_reading(side);
                // A contact or ground loop lies at the part, inside of what blanks remove.
                let is_at_part = which == 0 && matches!(cause, Cause::Contact | Cause::GroundLoop);
                let in_ohms = if is_at_part {
                    step * ohm_in_fixture
                } else {
                    step * side.ohms
                };
                if cause.is_of_calibration() {
                    of_calibration += in_ohms;
                } else {
                    let source = Source::Cause {
                        cause,
                        connection: which,
                    };
                    add(source, cause.is_real(), in_ohms);
                }
                if which == 0 {
                    scatter = scatter + Covariance::along(step);
                    if !cause.is_real() {
                        scatter = scatter + Covariance::along(step * Complex64::I);
                    }
                }
            }
            if cause.is_of_calibration() {
                let source = Source::Cause {
                    cause,
                    connection: 0,
                };
                add(source, cause.is_real(), of_calibration);
            }
        }
        if !blanks.is_empty() && self.recipe.blank_share > 0.0 {
            let taken = device.impedance()? - part.device.impedance()?;
            add(Source::Removal, true, taken * self.recipe.blank_share);
        }
        if !total.is_finite() {
            return None;
        }
        let sigma = scatter.principal_variances().0.sqrt();
        let distance = distance_from_pole(self.fixture, part.device, self.reference)?;
        let region = blanks.is_empty().then(|| {
            coverage_region(
                self.fixture,
                part.device,
                self.reference,
                scatter,
                Coverage::P95,
            )
        });
        Some(Knowledge {
            random,
            total,
            trust: Trust::of(distance / sigma, Coverage::P95),
            region: region.flatten(),
        })
    }

    /// dZ of the part by d of each reading, its own first and then the blanks'; where there are
    /// blanks by central differences of an analytic function. A blank is moved as a reading,
    /// since a good one is an open or a short and has no relative step in ohms.
    fn slopes(
        &self,
        part: &Read,
        blanks: &[Read],
        device: Immittance,
    ) -> Option<[Complex64; 1 + MOST_BLANKS]> {
        const STEP: f64 = 1e-5;
        device.impedance()?;
        let own = self.fixture.ohm_per_reading(part.device, self.reference)?;
        let mut slopes = [own; 1 + MOST_BLANKS];
        if blanks.is_empty() {
            return Some(slopes);
        }
        let mut all = [part.device; 1 + MOST_BLANKS];
        for (slot, blank) in all[1..].iter_mut().zip(blanks) {
            *slot = blank.device;
        }
        let found = |which: usize, moved: Immittance| {
            let mut all = all;
            all[which] = moved;
            let found = without_blanks(self.fixture, all[0], &all[1..=blanks.len()]);
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

    /// Covariance from noise: of the part's R and X, Ω², and of the reading of what the fixture
    /// holds.
    fn noise(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        sides: &[Option<Side<'_>>],
    ) -> Option<(Covariance, Covariance)> {
        let sides = || sides.iter().flatten();
        let part = sides().next()?;
        let mut random = Covariance::ZERO;
        for side in sides() {
            let own = self.own_noise(budget, correction, side.read);
            random = random + own.through(side.ohms);
        }
        let mut scatter = self.own_noise(budget, correction, part.read);
        if let Some(correction) = correction {
            let flat = |moved: &Correction, read: &Read| {
                self.of_fixture(&moved.apply_in(self.fixture, &read.raw))
            };
            let of_part = correction.noise_of_standards(budget, |moved| flat(moved, part.read));
            scatter = scatter + of_part.through(part.read.turn);
            // One correction for part and blanks: its noise is theirs together.
            let of_all = |moved: &Correction| {
                sides()
                    .map(|side| flat(moved, side.read) * side.ohms_of_corrected())
                    .sum()
            };
            random = random
                + match sides().count() {
                    1 => of_part.through(part.ohms_of_corrected()),
                    _ => correction.noise_of_standards(budget, of_all),
                };
        }
        Some((random, scatter))
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

    fn of_fixture(&self, s: &Scattering) -> Complex64 {
        match self.fixture {
            Fixture::Reflect => s.s11,
            _ => s.s21,
        }
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
