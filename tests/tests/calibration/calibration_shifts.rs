//! What a residual of the standards does to a corrected reading: the derivative against the
//! amplitudes of the budget, and against calibrations simulated anew.

use std::f64::consts::PI;

use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Definitions, DirectionTerms, Draws, Fixture, Immittance,
    Instrument, Method, Network, OnePortTerms, RawAnalyzer, Residuals, TwelveTerms, solve,
};
use jigwise_tests::raw_chain::{
    STANDARDS, Z0, c, gamma_of, measured_by, of_part, ohm, oracle_c, polar,
};
use jigwise_tests::seed::seed;

/// The corrected reading of a part whose raw reading is made by `terms`.
fn reading(
    correction: &Correction,
    terms: &TwelveTerms,
    fixture: Fixture,
    part: Immittance,
) -> Complex64 {
    let network = match fixture {
        Fixture::Reflect => {
            return correction.apply_one_port(terms.forward.one_port.raw(gamma_of(part)));
        }
        Fixture::ShuntThrough => Network::shunt(part),
        Fixture::SeriesThrough => Network::series(part),
    };
    let s = network.scattering(Z0).unwrap();
    correction.apply(&terms.raw(&s)).s21
}

fn shift(
    correction: &Correction,
    terms: &TwelveTerms,
    fixture: Fixture,
    part: Immittance,
    cause: Cause,
) -> Complex64 {
    let network = match fixture {
        Fixture::Reflect => {
            let raw = terms.forward.one_port.raw(gamma_of(part));
            return correction.shift_one_port(raw, cause).unwrap();
        }
        Fixture::ShuntThrough => Network::shunt(part),
        Fixture::SeriesThrough => Network::series(part),
    };
    let s = network.scattering(Z0).unwrap();
    correction.shift(&terms.raw(&s), cause).unwrap().s21
}

/// An analyzer with tracking and crosstalk, and matches as large as given.
fn analyzer_with_match(source: Complex64, load: Complex64) -> TwelveTerms {
    let direction = |size: f64| DirectionTerms {
        one_port: OnePortTerms {
            directivity: source * size,
            source_match: source,
            reflect_tracking: polar(0.9 * size, 77.0),
        },
        load_match: load,
        through_tracking: polar(0.85 * size, -130.0),
        crosstalk: c(3e-4, -2e-4),
    };
    TwelveTerms {
        forward: direction(1.0),
        reverse: direction(0.95),
    }
}

/// Without raw match the derivative of a corrected reading by each residual is the amplitude
/// that the budget works with, in every fixture and with every method that removes the load
/// match.
#[test]
fn without_raw_match_shifts_are_those_of_the_budget() {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let terms = analyzer_with_match(Complex64::ZERO, Complex64::ZERO);
    let measured = measured_by(&terms, &Definitions::IDEAL);
    for method in [Method::OneDirection, Method::BothDirections] {
        let correction = solve(method, &measured, &Definitions::IDEAL).unwrap();
        let mut draws = Draws::new(seed());
        for _ in 0..200 {
            let size = 50.0 * 10f64.powf(3.0 * draws.uniform() - 1.5);
            let z = Complex64::from_polar(size, PI * (draws.uniform() - 0.5));
            let part = Immittance::from_impedance(z).unwrap();
            for fixture in Fixture::ALL {
                for cause in STANDARDS {
                    let unit = Residuals::NONE.with(cause, Complex64::ONE);
                    let want = budget.calibration_shift(&unit, fixture, part).unwrap();
                    let got = shift(&correction, &terms, fixture, part, cause);
                    assert!(
                        (got - want).norm() < 1e-9 * (1.0 + want.norm()),
                        "seed {} {method} {cause:?} {fixture:?} {part:?}: {got} for {want}",
                        seed()
                    );
                }
            }
        }
    }
}

/// With raw match reflect and the load stay as budgeted; the others are off by products with
/// it, and half the match gives half the product.
#[test]
fn raw_match_adds_products_to_the_shifts_of_the_through_fixtures() {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let off = |size: f64| {
        let terms = analyzer_with_match(polar(size, 20.0), polar(size, -70.0));
        let measured = measured_by(&terms, &Definitions::IDEAL);
        let correction = solve(Method::BothDirections, &measured, &Definitions::IDEAL).unwrap();
        let mut largest: f64 = 0.0;
        for part in [ohm(3.0, 4.0), ohm(50.0, 0.0), ohm(120.0, -900.0)] {
            for fixture in Fixture::ALL {
                for cause in STANDARDS {
                    let unit = Residuals::NONE.with(cause, Complex64::ONE);
                    let want = budget.calibration_shift(&unit, fixture, part).unwrap();
                    let got = shift(&correction, &terms, fixture, part, cause);
                    let miss = (got - want).norm();
                    if fixture == Fixture::Reflect || cause == Cause::Load {
                        assert!(miss < 1e-9 * (1.0 + want.norm()), "{cause:?} {fixture:?}");
                    } else {
                        largest = largest.max(miss / want.norm());
                    }
                }
            }
        }
        largest
    };
    let (whole, half) = (off(0.13), off(0.065));
    assert!((0.1..0.7).contains(&whole), "{whole}");
    assert!((0.4..0.55).contains(&(half / whole)), "{half} of {whole}");
}

/// A shift is what happens when the standards are wrong by a small residual, found by simulation
/// with the standards measured anew.
#[test]
fn shifts_are_those_of_a_simulated_calibration() {
    let terms = oracle_c();
    let right = solve(
        Method::BothDirections,
        &measured_by(&terms, &Definitions::IDEAL),
        &Definitions::IDEAL,
    )
    .unwrap();
    for method in [
        Method::OnePortAndThrough,
        Method::OneDirection,
        Method::BothDirections,
    ] {
        for cause in STANDARDS {
            for fixture in Fixture::ALL {
                let part = ohm(70.0, -35.0);
                let moved = |delta: Complex64| {
                    let residuals = Residuals::NONE.with(cause, delta);
                    let truth = Definitions::IDEAL.with_residuals(&residuals);
                    let measured = measured_by(&terms, &truth);
                    let wrong = solve(method, &measured, &Definitions::IDEAL).unwrap();
                    reading(&wrong, &terms, fixture, part)
                };
                const STEP: f64 = 1e-5;
                let simulated = (moved(c(STEP, 0.0)) - moved(c(-STEP, 0.0))) / (2.0 * STEP);
                let at_hand = solve(
                    method,
                    &measured_by(&terms, &Definitions::IDEAL),
                    &Definitions::IDEAL,
                )
                .unwrap();
                let got = shift(&at_hand, &terms, fixture, part, cause);
                assert!(
                    (got - simulated).norm() < 1e-7,
                    "{method} {cause:?} {fixture:?}: {got} for {simulated}"
                );
            }
        }
    }
    let s = of_part(Fixture::ShuntThrough);
    for cause in [Cause::Directivity, Cause::NoiseFloor, Cause::Drift] {
        assert!(right.shift(&terms.raw(&s), cause).is_none());
    }
}

/// The same for the unknown through, of which the tracking, the match left over and the
/// definition do not matter.
#[test]
fn the_unknown_through_does_not_look_at_its_definition() {
    let (analyzer, freq_hz) = (RawAnalyzer::new(seed()), 7e8);
    let measured = analyzer.measure_standards(&Definitions::IDEAL, freq_hz, &[], None);
    let correction = solve(Method::UnknownThrough, &measured, &Definitions::IDEAL).unwrap();
    let raw = analyzer.measure(&of_part(Fixture::SeriesThrough), freq_hz, None);
    for cause in [Cause::ThroughTracking, Cause::LoadMatch] {
        let moved = correction.shift(&raw, cause).unwrap();
        for parameter in [moved.s11, moved.s12, moved.s21, moved.s22] {
            assert!(parameter.norm() < 1e-10, "{cause:?} {moved:?}");
        }
    }
    assert!(correction.shift(&raw, Cause::Load).unwrap().s21.norm() > 0.1);
    assert!(correction.shift(&raw, Cause::Crosstalk).unwrap().s21.norm() > 0.5);
}
