//! Parts × fixtures × instruments, each measured a thousand times at one point and reduced by the
//! program: the machinery of `tests/families.rs`.

use crate::distance::distance_squared;
use crate::one_band::one_band;
use jigwise_bench::{
    CalibrationPlan, Fixture, MeasuredPoint, Measurement, NamedInstrument, Scenario,
};
use jigwise_physics::{Budget, Complex64, Covariance, Draws, Model, Quantity, Trust, p_value};
use jigwise_reduce::{FitInput, Recipe, Reducer, fit_input};
use jigwise_touchstone::Sweep;

use crate::claim::claimed;
use crate::closed_loop::{recipe_of, usual_method};
use crate::seed::seed;

/// Runs of a cell.
pub const RUNS: usize = 1000;

/// What the reduction knows of the analyzer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FrontEnd {
    /// Raw sweeps with raw standards, the twenty front ends in turn.
    Known,
    /// Corrected sweeps, the front end drawn anew in each run.
    Unknown,
}

/// One cell.
#[derive(Debug, Clone, Copy)]
pub struct Single {
    /// The impedance.
    pub part: &'static str,
    /// The fixture.
    pub fixture: Fixture,
    /// A preset.
    pub instrument: &'static str,
    /// What is known of the analyzer.
    pub front_end: FrontEnd,
    /// How much larger the claimed budget is than the true one.
    pub claim: f64,
}

/// What the program said of the runs of a cell, and how often the part was in it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Runs of which the program says that the linear covariance holds.
    pub linear: usize,
    /// Runs with the part in the 95 % ellipse of R and X.
    pub in_ellipse: usize,
    /// Runs with the part in what the program trusts: the ellipse or the region.
    pub in_told: usize,
    /// Runs with the part in the region that is printed.
    pub in_region: usize,
    /// Runs whose point is an open or has no uncertainty.
    pub untold: usize,
}

impl Single {
    fn scenario(&self) -> Scenario {
        let mut scenario = Scenario {
            device: self.part.parse().expect("an impedance"),
            freq_hz: Some(20e6),
            instrument: NamedInstrument::preset(self.instrument),
            connections: 1,
            ..Scenario::default()
        };
        assert!(scenario.instrument.is_some(), "{}", self.instrument);
        let plan = CalibrationPlan::new(usual_method(self.fixture), scenario.reference);
        scenario.calibration = Some(plan);
        scenario
    }

    /// Measures and reduces the part [`RUNS`] times.
    ///
    /// # Panics
    /// Where a run can't be measured or reduced.
    pub fn outcome(&self) -> Outcome {
        let mut scenario = self.scenario();
        let figures = scenario.instrument.as_ref().expect("a preset").figures;
        let budget = Budget::new(
            &claimed(&figures, self.claim),
            scenario.reference,
            scenario.connections,
        )
        .expect("a budget");
        let name = format!("{} {:?} {}", self.part, self.fixture, self.instrument);
        let case: u64 = name
            .bytes()
            .fold(7, |sum, byte| sum * 31 % 1_000_003 + u64::from(byte));
        let mut outcome = Outcome::default();
        for run in 0..RUNS as u64 {
            scenario.seed = seed()
                .wrapping_mul(1_000_003)
                .wrapping_add(case * 1_000_003 + run);
            if let Some(plan) = &mut scenario.calibration {
                plan.front_end = (self.front_end == FrontEnd::Known).then_some(1 + run % 20);
            }
            let measured = Measurement::of(&scenario, self.fixture).expect("a measurement");
            self.count(&mut outcome, &scenario, &measured, budget);
        }
        outcome
    }

    fn count(
        &self,
        outcome: &mut Outcome,
        scenario: &Scenario,
        measured: &Measurement,
        budget: Budget,
    ) {
        let (sweep, recipe) = match self.front_end {
            FrontEnd::Known => (measured.raw(), recipe_of(scenario, measured, false)),
            FrontEnd::Unknown => (measured.corrected(), Recipe::default()),
        };
        let (sweep, recipe) = (
            sweep.expect("a sweep"),
            Recipe {
                budget: Some(budget.into()),
                ..recipe
            },
        );
        let reducer = Reducer::new(&sweep, self.fixture, &recipe).expect("a reducer");
        let point = reducer.point(0).expect("a point");
        let device = measured.points[0].device;
        let truth = device.impedance().expect("no open");
        let told = point.device.impedance().zip(point.uncertainty);
        let Some((z, known)) = told else {
            outcome.untold += 1;
            return;
        };
        let is_linear = known.trust == Trust::Linear;
        let in_ellipse = holds(&known.total, z - truth);
        let region = known.region.and_then(|region| region.contains(truth));
        let in_region = region == Some(true);
        outcome.linear += usize::from(is_linear);
        outcome.in_ellipse += usize::from(in_ellipse);
        outcome.in_region += usize::from(in_region);
        outcome.in_told += usize::from(if is_linear { in_ellipse } else { in_region });
    }
}

/// The blanks of a measurement, corrected as its part was; as many as the raw ones.
fn corrected(measured: &Measurement, raw: &[Sweep]) -> Vec<Sweep> {
    let one = |(which, raw): (usize, &Sweep)| {
        let of_point = |point: &MeasuredPoint| {
            let s = point
                .correction
                .apply_in(measured.fixture, &point.blanks[which]);
            match measured.fixture {
                Fixture::Reflect => vec![s.s11],
                _ => vec![s.s11, s.s12, s.s21, s.s22],
            }
        };
        let s = measured.points.iter().flat_map(of_point).collect();
        Sweep::new(
            raw.ports(),
            raw.references_ohm(),
            measured.freq_hz.clone(),
            s,
        )
        .expect("finite readings")
    };
    raw.iter().enumerate().map(one).collect()
}

fn holds(covariance: &Covariance, off: Complex64) -> bool {
    covariance
        .distance(off)
        .is_some_and(|d| p_value(d * d, 2) >= 0.05)
}

/// A sweep whose circuit values are looked for.
#[derive(Debug, Clone, Copy)]
pub struct Fitted {
    /// The keys of the table `[device]`.
    pub device: &'static str,
    /// The keys of the table `[sweep]`.
    pub sweep: &'static str,
    /// The fixture.
    pub fixture: Fixture,
    /// A preset.
    pub instrument: &'static str,
    /// What is known of the analyzer.
    pub front_end: FrontEnd,
    /// The keys of the table `[strays]` as the blanks have them; without any there are no blanks.
    pub strays: &'static str,
    /// rms share of them by which those around the part differ.
    pub blank_share: f64,
}

impl Fitted {
    /// In how many of [`RUNS`] the joint 95 % region of the values holds these.
    ///
    /// # Panics
    /// Where a run can't be measured or reduced.
    pub fn hits(&self, model: Model, truth: &[(Quantity, f64)]) -> usize {
        let text = format!(
            "version = 1\n[device]\n{}\n[sweep]\n{}\n[strays]\n{}\n[instrument]\npreset = {:?}\n",
            self.device, self.sweep, self.strays, self.instrument
        );
        let mut scenario = one_band(Scenario::from_toml(&text, "family").expect("a scenario"));
        let plan = CalibrationPlan::new(usual_method(self.fixture), scenario.reference);
        scenario.calibration = Some(plan);
        let figures = scenario.instrument.as_ref().expect("a preset").figures;
        let budget = Budget::new(&figures, scenario.reference, 0).expect("a budget");
        let is_hit = |run: &u64| {
            scenario.seed = seed().wrapping_mul(1_000_003).wrapping_add(*run);
            if let Some(plan) = &mut scenario.calibration {
                plan.front_end = (self.front_end == FrontEnd::Known).then_some(1 + run % 20);
            }
            let input = self.input(&scenario, budget);
            let found = input.sweep().expect("points").fit(model);
            let distance = found.ok().and_then(|found| distance_squared(&found, truth));
            distance.is_some_and(|square| p_value(square, truth.len() as u32) >= 0.05)
        };
        (0..RUNS as u64).filter(is_hit).count()
    }

    fn input(&self, scenario: &Scenario, budget: Budget) -> FitInput {
        // Of one seed both have the same standards, and readings of their own.
        let blanks = Measurement::of(scenario, self.fixture).expect("a measurement");
        let mut around = scenario.clone();
        let strays = &mut around.fixtures.strays;
        let share = 1.0 + self.blank_share * Draws::new(!scenario.seed).normal();
        for stray in [&mut strays.gap_f, &mut strays.ground_h, &mut strays.pin_f] {
            *stray *= share;
        }
        let part = Measurement::of(&around, self.fixture).expect("a measurement");
        let has_blanks = !self.strays.is_empty();
        let recipe = recipe_of(scenario, &blanks, has_blanks);
        let (sweep, recipe) = match self.front_end {
            FrontEnd::Known => (part.raw(), recipe),
            FrontEnd::Unknown => (
                part.corrected(),
                Recipe {
                    blanks: corrected(&blanks, &recipe.blanks),
                    ..Recipe::default()
                },
            ),
        };
        let recipe = Recipe {
            budget: Some(budget.into()),
            blank_share: self.blank_share,
            ..recipe
        };
        fit_input(&sweep.expect("a sweep"), self.fixture, &recipe).expect("points")
    }
}
