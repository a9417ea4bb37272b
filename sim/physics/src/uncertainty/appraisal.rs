//! Everything a readout needs about one device, in one call and without allocating.

use crate::uncertainty::budget::{in_ohms, relative};
use crate::uncertainty::path::{Curves, Path, Ways};
use crate::{
    Budget, Coverage, DiscImage, Fixture, Immittance, Nudge, Resolvable, ResolvableChange,
    SEEN_SIGMA, Trust, coverage_region_through,
};

/// Standard uncertainty of the impedance computed back, to first order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OhmUncertainty {
    /// Standard uncertainty of R, Ω.
    pub u_r_ohm: f64,
    /// Standard uncertainty of X, Ω.
    pub u_x_ohm: f64,
    /// Correlation of the two, −1 to 1.
    pub correlation: f64,
}

/// Whether one fixture shows a nudge. d is the separation of the readings before and after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// An active part at the pole of the fixture: no reading; this would oscillate.
    NoReading,
    /// The nudge has no meaning: it is relative to |Z| at an open or a short, takes away more
    /// resistance than there is, or ends at the pole of an active part.
    NoNudge,
    /// d < 1: the two readings can't be told apart.
    CantTell,
    /// 1 ≤ d < 2√2, and the display shows another number.
    Hint,
    /// d ≥ 2√2, and the display shows another number.
    Sees,
    /// d ≥ 1, but the display shows the same number.
    HiddenByDisplay,
}

/// How well one fixture measures a device, and whether it shows the nudge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixtureAppraisal {
    /// The fixture.
    pub fixture: Fixture,
    /// e = √(u_R² + u_X²)/|Z|; `None` for an open, a short and at a pole.
    pub figure_of_merit: Option<f64>,
    /// Uncertainty of R and X to first order; `None` for an open and at a pole.
    pub ohms: Option<OhmUncertainty>,
    /// |t0|/σ: distance of the reading from the pole of its inverse, in σ of the widest direction.
    pub t0_in_sigma: f64,
    /// Which of the statements of uncertainty holds.
    pub trust: Trust,
    /// Exact region of Z in ohms; `None` at a pole.
    pub region: Option<DiscImage>,
    /// Smallest changes that show; `None` for an open, a short and at a pole.
    pub resolvable: Option<Resolvable>,
    /// Distance of the readings before and after the nudge, in σ of one reading.
    pub separation_sigma: Option<f64>,
    /// Whether the fixture shows the nudge.
    pub verdict: Verdict,
}

impl FixtureAppraisal {
    /// At the pole of an active part there is no reading.
    const fn at_pole(fixture: Fixture) -> Self {
        Self {
            fixture,
            figure_of_merit: None,
            ohms: None,
            t0_in_sigma: 0.0,
            trust: Trust::Unbounded,
            region: None,
            resolvable: None,
            separation_sigma: None,
            verdict: Verdict::NoReading,
        }
    }
}

/// The appraisals of all three fixtures, and which of them is best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Appraisal {
    /// In the order of [`Fixture::ALL`].
    pub fixtures: [FixtureAppraisal; 3],
    /// Least figure of merit; `None` for an open and a short.
    pub best_for_value: Option<Fixture>,
    /// Least resolvable change in the direction and sign of the nudge; `None` where no fixture
    /// shows any.
    pub best_for_change: Option<Fixture>,
}

impl Appraisal {
    /// The appraisal of one fixture.
    pub fn of(&self, fixture: Fixture) -> &FixtureAppraisal {
        &self.fixtures[fixture as usize]
    }
}

impl Budget {
    /// Appraises a device in all three fixtures.
    ///
    /// ```
    /// use jigwise_physics::*;
    ///
    /// let budget = Budget::new(&Instrument::HANDHELD, ReferenceImpedance::FIFTY_OHM, 0)?;
    /// let part = Immittance::from_impedance(Complex64::new(20_000.0, 0.0)).unwrap();
    /// let seen = budget.appraise(part, Nudge::default(), Coverage::P95);
    /// assert_eq!(seen.best_for_value, Some(Fixture::SeriesThrough));
    /// assert_eq!(seen.of(Fixture::Reflect).verdict, Verdict::CantTell);
    /// assert_eq!(seen.of(Fixture::SeriesThrough).verdict, Verdict::Hint);
    /// # Ok::<(), EntryError>(())
    /// ```
    pub fn appraise(&self, device: Immittance, nudge: Nudge, coverage: Coverage) -> Appraisal {
        let fixtures =
            Fixture::ALL.map(|fixture| self.appraise_in(fixture, device, nudge, coverage));
        let change = |seen: &FixtureAppraisal| {
            let resolvable = seen.resolvable?;
            let change = if nudge.amount() > 0.0 {
                resolvable.increase
            } else {
                resolvable.decrease
            };
            change.value().map(f64::abs)
        };
        Appraisal {
            best_for_value: least(&fixtures, |seen| seen.figure_of_merit),
            best_for_change: least(&fixtures, change),
            fixtures,
        }
    }

    /// Appraises a device in one fixture.
    fn appraise_in(
        &self,
        fixture: Fixture,
        device: Immittance,
        nudge: Nudge,
        coverage: Coverage,
    ) -> FixtureAppraisal {
        let z0 = self.z0.ohm();
        let Some(view) = self.view(fixture, device) else {
            return FixtureAppraisal::at_pole(fixture);
        };
        let reading = self.total(&view);
        let ohms = in_ohms(reading, &view, device, self.z0).map(|ohms| OhmUncertainty {
            u_r_ohm: ohms.re.sqrt(),
            u_x_ohm: ohms.im.sqrt(),
            correlation: ohms.correlation(),
        });
        let sigma = reading.principal_variances().0.sqrt();
        let t0 = self.distance_from_pole(&view, device).unwrap_or(0.0);
        let t0_in_sigma = t0 / sigma;
        let noise = self.noise_when(fixture, nudge.is_swapped());
        let ways = Ways::of(&view, device, z0, nudge.direction());
        let curves = ways.as_ref().map(|ways| {
            let of = |path: &Path| path.curves(noise, &self.display);
            (of(&ways.increase), ways.decrease.as_ref().map(of))
        });
        let resolvable = curves.as_ref().map(|(up, down)| Resolvable {
            increase: up.change(),
            decrease: down
                .as_ref()
                .map_or(ResolvableChange::NEVER, Curves::change),
        });
        let nudged = ways.as_ref().and_then(|ways| {
            let (_, tau) = ways.on_the_way(nudge)?;
            let (up, down) = curves.as_ref()?;
            let curve = if nudge.amount() > 0.0 {
                up
            } else {
                down.as_ref()?
            };
            let separation = if nudge.is_large() {
                self.separation_of_points(fixture, device, nudge)
            } else {
                curve.separation(tau)
            };
            Some((separation?, curve.display_moves(tau)))
        });
        FixtureAppraisal {
            fixture,
            figure_of_merit: relative(reading, &view),
            ohms,
            t0_in_sigma,
            trust: if self.is_first_order(fixture) {
                Trust::of_scatter(t0, reading, coverage)
            } else {
                Trust::of_scatter(t0, reading, coverage).max(Trust::Disc)
            },
            region: coverage_region_through(&self.map(fixture), device, reading, coverage),
            resolvable,
            separation_sigma: nudged.map(|(d, _)| d),
            verdict: nudged.map_or(Verdict::NoNudge, |(d, moves)| verdict(d, moves)),
        }
    }
}

fn verdict(separation_sigma: f64, display_moves: bool) -> Verdict {
    if separation_sigma < 1.0 {
        Verdict::CantTell
    } else if !display_moves {
        Verdict::HiddenByDisplay
    } else if separation_sigma < SEEN_SIGMA {
        Verdict::Hint
    } else {
        Verdict::Sees
    }
}

fn least(
    fixtures: &[FixtureAppraisal; 3],
    of: impl Fn(&FixtureAppraisal) -> Option<f64>,
) -> Option<Fixture> {
    fixtures
        .iter()
        .filter_map(|seen| Some((seen.fixture, of(seen)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(fixture, _)| fixture)
}
