//! The budget of a bench as it stands: fixtures with strays, and the calibration that was made.
//!
//! A fixture with strays is still a Möbius map of the part, so the reading, its scatter, the region
//! of Z, the smallest change and the figure of merit are those of that map. A calibration that
//! leaves error terms out leaves them in the budget, so that no reading claims the uncertainty of a
//! calibration that was not made.

use num_complex::Complex64;

use crate::uncertainty::left_out::{CalibrationMade, LeftOut};
use crate::uncertainty::lines::Lines;
use crate::uncertainty::view::View;
use crate::{
    Budget, Cause, Covariance, EntryError, Fixture, Immittance, Mobius, Strays, distance_from_pole,
};

/// The fixtures on a bench, and what their calibration left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OnBench {
    pub lines: [Lines; 3],
    pub left_out: LeftOut,
    /// rms relative doubt about each stray.
    pub strays_left: f64,
    /// True where the doubt about an arm turns the reading so far that it runs along an arc.
    pub is_arm_doubtful: bool,
}

/// Most rms phase of the doubt about an arm, radians: above it a Monte Carlo twin finds less than
/// 93 % where a Gaussian reading has 95 % (`tests/oracle/make_bench.py`).
pub const MAX_ARM_DOUBT_RAD: f64 = 0.05;

impl Budget {
    /// This budget for fixtures with `strays` at one frequency. `left` is the rms relative doubt
    /// about each stray, zero where the strays are not taken out: then what they do is in the
    /// reading, and is no doubt about it.
    ///
    /// Without strays nothing changes.
    ///
    /// ```
    /// use jigwise_physics::*;
    ///
    /// let budget = Budget::new(&Instrument::LABORATORY, ReferenceImpedance::FIFTY_OHM, 0)?;
    /// let strays = Strays { ground_h: 5e-9, ..Strays::NONE };
    /// let part = Immittance::from_impedance(Complex64::new(0.1, 0.0)).unwrap();
    /// let e = |budget: &Budget| budget.figure_of_merit(Fixture::ShuntThrough, part).unwrap();
    /// // 5 nH is 0.94 Ω at 30 MHz; 15 % of that is more than the part itself.
    /// let known = budget.in_fixtures(&strays, 30e6, 0.0)?;
    /// let doubtful = budget.in_fixtures(&strays, 30e6, 0.15)?;
    /// assert!(e(&budget) < e(&known) && e(&doubtful) > 1.4);
    /// # Ok::<(), EntryError>(())
    /// ```
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn in_fixtures(
        &self,
        strays: &Strays,
        freq_hz: f64,
        left: f64,
    ) -> Result<Self, EntryError> {
        strays.validate()?;
        if strays.are_none() {
            return Ok(*self);
        }
        let lines = self.lines_of(strays, freq_hz)?;
        let left_out = self
            .on_bench
            .map_or(LeftOut::NOTHING, |bench| bench.left_out);
        let turned_rad = [strays.before, strays.after]
            .into_iter()
            .map(|arm| arm.exponent(freq_hz).map(|exponent| exponent.im))
            .collect::<Result<Vec<f64>, _>>()?
            .into_iter()
            .fold(0.0, f64::max);
        let mut budget = *self;
        budget.on_bench = Some(OnBench {
            lines,
            left_out,
            strays_left: left,
            is_arm_doubtful: left * turned_rad > MAX_ARM_DOUBT_RAD,
        });
        Ok(budget)
    }

    /// This budget after a calibration that may leave error terms out or may have gone wrong.
    ///
    /// What the method leaves out stays at its raw size, as rms of unknown phase. A standard that
    /// was not what it was taken for adds |ΔΓ|² to the residual of its kind. After a full
    /// calibration with good standards nothing changes.
    ///
    /// # Errors
    /// [`EntryError`] where a reference plane can't be computed.
    pub fn after_calibration(&self, made: &CalibrationMade) -> Result<Self, EntryError> {
        let mut budget = *self;
        let off = &made.reflections_off;
        let squares = [
            (Cause::Open, off.open.norm_sqr()),
            (Cause::Short, off.short.norm_sqr()),
            (Cause::Load, off.load.norm_sqr()),
            (Cause::ThroughTracking, made.through_off.norm_sqr()),
        ];
        budget.add_mean_squares(&squares);
        let left_out = LeftOut::of(made);
        if left_out.is_nothing() {
            return Ok(budget);
        }
        let placed = match budget.on_bench {
            Some(bench) => bench,
            // Ideal fixtures have no frequency.
            None => OnBench {
                lines: budget.lines_of(&Strays::NONE, 0.0)?,
                left_out,
                strays_left: 0.0,
                is_arm_doubtful: false,
            },
        };
        budget.on_bench = Some(OnBench { left_out, ..placed });
        Ok(budget)
    }

    fn lines_of(&self, strays: &Strays, freq_hz: f64) -> Result<[Lines; 3], EntryError> {
        let of = |fixture| Lines::of(fixture, strays, freq_hz, self.z0);
        let [reflect, shunt, series] = Fixture::ALL.map(of);
        Ok([reflect?, shunt?, series?])
    }

    /// True where the first order, in which a budget counts, tells u of a reading.
    pub(crate) fn is_first_order(&self, fixture: Fixture) -> bool {
        self.on_bench
            .as_ref()
            .is_none_or(|bench| !bench.is_arm_doubtful && bench.left_out.is_first_order(fixture))
    }

    /// The map from Z (in ohms) to the reading, with the strays of this bench.
    pub fn map(&self, fixture: Fixture) -> Mobius {
        match &self.on_bench {
            None => fixture.map(self.z0),
            Some(bench) => bench.lines[fixture as usize].map(self.z0.ohm()),
        }
    }

    /// |t0|: distance of the reading from the pole of its inverse.
    pub(crate) fn distance_from_pole(&self, view: &View<'_>, device: Immittance) -> Option<f64> {
        match view.placed {
            None => distance_from_pole(view.fixture, device, self.z0),
            Some(_) => view.distance_from_pole(),
        }
    }

    /// What one standard deviation of the doubt about each stray does to a reading.
    pub(crate) fn stray_steps(&self, view: &View<'_>) -> impl Iterator<Item = Complex64> {
        let left = self.on_bench.map_or(0.0, |bench| bench.strays_left);
        view.of_strays().map(move |step| step * left)
    }

    /// A corrected reading of a device after the calibration that left `residuals`: with noise,
    /// drift, contacts and what is left of the strays drawn, and rounded by a uniform error of the
    /// display. `None` at the pole of an active part.
    pub fn draw_reading(
        &self,
        residuals: &crate::Residuals,
        fixture: Fixture,
        device: Immittance,
        draws: &mut crate::Draws,
    ) -> Option<Complex64> {
        let view = self.view(fixture, device)?;
        let scatter = Cause::ALL
            .iter()
            .filter(|cause| !cause.is_of_calibration() && !cause.is_of_display())
            .map(|&cause| self.by_cause(cause, &view))
            .fold(Covariance::ZERO, |sum, one| sum + one);
        let rounding = Complex64::new(
            self.display_magnitude * (draws.uniform() - 0.5),
            self.display_phase_rad * (draws.uniform() - 0.5),
        );
        let delta = self.calibration_shift(residuals, fixture, device)?
            + draws.with_covariance(scatter)
            + view.s * rounding;
        Some(view.s + delta)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        AveragesNeeded, Coverage, Draws, Instrument, Line, Merits, Method, Nudge, RawAnalyzer,
        ReferenceImpedance, Trio, VendorFigures,
    };

    const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

    fn parts(seed: u64, count: usize) -> impl Iterator<Item = Immittance> {
        let mut draws = Draws::new(seed);
        (0..count).map(move |_| {
            let size = 10f64.powf(-2.0 + 7.0 * draws.uniform());
            let angle_rad = 3.1 * (draws.uniform() - 0.5);
            Immittance::from_impedance(Complex64::from_polar(size, angle_rad)).unwrap()
        })
    }

    fn everything() -> Instrument {
        Instrument {
            contact_ohm: 0.02,
            ground_loop_ohm: 0.01,
            cable_phase_rad: 0.01,
            drift: 0.002,
            ..Instrument::HANDHELD
        }
    }

    /// The ideal fixtures, computed as a bench.
    fn on_an_ideal_bench(budget: &Budget) -> Budget {
        let mut placed = *budget;
        placed.on_bench = Some(OnBench {
            lines: budget.lines_of(&Strays::NONE, 0.0).unwrap(),
            left_out: LeftOut::NOTHING,
            strays_left: 0.0,
            is_arm_doubtful: false,
        });
        placed
    }

    fn near(a: f64, b: f64, what: &str) {
        assert!(
            (a - b).abs() <= 1e-9 * (a.abs() + b.abs()),
            "{what}: {a} {b}"
        );
    }

    #[test]
    fn an_ideal_bench_gives_what_the_ideal_fixture_gives() {
        let vendor = crate::Systematic::Vendor(VendorFigures {
            directivity: 0.01,
            reflect_tracking: 0.02,
            source_match: 0.03,
            through_tracking: 0.01,
            crosstalk: 1e-4,
            load_match: 0.02,
        });
        let terms = RawAnalyzer::new(4).terms(30e6);
        let standards = Budget::new(&everything(), Z0, 2).unwrap();
        let of_vendor = Instrument {
            systematic: vendor,
            ..everything()
        };
        for ideal in [
            standards,
            standards.with_front_end(&terms),
            Budget::new(&of_vendor, Z0, 2).unwrap(),
        ] {
            let placed = on_an_ideal_bench(&ideal);
            for part in parts(12, 60) {
                for fixture in Fixture::ALL {
                    for cause in Cause::ALL {
                        let of =
                            |budget: &Budget| budget.contribution(cause, fixture, part).unwrap();
                        let (a, b) = (of(&ideal), of(&placed));
                        let what = format!("{fixture:?} {cause:?} {part:?}");
                        near(a.re, b.re, &what);
                        near(a.im, b.im, &what);
                    }
                }
                let nudge = Nudge::default();
                let appraise = |budget: &Budget| budget.appraise(part, nudge, Coverage::P95);
                let (a, b) = (appraise(&ideal), appraise(&placed));
                assert_eq!(a.best_for_value, b.best_for_value);
                for (a, b) in a.fixtures.iter().zip(&b.fixtures) {
                    assert_eq!((a.trust, a.verdict), (b.trust, b.verdict));
                    near(a.t0_in_sigma, b.t0_in_sigma, "t0");
                    near(
                        a.separation_sigma.unwrap(),
                        b.separation_sigma.unwrap(),
                        "d",
                    );
                    near(a.figure_of_merit.unwrap(), b.figure_of_merit.unwrap(), "e");
                    let change =
                        |seen: &crate::FixtureAppraisal| seen.resolvable.unwrap().increase.value();
                    if let (Some(a), Some(b)) = (change(a), change(b)) {
                        near(a, b, "change");
                    }
                }
                for fixture in Fixture::ALL {
                    let averages =
                        |budget: &Budget| match budget.averages_needed(fixture, part, nudge) {
                            Some(AveragesNeeded::Averages(count)) => count,
                            _ => 0.0,
                        };
                    let (a, b) = (averages(&ideal), averages(&placed));
                    assert!((a - b).abs() <= 1.0 + 1e-9 * a, "{a} {b}");
                }
            }
        }
    }

    fn strays() -> Strays {
        Strays {
            gap_f: 0.4e-12,
            ground_h: 6e-9,
            pin_f: 0.3e-12,
            contact_ohm: 0.03,
            before: Line {
                length_m: 0.05,
                velocity_factor: 0.7,
                zc_ohm: 60.0,
                ..Line::NONE
            },
            after: Line {
                length_m: 0.08,
                velocity_factor: 0.7,
                ..Line::NONE
            },
            ..Strays::NONE
        }
    }

    #[test]
    fn forms_and_readouts_agree_on_every_bench() {
        let budget = Budget::new(&everything(), Z0, 1).unwrap();
        let terms = RawAnalyzer::new(9).terms(40e6);
        for strays in [Strays::NONE, strays()] {
            for method in Method::ALL {
                for has_isolation in [true, false] {
                    let made = CalibrationMade {
                        has_isolation,
                        reflections_off: Trio {
                            open: Complex64::new(0.0, 0.03),
                            short: Complex64::new(-0.02, 0.0),
                            load: Complex64::new(0.05, 0.01),
                        },
                        ..CalibrationMade::good(method, terms)
                    };
                    let bench = budget
                        .in_fixtures(&strays, 40e6, 0.15)
                        .unwrap()
                        .after_calibration(&made)
                        .unwrap();
                    let merits = Merits::of(&bench);
                    for part in parts(3, 20) {
                        for fixture in Fixture::ALL {
                            let by_form = merits.figure_of_merit(fixture, part).unwrap();
                            let by_view = bench.figure_of_merit(fixture, part).unwrap();
                            near(
                                by_form,
                                by_view,
                                &format!("{fixture:?} {method:?} {part:?}"),
                            );
                        }
                    }
                }
            }
        }
    }

    /// JCGM 101: the spread of many drawn calibrations and readings is that of the budget.
    #[test]
    fn drawn_readings_scatter_as_the_budget_says() {
        let budget = Budget::new(&everything(), Z0, 1).unwrap();
        let terms = RawAnalyzer::new(9).terms(40e6);
        let part = Immittance::from_impedance(Complex64::new(40.0, 90.0)).unwrap();
        for method in [
            Method::Raw,
            Method::OnePortAndThrough,
            Method::BothDirections,
        ] {
            let bench = budget
                .in_fixtures(&strays(), 40e6, 0.15)
                .unwrap()
                .after_calibration(&CalibrationMade::good(method, terms))
                .unwrap();
            for fixture in Fixture::ALL {
                const TRIALS: u32 = 20_000;
                let nominal = bench.map(fixture).apply(part.ratio()).value().unwrap();
                let mut draws = Draws::new(31);
                let square: f64 = (0..TRIALS)
                    .map(|_| {
                        let residuals = bench.draw_calibration(&mut draws);
                        let s = bench
                            .draw_reading(&residuals, fixture, part, &mut draws)
                            .unwrap();
                        (s - nominal).norm_sqr()
                    })
                    .sum();
                let rms = (square / f64::from(TRIALS)).sqrt();
                let wanted = bench
                    .reading_covariance(fixture, part)
                    .unwrap()
                    .trace()
                    .sqrt();
                assert!(
                    (rms / wanted - 1.0).abs() < 0.02,
                    "{fixture:?} {method:?}: {rms} {wanted}"
                );
            }
        }
    }

    #[test]
    fn nothing_changes_without_strays_after_a_full_calibration() {
        let budget = Budget::new(&everything(), Z0, 1).unwrap();
        let terms = RawAnalyzer::new(9).terms(40e6);
        let same = budget
            .in_fixtures(&Strays::NONE, 40e6, 0.15)
            .unwrap()
            .after_calibration(&CalibrationMade::good(Method::BothDirections, terms))
            .unwrap();
        assert_eq!(format!("{same:?}"), format!("{budget:?}"));
    }
}
