//! One calibration's residuals, drawn: what calibrating again would change.

use num_complex::Complex64;

use crate::uncertainty::coverage::Trust;
use crate::uncertainty::left_out::MAX_LEFT_OUT;
use crate::uncertainty::raw_match;
use crate::uncertainty::view::View;
use crate::{
    Budget, Cause, Covariance, Coverage, Draws, Fixture, Immittance, MonteCarlo, MonteCarloResult,
};

/// Complex residuals δ_j of one calibration. They shift every reading made with it. They shift
/// the readings before and after a nudge almost alike, so that the impedance computed back
/// moves and the separation stays.
///
/// Where the front end is not known, its raw match is drawn with them: the residual of
/// [`Cause::RawMatch`] is the load match, and the source match is kept beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residuals {
    of_calibration: [Complex64; Cause::OF_CALIBRATION.len()],
    raw_source_match: Complex64,
    /// Of mean square 1, by the terms that the calibration left out, of reflection and of
    /// transmission.
    left_out: [[Complex64; MAX_LEFT_OUT]; 2],
}

impl Residuals {
    /// A perfect calibration.
    pub const NONE: Self = Self {
        of_calibration: [Complex64::ZERO; Cause::OF_CALIBRATION.len()],
        raw_source_match: Complex64::ZERO,
        left_out: [[Complex64::ZERO; MAX_LEFT_OUT]; 2],
    };

    /// The residual of one cause; zero for causes that no calibration fixes.
    pub fn of(&self, cause: Cause) -> Complex64 {
        Cause::OF_CALIBRATION
            .iter()
            .zip(self.of_calibration)
            .find_map(|(&c, delta)| (c == cause).then_some(delta))
            .unwrap_or(Complex64::ZERO)
    }

    /// The same residuals with that of one cause replaced. Causes that no calibration fixes
    /// are left alone.
    #[must_use]
    pub fn with(mut self, cause: Cause, delta: Complex64) -> Self {
        for (&c, slot) in Cause::OF_CALIBRATION.iter().zip(&mut self.of_calibration) {
            if c == cause {
                *slot = delta;
            }
        }
        self
    }

    /// Of mean square 1, for every cause.
    pub fn draw_units(draws: &mut Draws) -> Self {
        Self {
            of_calibration: Cause::OF_CALIBRATION.map(|_| draws.circular(0.5)),
            raw_source_match: draws.circular(0.5),
            ..Self::NONE
        }
    }

    /// The residuals of the same standards in another band: each as large as the budget `to` has it
    /// beside `from`. Where `from` has none, `units` of [`Residuals::draw_units`] stand for it.
    #[must_use]
    pub fn in_band(&self, from: &Budget, to: &Budget, units: &Self) -> Self {
        let scaled = |cause, delta: Complex64, unit: Complex64| {
            let [was, is] = [from, to].map(|budget| budget.mean_square(cause, Fixture::Reflect));
            if was > 0.0 {
                delta * (is / was).sqrt()
            } else {
                unit * is.sqrt()
            }
        };
        let mut here = *self;
        for ((&cause, slot), unit) in Cause::OF_CALIBRATION
            .iter()
            .zip(&mut here.of_calibration)
            .zip(units.of_calibration)
        {
            *slot = scaled(cause, *slot, unit);
        }
        let (delta, unit) = (self.raw_source_match, units.raw_source_match);
        here.raw_source_match = scaled(Cause::RawMatch, delta, unit);
        here
    }

    fn shift(&self, view: &View<'_>) -> Complex64 {
        let raw = [self.raw_source_match, self.of(Cause::RawMatch)];
        Cause::OF_CALIBRATION
            .iter()
            .zip(self.of_calibration)
            .map(|(&cause, delta)| {
                view.sensitivity_to(cause) * delta + raw_match::shift(cause, delta, raw, view)
            })
            .sum::<Complex64>()
            + self.of_left_out(view)
    }

    /// Shift by the error terms that the calibration left out.
    fn of_left_out(&self, view: &View<'_>) -> Complex64 {
        let drawn = match view.fixture {
            Fixture::Reflect => &self.left_out[0],
            Fixture::ShuntThrough | Fixture::SeriesThrough => &self.left_out[1],
        };
        view.of_left_out()
            .zip(drawn)
            .map(|((sensitivity, square), unit)| sensitivity * square.sqrt() * unit)
            .sum()
    }
}

impl Budget {
    /// Residuals of one calibration with this budget's standards. Both kinds of causes are
    /// drawn whether the instrument is described by standards or by vendor figures; those it
    /// does not have are zero. So is the raw match of a known front end.
    pub fn draw_calibration(&self, draws: &mut Draws) -> Residuals {
        let mut drawn = |cause| {
            // The same in every fixture that has the cause.
            let variance = 0.5 * self.mean_square(cause, Fixture::Reflect);
            if variance == 0.0 {
                Complex64::ZERO
            } else if self.systematic_is_bound && cause != Cause::RawMatch {
                // Uniform in a disc of radius r has the variance r²/4 per component.
                draws.in_disc(2.0 * variance.sqrt())
            } else {
                draws.circular(variance)
            }
        };
        let of_calibration = Cause::OF_CALIBRATION.map(&mut drawn);
        let raw_source_match = drawn(Cause::RawMatch);
        let mut residuals = Residuals {
            of_calibration,
            raw_source_match,
            ..Residuals::NONE
        };
        if self.on_bench.is_some() {
            residuals.left_out = [(); 2].map(|()| [(); MAX_LEFT_OUT].map(|()| draws.circular(0.5)));
        }
        residuals
    }

    /// Shift of a reading by the residuals of a calibration, to first order: Σ a_j·δ_j, a_j with
    /// the raw match that was drawn. `None` at the pole of an active part.
    pub fn calibration_shift(
        &self,
        residuals: &Residuals,
        fixture: Fixture,
        device: Immittance,
    ) -> Option<Complex64> {
        Some(residuals.shift(&self.view(fixture, device)?))
    }

    /// R and X in ohms by adaptive Monte Carlo over all causes, display rounding and bounds with
    /// their own distributions, the inverse exact. Mean and u are left out within 6σ of the
    /// pole, where the variance of Z is infinite. `None` for an open and at the pole of an
    /// active part.
    pub fn monte_carlo(
        &self,
        fixture: Fixture,
        device: Immittance,
        settings: MonteCarlo,
    ) -> Option<MonteCarloResult<2>> {
        let view = self.view(fixture, device)?;
        let nominal = device.impedance()?;
        let ohm_per_reading = match self.on_bench {
            None => fixture.ohm_per_reading(device, self.z0)?,
            Some(_) => 1.0 / view.per_ohm,
        };
        if !(ohm_per_reading.re.is_finite() && ohm_per_reading.im.is_finite()) {
            return None;
        }
        let gaussian = Cause::ALL
            .iter()
            .filter(|&&cause| !cause.is_of_calibration() && !cause.is_of_display())
            .map(|&cause| self.by_cause(cause, &view))
            .fold(Covariance::ZERO, |sum, one| sum + one);
        let step = Complex64::new(self.display_magnitude, self.display_phase_rad);
        // S = (a·Z + b)/(c·Z + d) gives Z(S + δ) = Z + Z′(S)·δ/(1 − c·(c·Z + d)·δ/det), exactly.
        let bend = self.bend(fixture, nominal);
        let settings = MonteCarlo {
            variance_is_finite: settings.variance_is_finite
                && self.variance_is_finite(device, &view, settings.coverage),
            ..settings
        };
        Some(settings.run(|draws| {
            let rounding = Complex64::new(
                step.re * (draws.uniform() - 0.5),
                step.im * (draws.uniform() - 0.5),
            );
            let delta = self.draw_calibration(draws).shift(&view)
                + draws.with_covariance(gaussian)
                + view.s * rounding;
            let z = nominal + ohm_per_reading * delta / (1.0 - bend * delta);
            [z.re, z.im]
        }))
    }

    /// 1/t0 with the sign that T moves by for a rising reading: c·(c·Z + d)/det.
    fn bend(&self, fixture: Fixture, z: Complex64) -> Complex64 {
        if self.on_bench.is_some() {
            let map = self.map(fixture);
            let [_, [c, d]] = map.rows();
            return c * (c * z + d) / map.determinant();
        }
        let z0 = self.z0.ohm();
        let sum = fixture.weighted_sum(z, Complex64::ONE, z0);
        let per_volt = fixture.weighted_sum(Complex64::ONE, Complex64::ZERO, z0);
        per_volt * sum / fixture.determinant(z0)
    }

    fn variance_is_finite(&self, device: Immittance, view: &View<'_>, coverage: Coverage) -> bool {
        let sigma = self.total(view).principal_variances().0.sqrt();
        self.distance_from_pole(view, device)
            .is_some_and(|t0| Trust::of(t0 / sigma, coverage) <= Trust::Disc)
    }
}
