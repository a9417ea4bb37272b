//! Coverage of a single reading in the through fixtures, corrected by a calibration of its own:
//! front ends drawn anew in each run, and front ends that are known.

use jigwise_bench::NamedInstrument;
use jigwise_bench::{Bench, Budget, CalibrationPlan, Fixture, Instrument, Measurement, Scenario};
use jigwise_physics::{Complex64, Immittance, Method, p_value};
use jigwise_tests::seed::seed;

const RUNS: u64 = 1000;
/// Around 950, ±4 σ.
const BAND: std::ops::RangeInclusive<usize> = 917..=977;
const HANDHELD: &str = "handheld";

/// Parts that every instrument can tell in the fixture to 15 % or so, where the first order holds.
const PARTS: [(Fixture, [&str; 4]); 2] = [
    (Fixture::ShuntThrough, ["2", "12", "8 - j30", "0.5 + j9"]),
    (
        Fixture::SeriesThrough,
        ["220", "1.5k", "80 + j300", "60 - j110"],
    ),
];

fn scenario(part: &str, instrument: &str, front_end: Option<u64>) -> Scenario {
    let mut scenario = Scenario {
        device: part.parse().unwrap(),
        freq_hz: Some(20e6),
        instrument: NamedInstrument::preset(instrument),
        ..Scenario::default()
    };
    assert!(scenario.instrument.is_some());
    if front_end.is_some() {
        let mut plan = CalibrationPlan::new(Method::BothDirections, scenario.reference);
        plan.front_end = front_end;
        scenario.calibration = Some(plan);
    }
    scenario
}

/// Measures the part `RUNS` times; each budget is asked what it makes of the reading, and how often
/// its 95 % region of R and X holds the part is counted.
fn hits<const N: usize>(
    scenario: &Scenario,
    fixture: Fixture,
    seeds: u64,
    budgets: [&Budget; N],
) -> [usize; N] {
    let mut hits = [0; N];
    for run in 0..RUNS {
        let scenario = Scenario {
            seed: seeds.wrapping_mul(1_000_003).wrapping_add(run),
            ..scenario.clone()
        };
        let measured = Measurement::of(&scenario, fixture).unwrap();
        let point = &measured.points[0];
        let seen = fixture
            .immittance(point.corrected.s21, scenario.reference)
            .unwrap();
        let off = seen.impedance().unwrap() - point.device.impedance().unwrap();
        for (hits, budget) in hits.iter_mut().zip(budgets) {
            *hits += usize::from(p_of(off, budget, fixture, seen) >= 0.05);
        }
    }
    hits
}

fn p_of(off: Complex64, budget: &Budget, fixture: Fixture, seen: Immittance) -> f64 {
    let c = budget.impedance_covariance(fixture, seen).unwrap();
    let square = c.im * off.re * off.re - 2.0 * c.cross * off.re * off.im + c.re * off.im * off.im;
    p_value(square / c.determinant(), 2)
}

fn cells() -> impl Iterator<Item = (&'static str, Fixture, &'static str)> {
    Instrument::PRESETS.into_iter().flat_map(|(name, _)| {
        PARTS
            .into_iter()
            .flat_map(move |(fixture, parts)| parts.map(|part| (name, fixture, part)))
    })
}

#[test]
fn over_front_ends_drawn_anew_the_region_holds_the_part() {
    let mut wrong = Vec::new();
    for (at, (name, fixture, part)) in (0..).zip(cells()) {
        let scenario = scenario(part, name, None);
        let bench = Bench::new(&scenario).unwrap();
        let [found] = hits(&scenario, fixture, seed() + at, [bench.budget().unwrap()]);
        if !BAND.contains(&found) {
            wrong.push(format!("{name}, {part} in {fixture:?}: {found}"));
        }
    }
    assert!(wrong.is_empty(), "seed {}: {wrong:#?}", seed());
}

/// Twenty front ends that the scenario names, each with the cells that its turn brings: the
/// readout's budget, whose sensitivities are exact, holds on each of them. With those of an
/// analyzer without raw match some of the handheld's front ends leave the band.
#[test]
fn on_known_front_ends_the_region_holds_the_part() {
    let (mut wrong, mut noticed) = (Vec::new(), 0);
    let all: Vec<_> = cells().collect();
    for front_end in 1..=20 {
        for k in 0..3 {
            // Eight cells an instrument: one of each, another with every front end.
            let (name, fixture, part) = all[8 * k + (front_end as usize + 3 * k) % 8];
            let scenario = scenario(part, name, Some(front_end));
            let bench = Bench::new(&scenario).unwrap();
            let figures = &scenario.instrument.as_ref().unwrap().figures;
            let plain = Budget::new(figures, scenario.reference, 0)
                .unwrap()
                .without_raw_match();
            let budgets = [bench.budget().unwrap(), &plain];
            let [found, by_plain] = hits(&scenario, fixture, seed() + front_end, budgets);
            if !BAND.contains(&found) {
                wrong.push(format!(
                    "{name}, {front_end}, {part} in {fixture:?}: {found}"
                ));
            }
            noticed += usize::from(name == HANDHELD && !BAND.contains(&by_plain));
        }
    }
    assert!(wrong.is_empty(), "seed {}: {wrong:#?}", seed());
    assert!(noticed >= 3, "seed {}: {noticed}", seed());
}
