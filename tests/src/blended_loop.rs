//! A part measured in two or three fixtures a thousand times from raw sweeps on: the machinery of
//! `tests/blended_loop.rs` and
//! `tests/blend_families.rs`.
//!
//! The simulation is this file's own and not that of `jig sweep`: raw sweeps share one calibration,
//! corrected ones had the same standards read again for each, each connection has errors of its own, and the strays around
//! the part differ from those of the blanks by a drawn share of these.

use std::f64::consts::TAU;
use std::sync::Arc;

use jigwise_physics::{
    Agreement, Budget, Cause, Complex64, Correction, Definitions, Draws, Fixture, Immittance,
    Instrument, MeasuredStandards, Method, Port, RawAnalyzer, Scattering, Strays, Trust, p_value,
    solve,
};
use jigwise_reduce::{Ensemble, PartPoint, Recipe, Reducer, StandardSweeps};
use jigwise_touchstone::Sweep;

use crate::claim::claimed;
use crate::fifty_ohm::Z0;
use crate::seed::seed;

/// Runs of a cell.
pub const RUNS: usize = 1000;

/// How the sweeps reach the reduction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Files {
    /// Raw, with the raw standards beside them.
    Raw,
    /// Corrected elsewhere.
    Corrected,
}

/// A part in two or three fixtures on one instrument.
#[derive(Debug, Clone)]
pub struct Cell {
    /// What it is called in a failure.
    pub name: &'static str,
    /// The part at each frequency of the sweep, Hz and Ω.
    pub part: Vec<(f64, Complex64)>,
    /// The fixtures.
    pub fixtures: &'static [Fixture],
    /// The instrument.
    pub instrument: Instrument,
    /// Connections after the calibration.
    pub connections: u32,
    /// What the fixtures add; with any, blanks are measured.
    pub strays: Strays,
    /// What the fixtures may add where nothing takes it off, the rms of each: told to the
    /// reduction, and drawn with either sign.
    pub left_in: Strays,
    /// rms share of the blanks' strays by which those around the part differ: the share of what
    /// blanks take away that is claimed to be left.
    pub blank_share: f64,
    /// How the sweeps are handed over.
    pub files: Files,
    /// How much larger the claimed budget is than the true one.
    pub claim: f64,
}

impl Cell {
    /// A part in two fixtures without strays, raw, at one frequency.
    pub fn new(
        name: &'static str,
        part_ohm: Complex64,
        freq_hz: f64,
        fixtures: &'static [Fixture],
        instrument: Instrument,
    ) -> Self {
        Self {
            name,
            part: vec![(freq_hz, part_ohm)],
            fixtures,
            instrument,
            connections: 0,
            strays: Strays::NONE,
            left_in: Strays::NONE,
            blank_share: 0.0,
            files: Files::Raw,
            claim: 1.0,
        }
    }

    /// The points and the agreement of one run.
    ///
    /// # Panics
    /// Where a run can't be reduced.
    pub fn run(&self, run: u64) -> (Vec<PartPoint>, Option<Agreement>) {
        let budget = Budget::new(&self.instrument, Z0, self.connections).unwrap();
        let claimed = Budget::new(&claimed(&self.instrument, self.claim), Z0, self.connections);
        let mut draws = Draws::new(seed().wrapping_mul(1_000_003).wrapping_add(run));
        let analyzer = match self.files {
            // Twenty front ends in turn.
            Files::Raw => RawAnalyzer::new(run % 20),
            Files::Corrected => RawAnalyzer::with_raw_match(run, self.instrument.raw_match),
        };
        let truth = Definitions::IDEAL.with_residuals(&budget.draw_calibration(&mut draws));
        let calibrate = |draws: &mut Draws| -> Vec<MeasuredStandards> {
            let of_point = |&(hz, _): &(f64, Complex64)| {
                analyzer.measure_standards(&truth, hz, &[], Some((&budget, &mut *draws)))
            };
            self.part.iter().map(of_point).collect()
        };
        let standards = calibrate(&mut draws);
        let mut of_fixture = |fixture: Fixture| {
            // Files that were corrected elsewhere were each calibrated by themselves.
            let standards = match self.files {
                Files::Raw => standards.clone(),
                Files::Corrected => calibrate(&mut draws),
            };
            let share = 1.0 + self.blank_share * draws.normal();
            let part_strays = Strays {
                gap_f: self.strays.gap_f * share,
                ground_h: self.strays.ground_h * share,
                pin_f: self.strays.pin_f * share,
                ..self.strays
            };
            let sweep =
                |draws: &mut Draws, strays: &Strays, device: &dyn Fn(usize) -> Immittance| {
                    let connection = Connection::drawn(&budget, fixture, draws);
                    let mut raw = |k: usize| {
                        let hz = self.part[k].0;
                        let planes = at_planes(strays, fixture, device(k), hz);
                        let noise = Some((&budget, &mut *draws));
                        connection.measured(&analyzer, fixture, &planes, hz, noise)
                    };
                    let readings: Vec<Scattering> = (0..self.part.len()).map(&mut raw).collect();
                    self.file(fixture, &readings, &standards)
                };
            let left_in = [(); 3].map(|()| draws.normal());
            let of_part = |k: usize| {
                let (hz, ohm) = self.part[k];
                let device = Immittance::from_impedance(ohm).unwrap();
                self.with_left_in(fixture, device, TAU * hz, left_in)
            };
            let part = sweep(&mut draws, &part_strays, &of_part);
            let blanks: Vec<Sweep> = if self.strays == Strays::NONE {
                Vec::new()
            } else {
                let stands_for = jigwise_bench::Blank::of(fixture).iter();
                stands_for
                    .map(|blank| sweep(&mut draws, &self.strays, &|_| blank.stands_for()))
                    .collect()
            };
            (part, blanks)
        };
        let sweeps: Vec<_> = self
            .fixtures
            .iter()
            .map(|fixture| of_fixture(*fixture))
            .collect();
        let raw = (self.files == Files::Raw).then(|| Arc::new(self.standard_sweeps(&standards)));
        let recipe = |(_, blanks): &(Sweep, Vec<Sweep>)| Recipe {
            standards: raw.clone(),
            blanks: blanks.clone(),
            blank_share: self.blank_share,
            strays: (self.left_in != Strays::NONE).then_some(self.left_in),
            budget: Some((*claimed.as_ref().unwrap()).into()),
            ..Recipe::default()
        };
        let recipes: Vec<_> = sweeps.iter().map(recipe).collect();
        let reducers = (0..sweeps.len())
            .map(|k| Reducer::new(&sweeps[k].0, self.fixtures[k], &recipes[k]).unwrap())
            .collect();
        let ensemble = Ensemble::new(reducers).unwrap();
        let points = ensemble.run(0..self.part.len()).into_iter();
        let points = points.map(Result::unwrap).collect();
        (points, ensemble.agreement())
    }

    /// The device with `sizes` times the strays that are left in, as the fixtures have them:
    /// Z ∥ 1/(jωC) in series-through, Z + jωL in shunt-through, (Z ∥ 1/(jωC)) + jωL in reflect.
    fn with_left_in(
        &self,
        fixture: Fixture,
        device: Immittance,
        omega: f64,
        sizes: [f64; 3],
    ) -> Immittance {
        let [gap_f, ground_h, pin_f] = [
            sizes[0] * self.left_in.gap_f,
            sizes[1] * self.left_in.ground_h,
            sizes[2] * self.left_in.pin_f,
        ];
        let across = |farad: f64| {
            Immittance::from_pair(Complex64::ONE, Complex64::I * omega * farad).unwrap()
        };
        let along = |henry: f64| {
            Immittance::from_pair(Complex64::I * omega * henry, Complex64::ONE).unwrap()
        };
        match fixture {
            Fixture::Reflect => device
                .in_parallel_with(across(pin_f))
                .in_series_with(along(ground_h)),
            Fixture::ShuntThrough => device.in_series_with(along(ground_h)),
            Fixture::SeriesThrough => device.in_parallel_with(across(gap_f)),
        }
    }

    fn freq_hz(&self) -> Vec<f64> {
        self.part.iter().map(|(hz, _)| *hz).collect()
    }

    fn file(&self, fixture: Fixture, raw: &[Scattering], standards: &[MeasuredStandards]) -> Sweep {
        let readings = raw.iter().zip(standards).map(|(raw, standards)| {
            if self.files == Files::Raw {
                return *raw;
            }
            let correction: Correction =
                solve(Method::BothDirections, standards, &Definitions::IDEAL).unwrap();
            correction.apply_in(fixture, raw)
        });
        if fixture == Fixture::Reflect {
            return sweep(1, self.freq_hz(), readings.map(|s| s.s11).collect());
        }
        let all = readings.flat_map(|s| [s.s11, s.s12, s.s21, s.s22]);
        sweep(2, self.freq_hz(), all.collect())
    }

    fn standard_sweeps(&self, standards: &[MeasuredStandards]) -> StandardSweeps {
        let zero = Complex64::ZERO;
        let one = |reading: &dyn Fn(&MeasuredStandards) -> Complex64| {
            Some(sweep(
                1,
                self.freq_hz(),
                standards.iter().map(reading).collect(),
            ))
        };
        let mut sweeps = StandardSweeps::ideal(Method::BothDirections, Z0);
        for port in [0, 1] {
            let trio = &mut sweeps.reflections[port];
            trio.open = one(&|s| s.reflections[port].open.unwrap());
            trio.short = one(&|s| s.reflections[port].short.unwrap());
            trio.load = one(&|s| s.reflections[port].load.unwrap());
        }
        let through = standards.iter().map(|s| s.through.unwrap());
        let through = through.flat_map(|s| [s.s11, s.s12, s.s21, s.s22]).collect();
        sweeps.through = Some(sweep(2, self.freq_hz(), through));
        let isolation = standards.iter().map(|s| s.isolation.unwrap());
        let isolation = isolation.flat_map(|s| [zero, s.reverse, s.forward, zero]);
        sweeps.isolation = Some(sweep(2, self.freq_hz(), isolation.collect()));
        sweeps
    }

    /// In how many of the runs what the program says of the middle point holds the part, and the
    /// p-value of the agreement of each that has one. Nothing is said where the fixtures contradict each other.
    ///
    /// # Panics
    /// Where a run can't be reduced.
    pub fn outcomes(&self) -> (usize, Vec<f64>) {
        let mut hits = 0;
        let mut agreements = Vec::with_capacity(RUNS);
        let middle = self.part.len() / 2;
        for run in 0..RUNS as u64 {
            let (points, agreement) = self.run(run);
            // None where no fixture sees the part well enough to be asked.
            agreements.extend(agreement.map(|agreement| agreement.p));
            let is_refused = agreement.is_some_and(|agreement| agreement.is_contradiction());
            let holds = holds(&points[middle], self.part[middle].1);
            hits += usize::from(holds && !is_refused);
        }
        (hits, agreements)
    }
}

/// True where the part is in the joint 95 % ellipse, or where the program does not trust that in the
/// region that it prints.
fn holds(point: &PartPoint, part_ohm: Complex64) -> bool {
    if point.trust() == Some(Trust::Linear) {
        let covariance = point.covariance().expect("an instrument");
        let off = point.device().impedance().expect("no open") - part_ohm;
        let distance = covariance.distance(off).expect("a scatter");
        return p_value(distance * distance, 2) >= 0.05;
    }
    point.region().is_some_and(|region| {
        ((part_ohm - region.center_ohm).norm() < region.radius_ohm) == region.is_inside
    })
}

/// Kolmogorov–Smirnov distance of numbers from the uniform distribution on 0 to 1.
pub fn distance_from_uniform(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    (0_u32..)
        .zip(&sorted)
        .map(|(k, p)| {
            let below = f64::from(k) / n;
            (p - below).max(below + 1.0 / n - p)
        })
        .fold(0.0, f64::max)
}

fn sweep(ports: usize, freq_hz: Vec<f64>, s: Vec<Complex64>) -> Sweep {
    Sweep::new(ports, &[50.0], freq_hz, s).unwrap()
}

/// The errors of one connection.
struct Connection {
    reconnect: Complex64,
    drift: Complex64,
}

impl Connection {
    fn drawn(budget: &Budget, fixture: Fixture, draws: &mut Draws) -> Self {
        let mut circular = |cause| draws.circular(budget.sigma(cause, fixture).powi(2));
        Self {
            reconnect: circular(Cause::Reconnect),
            drift: 1.0 + circular(Cause::Drift),
        }
    }

    fn measured(
        &self,
        analyzer: &RawAnalyzer,
        fixture: Fixture,
        planes: &Scattering,
        freq_hz: f64,
        noise: Option<(&Budget, &mut Draws)>,
    ) -> Scattering {
        let moved = |s: Complex64| s * self.drift + self.reconnect;
        if fixture == Fixture::Reflect {
            let s11 = analyzer.measure_reflection(moved(planes.s11), Port::One, freq_hz, noise);
            return Scattering { s11, ..*planes };
        }
        let planes = Scattering {
            s12: moved(planes.s12),
            s21: moved(planes.s21),
            ..*planes
        };
        analyzer.measure(&planes, freq_hz, noise)
    }
}

/// What the fixture shows at the planes.
fn at_planes(strays: &Strays, fixture: Fixture, device: Immittance, freq_hz: f64) -> Scattering {
    if fixture == Fixture::Reflect {
        let map = strays.map(fixture, freq_hz, Z0).unwrap();
        let zero = Complex64::ZERO;
        return Scattering {
            s11: map.apply(device.ratio()).value().unwrap(),
            s12: zero,
            s21: zero,
            s22: zero,
        };
    }
    strays
        .scattering(fixture, device, freq_hz, Z0)
        .unwrap()
        .unwrap()
}
