//! What a fixture says of the part, seen from an estimate of it: the readings, steps and noise that
//! belong to the estimate and not to what a noisy reading happens to show.

use jigwise_physics::{Complex64, Covariance, Fixture, Immittance, RAW_STANDARD_READINGS};

use super::{HeldPoint, PointReducer};
use crate::{ROUNDING, Source};

/// What one fixture says of the part, in ohms to first order.
pub(crate) struct Observed {
    /// How far from the estimate the reading puts the part, Ω.
    pub(crate) residual_ohm: Complex64,
    /// Covariance from noise that is not the standards', Ω².
    pub(crate) own_noise: Covariance,
    /// Steps of the noise of the standards' readings, by their numbers.
    pub(crate) of_standards: Vec<(usize, Complex64)>,
    /// Each systematic source's steps.
    pub(crate) steps: Vec<(Source, Complex64)>,
}

impl PointReducer<'_> {
    /// `None` where the estimate has no reading in the fixture, or without an instrument.
    pub(crate) fn observed(&self, held: &HeldPoint, z_ohm: Complex64) -> Option<Observed> {
        let budget = self.budget(held.freq_hz)?;
        let correction = held.correction.as_deref();
        let part = Immittance::from_impedance(z_ohm).ok()?;
        let expected = self.expected_of(held).ok()??.read(part)?;
        let mut steps = Vec::new();
        let known = self.propagation().propagated(
            budget,
            correction,
            &expected,
            &held.blanks,
            part,
            Some(&mut steps),
        )?;
        let of_standards = correction.map_or(Vec::new(), |correction| {
            let reads = std::iter::once(&expected).chain(&held.blanks);
            if self.fixture == Fixture::Reflect {
                let readings = reads.zip(known.ohm_per_reading);
                let readings = readings.map(|(read, ohms)| (read.raw.s11, read.turn * ohms));
                return correction.steps_of_standards_one_port(budget, readings);
            }
            let slopes = reads.clone().zip(known.ohm_per_reading).try_fold(
                [Complex64::ZERO; RAW_STANDARD_READINGS],
                |mut slopes, (read, ohms)| {
                    let by = correction.through_derivatives(&read.raw)?;
                    for (slope, d) in slopes.iter_mut().zip(by.standards) {
                        *slope += d * read.turn * ohms;
                    }
                    Some(slopes)
                },
            );
            if let Some(slopes) = slopes {
                return correction.steps_by(budget, &slopes);
            }
            correction.steps_of_standards(budget, |moved| {
                reads
                    .clone()
                    .zip(known.ohm_per_reading)
                    .map(|(read, ohms)| {
                        self.of_fixture(&moved.apply_in(self.fixture, &read.raw)) * read.turn * ohms
                    })
                    .sum()
            })
        });
        let off = self.of_fixture(&held.part.corrected) - self.of_fixture(&expected.corrected);
        let [ohm_per_reading, ..] = known.ohm_per_reading;
        // The digits of a file, so that readings without any noise have a weight.
        let digits = (ROUNDING * ohm_per_reading.norm()).powi(2);
        let common = of_standards
            .iter()
            .fold(Covariance::ZERO, |sum, (_, step)| {
                sum + Covariance::along(*step)
            });
        Some(Observed {
            residual_ohm: off * ohm_per_reading,
            own_noise: known.random + common * -1.0 + Covariance::circular(digits),
            of_standards,
            steps,
        })
    }
}
