//! The blend of two fixtures with blanks, and the agreement over a sweep, against the numpy twin
//! `tests/oracle/make_blend.py`: the whole chain written once more, its derivatives by central
//! differences, and 200 000 draws through it.

use std::sync::Arc;

use jigwise_physics::{
    AgreementTally, Budget, Complex64, Covariance, Fixture, Immittance, Instrument, Method,
    Observation, StandardsResiduals, Strays, Systematic,
};
use jigwise_reduce::{Ensemble, Recipe, Reducer, StandardSweeps};
use jigwise_tests::fifty_ohm::Z0;
use jigwise_touchstone::Sweep;
use serde_json::Value;

const ORACLE: &str = include_str!("../../oracle/blend.json");

fn oracle() -> Value {
    serde_json::from_str(ORACLE).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn instrument(entries: &Value) -> Instrument {
    let entry = |name: &str| number(&entries[name]);
    Instrument {
        systematic: Systematic::Standards(StandardsResiduals {
            load: entry("load"),
            open: entry("open"),
            short: entry("short"),
            through_tracking: entry("through_tracking"),
            crosstalk: entry("crosstalk"),
            load_match: entry("load_match"),
        }),
        reflect_floor: entry("reflect_floor"),
        through_floor: entry("through_floor"),
        trace_magnitude: entry("trace_magnitude"),
        trace_phase_rad: entry("trace_phase_rad"),
        reconnect: entry("reconnect"),
        ..Instrument::LABORATORY
    }
}

/// One frequency, of one port or of both with S12 = S21 and S22 = S11.
fn file(freq_hz: f64, s11: Complex64, s21: Option<Complex64>) -> Sweep {
    let s = s21.map_or(vec![s11], |s21| vec![s11, s21, s21, s11]);
    Sweep::new(1 + usize::from(s21.is_some()), &[50.0], vec![freq_hz], s).unwrap()
}

/// What an analyzer without errors reads of ideal standards.
fn standards(freq_hz: f64) -> StandardSweeps {
    let (zero, one) = (Complex64::ZERO, Complex64::ONE);
    let mut standards = StandardSweeps::ideal(Method::BothDirections, Z0);
    for trio in &mut standards.reflections {
        trio.open = Some(file(freq_hz, one, None));
        trio.short = Some(file(freq_hz, -one, None));
        trio.load = Some(file(freq_hz, zero, None));
    }
    standards.through = Some(file(freq_hz, zero, Some(one)));
    standards.isolation = Some(file(freq_hz, zero, Some(zero)));
    standards
}

#[test]
fn the_blend_is_that_of_the_twin() {
    let oracle = oracle();
    for case in oracle["cases"].as_array().unwrap() {
        let entry = |name: &str| number(&case[name]);
        let freq_hz = entry("hz");
        let strays = Strays {
            gap_f: entry("gap_f"),
            pin_f: entry("pin_f"),
            ground_h: entry("ground_h"),
            ..Strays::NONE
        };
        let reading = |fixture, device: Immittance| {
            let map = strays.map(fixture, freq_hz, Z0).unwrap();
            map.apply(device.ratio()).value().unwrap()
        };
        let part = Immittance::from_impedance(Complex64::new(entry("r"), entry("x"))).unwrap();
        let reflect = |device| file(freq_hz, reading(Fixture::Reflect, device), None);
        let series = |device, off: f64| {
            let s21 = reading(Fixture::SeriesThrough, device) * off;
            file(freq_hz, 1.0 - s21, Some(s21))
        };
        let (open, short) = (Immittance::OPEN, Immittance::SHORT);
        let budget = Budget::new(&instrument(&oracle["instrument"]), Z0, 1).unwrap();
        let shared = Arc::new(standards(freq_hz));
        let recipes =
            [vec![reflect(open), reflect(short)], vec![series(open, 1.0)]].map(|blanks| Recipe {
                standards: Some(shared.clone()),
                blanks,
                blank_share: entry("share"),
                budget: Some(budget.into()),
                ..Recipe::default()
            });
        let sweeps = [reflect(part), series(part, entry("off"))];
        let reducers = [Fixture::Reflect, Fixture::SeriesThrough]
            .into_iter()
            .zip(&sweeps)
            .zip(&recipes)
            .map(|((fixture, sweep), recipe)| Reducer::new(sweep, fixture, recipe).unwrap())
            .collect();
        let ensemble = Ensemble::new(reducers).unwrap();
        let point = ensemble.point(0).unwrap();
        let blend = point
            .blended()
            .unwrap_or_else(|| panic!("{:?}", point.blend));

        let z = numbers(&case["z"]);
        let off = blend.impedance_ohm - Complex64::new(z[0], z[1]);
        assert!(
            off.norm() < 1e-6 * blend.impedance_ohm.norm(),
            "{case}: {off}"
        );
        let found = [
            blend.covariance.re,
            blend.covariance.im,
            blend.covariance.cross,
        ];
        let size = blend.covariance.trace();
        for (found, expected) in found.into_iter().zip(numbers(&case["covariance"])) {
            assert!(
                (found - expected).abs() < 1e-5 * size,
                "{case}: {:?}",
                blend.covariance
            );
        }
        let miss = (blend.chi_square - entry("chi_square")).abs();
        assert!(miss < 1e-4, "{case}: {}", blend.chi_square);
        // Draws hold what the first order leaves out, some percent where half a stray is in doubt.
        for (found, drawn) in found.into_iter().zip(numbers(&case["drawn"])) {
            assert!(
                (found - drawn).abs() < 0.03 * size,
                "{case}: {:?}",
                blend.covariance
            );
        }
    }
}

#[test]
fn the_agreement_is_that_of_whole_matrices() {
    let oracle = &oracle()["agreement"];
    let steps = |row: &[f64], at: usize| Complex64::new(row[2 * at], row[2 * at + 1]);
    let lists = |name: &str| oracle[name].as_array().unwrap().iter();
    let mut tally = AgreementTally::default();
    let points = lists("residual").zip(lists("own")).zip(lists("constants"));
    for (((residual, own), constants), common) in points.zip(lists("common")) {
        let (residual, own, common) = (numbers(residual), numbers(own), numbers(common));
        let constants: Vec<Vec<f64>> = constants.as_array().unwrap().iter().map(numbers).collect();
        let seen: Vec<Observation> = (0..3)
            .map(|at| Observation {
                residual_ohm: steps(&residual, at),
                own_noise: Covariance::circular(own[at]),
                common_noise: vec![(4, steps(&common, at))],
                constants: (0..)
                    .zip(constants.iter().map(|row| steps(row, at)))
                    .collect(),
            })
            .collect();
        tally.add(&seen);
    }
    let found = tally.finish().unwrap();
    for ((chi_square, degrees_of_freedom), name) in [
        (found.of_constants, "of_constants"),
        (found.of_noise, "of_noise"),
    ] {
        let expected = numbers(&oracle[name]);
        assert!(
            (chi_square - expected[0]).abs() < 1e-9 * expected[0].max(1.0),
            "{found:?}"
        );
        assert_eq!(f64::from(degrees_of_freedom), expected[1]);
    }
    assert!(
        (found.p / number(&oracle["p"]) - 1.0).abs() < 1e-9,
        "{found:?}"
    );
}
