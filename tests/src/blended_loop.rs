//! A part measured in two fixtures a thousand times from raw sweeps on: the machinery of
//! `tests/blended_loop.rs`.
//!
//! The simulation is this file's own and not that of `jig sweep`: raw sweeps share one calibration,
//! corrected ones had the same standards read again for each, each connection has errors of its own, and the strays around
//! the part differ from those of the blanks by a drawn share of these.

use std::sync::Arc;

use jigwise_physics::{
    Agreement, Budget, Cause, Complex64, Correction, Definitions, Draws, Fixture, Immittance,
    Instrument, MeasuredStandards, Method, Port, RawAnalyzer, Scattering, Strays, p_value, solve,
};
use jigwise_reduce::{Ensemble, PartPoint, Recipe, Reducer, StandardSweeps};
use jigwise_touchstone::Sweep;

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

/// A part in two fixtures on one instrument.
#[derive(Debug, Clone)]
pub struct Cell {
    /// What it is called in a failure.
    pub name: &'static str,
    /// The part at each frequency of the sweep, Hz and Ω.
    pub part: Vec<(f64, Complex64)>,
    /// The fixtures.
    pub fixtures: [Fixture; 2],
    /// The instrument.
    pub instrument: Instrument,
    /// Connections after the calibration.
    pub connections: u32,
    /// What the fixtures add; with any, blanks are measured.
    pub strays: Strays,
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
        fixtures: [Fixture; 2],
        instrument: Instrument,
    ) -> Self {
        Self {
            name,
            part: vec![(freq_hz, part_ohm)],
            fixtures,
            instrument,
            connections: 0,
            strays: Strays::NONE,
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
        let claimed = Budget::new(&scaled(&self.instrument, self.claim), Z0, self.connections);
        let mut draws = Draws::new(seed().wrapping_mul(1_000_003).wrapping_add(run));
        // Twenty front ends in turn.
        let analyzer = RawAnalyzer::new(run % 20);
        let truth = Definitions::IDEAL.with_residuals(&budget.draw_calibration(&mut draws));
        let calibrate = |draws: &mut Draws| -> Vec<MeasuredStandards> {
            let of_point = |&(hz, _): &(f64, Complex64)| {
                analyzer.measure_standards(&truth, hz, &[], Some((&budget, &mut *draws)))
            };
            self.part.iter().map(of_point).collect()
        };
        let standards = calibrate(&mut draws);
        let sweeps = self.fixtures.map(|fixture| {
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
            let mut sweep = |strays: &Strays, device: &dyn Fn(usize) -> Immittance| {
                let connection = Connection::drawn(&budget, fixture, &mut draws);
                let mut raw = |k: usize| {
                    let hz = self.part[k].0;
                    let planes = at_planes(strays, fixture, device(k), hz);
                    let noise = Some((&budget, &mut draws));
                    connection.measured(&analyzer, fixture, &planes, hz, noise)
                };
                let readings: Vec<Scattering> = (0..self.part.len()).map(&mut raw).collect();
                self.file(fixture, &readings, &standards)
            };
            let of_part = |k: usize| Immittance::from_impedance(self.part[k].1).unwrap();
            let part = sweep(&part_strays, &of_part);
            let blanks: Vec<Sweep> = if self.strays == Strays::NONE {
                Vec::new()
            } else {
                let stands_for = jigwise_bench::Blank::of(fixture).iter();
                stands_for
                    .map(|blank| sweep(&self.strays, &|_| blank.stands_for()))
                    .collect()
            };
            (part, blanks)
        });
        let raw = (self.files == Files::Raw).then(|| Arc::new(self.standard_sweeps(&standards)));
        let recipes = sweeps.each_ref().map(|(_, blanks)| Recipe {
            standards: raw.clone(),
            blanks: blanks.clone(),
            blank_share: self.blank_share,
            budget: Some(*claimed.as_ref().unwrap()),
            ..Recipe::default()
        });
        let reducers = (0..2)
            .map(|k| Reducer::new(&sweeps[k].0, self.fixtures[k], &recipes[k]).unwrap())
            .collect();
        let ensemble = Ensemble::new(reducers, Some(claimed.as_ref().unwrap())).unwrap();
        let points = ensemble.run(0..self.part.len()).into_iter();
        let points = points.map(Result::unwrap).collect();
        (points, ensemble.agreement())
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
                solve(Method::Full, standards, &Definitions::IDEAL).unwrap();
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
        let mut sweeps = StandardSweeps::ideal(Method::Full, Z0);
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

    /// How many of the runs have the part inside the joint 95 % region of the blend of the
    /// first point, and the p-value of the agreement of each.
    ///
    /// # Panics
    /// Where a run is not blended for another reason than a contradiction.
    pub fn outcomes(&self) -> (usize, Vec<f64>) {
        let mut hits = 0;
        let mut agreements = Vec::with_capacity(RUNS);
        for run in 0..RUNS as u64 {
            let (points, agreement) = self.run(run);
            agreements.push(agreement.expect("two fixtures with an instrument").p);
            let point = &points[points.len() / 2];
            let Some(blend) = point.blended() else {
                assert!(
                    agreement.is_some_and(|a| a.is_contradiction()),
                    "{}, run {run}: {:?}",
                    self.name,
                    point.blend
                );
                continue;
            };
            let off = blend.impedance_ohm - self.part[points.len() / 2].1;
            let distance = blend.covariance.distance(off).unwrap();
            hits += usize::from(p_value(distance * distance, 2) >= 0.05);
        }
        (hits, agreements)
    }
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

/// Every entry of an instrument's budget `factor` times as large.
fn scaled(instrument: &Instrument, factor: f64) -> Instrument {
    use jigwise_physics::Systematic;
    let mut scaled = *instrument;
    if let Systematic::Standards(s) = &mut scaled.systematic {
        for entry in [
            &mut s.load,
            &mut s.open,
            &mut s.short,
            &mut s.through_tracking,
            &mut s.crosstalk,
            &mut s.load_match,
        ] {
            *entry *= factor;
        }
    }
    for entry in [
        &mut scaled.reflect_floor,
        &mut scaled.through_floor,
        &mut scaled.trace_magnitude,
        &mut scaled.trace_phase_rad,
        &mut scaled.reconnect,
        &mut scaled.drift,
        &mut scaled.cable_phase_rad,
        &mut scaled.contact_ohm,
        &mut scaled.ground_loop_ohm,
    ] {
        *entry *= factor;
    }
    scaled
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
