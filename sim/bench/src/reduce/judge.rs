//! One point of a sweep in ohms, with what is uncertain about it.

use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Covariance, Coverage, DiscImage, Fixture, Immittance,
    PortExtension, ReferenceImpedance, Scattering, Trust, coverage_region, distance_from_pole,
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
}

/// One reading, corrected and moved to the part's plane.
struct Read {
    raw: Scattering,
    corrected: Scattering,
    device: Immittance,
    /// What moving the plane multiplies the reading by.
    turn: Complex64,
}

impl Judge<'_> {
    /// The point, and where an instrument is known each systematic source's step in ohms: the
    /// change of Z by one standard uncertainty of one real number.
    pub(super) fn point(
        &self,
        k: usize,
        mut steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Result<ReducedPoint, ReduceError> {
        let freq_hz = self.sweep.frequency_hz()[k];
        let correction = self
            .recipe
            .standards
            .as_ref()
            .map(|standards| standards.correction(freq_hz, self.reference))
            .transpose()?;
        let correction = correction.as_ref();
        let part = self.read(self.sweep, k, freq_hz, correction)?;
        let blanks = self
            .recipe
            .blanks
            .iter()
            .map(|sweep| {
                let k = point_at(sweep, freq_hz).unwrap_or_default();
                self.read(sweep, k, freq_hz, correction)
            })
            .collect::<Result<Vec<_>, ReduceError>>()?;
        let devices: Vec<Immittance> = blanks.iter().map(|blank| blank.device).collect();
        let found = without_blanks(self.fixture, part.device, &devices)
            .map_err(|error| ReduceError::Blank { freq_hz, error })?;
        let reading = self.of_fixture(&part.corrected);
        let knowledge = self.recipe.budget.as_ref().and_then(|budget| {
            let sources = steps.as_deref_mut();
            let reads: Vec<&Read> = [&part].into_iter().chain(&blanks).collect();
            self.knowledge(budget, correction, &reads, found.part, sources)
        });
        Ok(ReducedPoint {
            freq_hz,
            reading,
            device: found.part,
            consistency: self.fixture.consistency(part.corrected.s11, reading),
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
            Some(correction) => crate::simulate::corrected(correction, self.fixture, &raw),
            None => raw,
        };
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

    /// `None` for an open and at a pole, where no error of the reading is small in ohms. The
    /// first of `reads` is the part with its fixture, the others are the blanks.
    fn knowledge(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        reads: &[&Read],
        device: Immittance,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Option<Knowledge> {
        let (part, blanks) = reads.split_first()?;
        let slopes = self.slopes(part.device, blanks, device)?;
        let mut amplitudes = Vec::with_capacity(reads.len());
        // Ohms of the part for each unit of a reading, at the part's plane and as corrected.
        let mut ohms = Vec::with_capacity(reads.len());
        let mut ohms_of_corrected = Vec::with_capacity(reads.len());
        for (read, slope) in reads.iter().zip(&slopes) {
            amplitudes.push(budget.amplitudes(self.fixture, read.device)?);
            let per_reading = slope * self.fixture.ohm_per_reading(read.device, self.reference)?;
            ohms.push(per_reading);
            ohms_of_corrected.push(per_reading * read.turn);
        }
        let mut random = Covariance::ZERO;
        for (read, per_reading) in reads.iter().zip(&ohms) {
            random = random
                + self
                    .own_noise(budget, correction, read)
                    .through(*per_reading);
        }
        let mut scatter = self.own_noise(budget, correction, part);
        if let Some(correction) = correction {
            let flat = |moved: &Correction, read: &Read| {
                self.of_fixture(&crate::simulate::corrected(moved, self.fixture, &read.raw))
            };
            let of_part = correction.noise_of_standards(budget, |moved| flat(moved, part));
            scatter = scatter + of_part.through(part.turn);
            // One correction for part and blanks: its noise is theirs together.
            let of_all = |moved: &Correction| {
                reads
                    .iter()
                    .zip(&ohms_of_corrected)
                    .map(|(read, per_reading)| flat(moved, read) * per_reading)
                    .sum()
            };
            random = random
                + match blanks {
                    [] => of_part.through(ohms_of_corrected[0]),
                    _ => correction.noise_of_standards(budget, of_all),
                };
        }
        let mut found = Vec::new();
        for (at, cause) in Cause::ALL.into_iter().enumerate() {
            let sigma = budget.sigma(cause, self.fixture);
            if sigma == 0.0 || !cause.stays_over_a_sweep() {
                continue;
            }
            let in_reading = |which: usize| {
                let read = reads[which];
                let calibrated =
                    correction.and_then(|correction| self.shift(correction, read, cause));
                // What is added to a reading at the port grows with what is taken off the way.
                let plain = match cause {
                    Cause::Reconnect => amplitudes[which][at] * read.turn,
                    _ => amplitudes[which][at],
                };
                sigma * calibrated.unwrap_or(plain)
            };
            if cause.is_of_calibration() {
                let step = (0..reads.len()).map(|k| in_reading(k) * ohms[k]).sum();
                push(&mut found, cause, 0, step);
            } else {
                for which in 0..reads.len() {
                    // A contact or ground loop lies at the part, inside of what blanks remove.
                    let is_at_part =
                        which == 0 && matches!(cause, Cause::Contact | Cause::GroundLoop);
                    let per_reading = if is_at_part {
                        ohms[0] / slopes[0]
                    } else {
                        ohms[which]
                    };
                    push(&mut found, cause, which, in_reading(which) * per_reading);
                }
            }
            let step = in_reading(0);
            scatter = scatter + Covariance::along(step);
            if !cause.is_real() {
                scatter = scatter + Covariance::along(step * Complex64::I);
            }
        }
        if !blanks.is_empty() && self.recipe.blank_share > 0.0 {
            let taken = device.impedance()? - part.device.impedance()?;
            found.push((Source::Removal, taken * self.recipe.blank_share));
        }
        let total = found
            .iter()
            .map(|(_, step)| Covariance::along(*step))
            .fold(random, |sum, one| sum + one);
        if !total.is_finite() {
            return None;
        }
        if let Some(steps) = steps {
            *steps = found;
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

    /// dZ/dZm of the part and dZ/dZb of each blank, by central differences of an analytic
    /// function.
    fn slopes(
        &self,
        measured: Immittance,
        blanks: &[&Read],
        device: Immittance,
    ) -> Option<Vec<Complex64>> {
        const STEP: f64 = 1e-5;
        device.impedance()?;
        if blanks.is_empty() {
            return Some(vec![Complex64::ONE]);
        }
        let all: Vec<Immittance> = [measured]
            .into_iter()
            .chain(blanks.iter().map(|blank| blank.device))
            .collect();
        (0..all.len())
            .map(|which| {
                let z = all[which].impedance()?;
                let step = z * STEP;
                let at = |z: Complex64| {
                    let mut moved = all.clone();
                    moved[which] = Immittance::from_impedance(z).ok()?;
                    let found = without_blanks(self.fixture, moved[0], &moved[1..]).ok()?;
                    found.part.impedance()
                };
                let slope = (at(z + step)? - at(z - step)?) / (2.0 * step);
                // A blank that is a perfect open or short takes nothing away.
                if slope.is_nan() {
                    return Some(Complex64::ZERO);
                }
                Some(slope)
            })
            .collect()
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

fn push(found: &mut Vec<(Source, Complex64)>, cause: Cause, connection: usize, step: Complex64) {
    let source = Source::Cause { cause, connection };
    found.push((source, step));
    if !cause.is_real() {
        found.push((source, step * Complex64::I));
    }
}
