//! Which fixture for what: crossovers and reach against closed forms, the duality of the two
//! through fixtures, and the consequences of the presets recomputed outside (numpy).
//!
//! The closed forms follow from K = |z + 1|²/(2|z|), |2z + 1|²/(2|z|), |z + 2|²/(2|z|).

use std::f64::consts::FRAC_PI_2;

use jigwise_physics::{
    Budget, Cause, Complex64, Coverage, Crossover, Draws, Fixture, Immittance, Instrument, Merits,
    ReadingError, StandardsResiduals, Systematic, VendorFigures, WantedChange,
    absolute_error_ratio_for_crossover, relative_error_ratio_for_crossover,
};
use jigwise_tests::expected::same;
use jigwise_tests::fifty_ohm::Z0;
use jigwise_tests::seed::seed;

const REFLECT_SHUNT: [Fixture; 2] = [Fixture::Reflect, Fixture::ShuntThrough];
const REFLECT_SERIES: [Fixture; 2] = [Fixture::Reflect, Fixture::SeriesThrough];
const SHUNT_SERIES: [Fixture; 2] = [Fixture::ShuntThrough, Fixture::SeriesThrough];

fn ohms(crossovers: &[Crossover], between: [Fixture; 2]) -> Vec<f64> {
    crossovers
        .iter()
        .filter(|c| c.between == between)
        .map(|c| c.ohm)
        .collect()
}

fn best_ohms(crossovers: &[Crossover]) -> Vec<f64> {
    let mut best: Vec<f64> = crossovers
        .iter()
        .filter(|c| c.best)
        .map(|c| c.ohm)
        .collect();
    best.sort_unstable_by(f64::total_cmp);
    best
}

fn part(ohm: f64, angle_rad: f64) -> Immittance {
    Immittance::from_impedance(Complex64::from_polar(ohm, angle_rad)).unwrap()
}

/// Equal relative error: z = (√6 − 1)/5 and 1 + √6 for a resistor, 1/√5 and √5 for a reactance,
/// |Z| = Z0 between the through fixtures at any phase. The trade's rule to leave the reflect
/// fixture at a standing-wave ratio of "about four to one" is common practice, no source.
#[test]
fn equal_relative_error() {
    let merits = Merits::equal_relative(0.01, Z0);
    let at = |degrees: f64| merits.crossovers(degrees.to_radians());
    let root6 = 6f64.sqrt();
    let resistive = at(0.0);
    same(
        &ohms(&resistive, REFLECT_SHUNT),
        &[10.0 * (root6 - 1.0)],
        1e-12,
    );
    same(
        &ohms(&resistive, REFLECT_SERIES),
        &[50.0 * (1.0 + root6)],
        1e-12,
    );
    same(&ohms(&resistive, REFLECT_SHUNT), &[14.495], 1e-4);
    same(&ohms(&resistive, REFLECT_SERIES), &[172.474], 1e-5);
    for c in resistive.iter().filter(|c| c.between != SHUNT_SERIES) {
        assert!(c.best);
        assert!((c.swr.unwrap() - (1.0 + root6)).abs() < 1e-11);
    }
    same(&best_ohms(&resistive), &[14.495, 172.474], 1e-4);
    for (degrees, low, high) in [(45.0, 16.381, 152.616), (60.0, 17.913, 139.564)] {
        for sign in [1.0, -1.0] {
            same(&ohms(&at(sign * degrees), REFLECT_SHUNT), &[low], 1e-4);
            same(&ohms(&at(sign * degrees), REFLECT_SERIES), &[high], 1e-4);
        }
    }
    let reactive = at(90.0);
    let root5 = 5f64.sqrt();
    same(&ohms(&reactive, REFLECT_SHUNT), &[50.0 / root5], 1e-12);
    same(&ohms(&reactive, REFLECT_SERIES), &[50.0 * root5], 1e-12);
    assert!(reactive.iter().all(|c| c.swr.is_none_or(|swr| swr > 1e15)));
    for degrees in [0.0, 20.0, 45.0, 70.0, 90.0, -33.0] {
        let through = at(degrees);
        same(&ohms(&through, SHUNT_SERIES), &[50.0], 1e-12);
        let between = through.iter().find(|c| c.between == SHUNT_SERIES).unwrap();
        assert!(!between.best, "reflect is better at 50 Ω");
    }
}

/// Equal absolute error leaves reflect never worse where Re Z ≥ 0.
#[test]
fn equal_absolute_error_leaves_no_reason_to_leave_reflect() {
    let merits = Merits::equal_absolute(1e-3, Z0);
    for degrees in [-90.0, -40.0, 0.0, 30.0, 89.0] {
        let found = merits.crossovers(f64::to_radians(degrees));
        assert!(ohms(&found, REFLECT_SHUNT).is_empty());
        assert!(ohms(&found, REFLECT_SERIES).is_empty());
        same(&ohms(&found, SHUNT_SERIES), &[50.0], 1e-12);
    }
    let mut draws = Draws::new(seed());
    for _ in 0..2_000 {
        let device = part(
            10f64.powf(6.0 * draws.uniform() - 2.0),
            std::f64::consts::PI * (draws.uniform() - 0.5),
        );
        let of = |fixture| merits.figure_of_merit(fixture, device).unwrap();
        assert!(of(Fixture::Reflect) <= of(Fixture::ShuntThrough) * (1.0 + 1e-12));
        assert!(of(Fixture::Reflect) <= of(Fixture::SeriesThrough) * (1.0 + 1e-12));
    }
    // Outside: an active part with the resistance −30 Ω.
    assert_eq!(
        merits.best(part(30.0, std::f64::consts::PI)),
        Some(Fixture::ShuntThrough)
    );
}

fn through_error(reflect: ReadingError, through: ReadingError) -> Merits {
    Merits::of_errors([reflect, through, through], Z0)
}

fn absolute(absolute: f64) -> ReadingError {
    ReadingError {
        absolute,
        relative: 0.0,
    }
}

fn relative(relative: f64) -> ReadingError {
    ReadingError {
        absolute: 0.0,
        relative,
    }
}

/// S11 absolute, S21 relative, ratio ρ: z = ((ρ − 1) + √(1 + 2ρ))/(4 − ρ) and its reciprocal.
#[test]
fn reflection_absolute_transmission_relative() {
    for (rho, low, high) in [
        (0.25, 6.33, 394.9),
        (0.5, 13.06, 191.4),
        (1.0, 28.868, 86.603),
    ] {
        let found = through_error(absolute(rho * 0.01), relative(0.01)).crossovers(0.0);
        let z = ((rho - 1.0) + (1.0 + 2.0 * rho).sqrt()) / (4.0 - rho);
        // For ρ < ½ a second root lies where both are poor; the first is the one of use.
        same(&ohms(&found, REFLECT_SHUNT)[..1], &[50.0 * z], 1e-10);
        same(&ohms(&found, REFLECT_SHUNT)[..1], &[low], 1e-3);
        let high_roots = ohms(&found, REFLECT_SERIES);
        same(&high_roots[high_roots.len() - 1..], &[high], 1e-3);
    }
    let never = through_error(absolute(0.016), relative(0.01)).crossovers(0.0);
    same(&best_ohms(&never), &[50.0], 1e-10);
    let reactive = through_error(absolute(0.01), relative(0.01)).crossovers(FRAC_PI_2);
    same(&best_ohms(&reactive), &[22.361, 111.803], 1e-4);
}

/// S11 and S21 both absolute, ratio ρ: z = (√ρ − 1)/(2 − √ρ); reflect drops out at ρ = 2.25.
#[test]
fn both_absolute_with_a_ratio() {
    for (rho, low) in [(1.2, 5.3), (1.5, 14.5), (2.0, 35.4)] {
        let found = through_error(absolute(rho * 1e-3), absolute(1e-3)).crossovers(0.0);
        let root = f64::sqrt(rho);
        let z = (root - 1.0) / (2.0 - root);
        same(&best_ohms(&found), &[50.0 * z, 50.0 / z], 1e-10);
        same(&best_ohms(&found)[..1], &[low], 0.01);
    }
    let gone = through_error(absolute(2.3e-3), absolute(1e-3)).crossovers(0.0);
    same(&best_ohms(&gone), &[50.0], 1e-10);
    let x = |rho: f64| 50.0 * ((rho - 1.0) / (4.0 - rho)).sqrt();
    let reactive = through_error(absolute(2e-3), absolute(1e-3)).crossovers(FRAC_PI_2);
    same(&best_ohms(&reactive), &[x(2.0), 2500.0 / x(2.0)], 1e-10);
}

/// What moves shunt against series: k = ε_series/ε_shunt. Relative k 0.5 → 29.7 Ω, 2 → 84.3,
/// 3 → 115.1, 10 → 306.6; absolute 0.5 → 16.0, 2 → 156, 3 → 460, and none from 4 on.
#[test]
fn unequal_errors_move_shunt_against_series() {
    let tied = |shunt, series| {
        let merits = Merits::of_errors([absolute(1.0), shunt, series], Z0);
        ohms(&merits.crossovers(0.0), SHUNT_SERIES)
    };
    for (k, ohm) in [(0.5, 29.7), (2.0, 84.3), (3.0, 115.1), (10.0, 306.6)] {
        let found = tied(relative(0.01), relative(k * 0.01));
        same(&found, &[ohm], 2e-3);
        // And back: the ratio that puts the crossover there.
        let back = relative_error_ratio_for_crossover(part(found[0], 0.0), Z0).unwrap();
        assert!((back / k - 1.0).abs() < 1e-10);
    }
    for (k, ohm) in [(0.5, 16.0), (2.0, 156.0), (3.0, 460.0)] {
        let found = tied(absolute(0.01), absolute(k * 0.01));
        same(&found, &[ohm], 0.01);
        let back = absolute_error_ratio_for_crossover(part(found[0], 0.0), Z0).unwrap();
        assert!((back / k - 1.0).abs() < 1e-10);
    }
    assert!(tied(absolute(0.01), absolute(0.04)).is_empty());
    assert!(tied(absolute(0.01), absolute(0.05)).is_empty());
    // At any phase the ratio that is asked for gives the crossover asked for.
    for angle in [-1.2, 0.4, 1.5] {
        let k = relative_error_ratio_for_crossover(part(31.0, angle), Z0).unwrap();
        let merits = Merits::of_errors([absolute(1.0), relative(0.01), relative(k * 0.01)], Z0);
        same(
            &ohms(&merits.crossovers(angle), SHUNT_SERIES),
            &[31.0],
            1e-9,
        );
    }
    assert_eq!(
        relative_error_ratio_for_crossover(Immittance::OPEN, Z0),
        None
    );
    assert_eq!(
        relative_error_ratio_for_crossover(Immittance::SHORT, Z0),
        None
    );
}

/// A budget with every common entry at once, drawn at random.
fn random_instrument(draws: &mut Draws) -> Instrument {
    let mut size = |most: f64| most * 10f64.powf(-3.0 * draws.uniform());
    let systematic = if size(1.0) > 0.03 {
        Systematic::Standards(StandardsResiduals {
            load: size(0.05),
            open: size(0.05),
            short: size(0.05),
            through_tracking: size(0.05),
            crosstalk: size(0.01),
            load_match: size(0.05),
        })
    } else {
        Systematic::Vendor(VendorFigures {
            directivity: size(0.05),
            reflect_tracking: size(0.05),
            source_match: size(0.05),
            through_tracking: size(0.05),
            crosstalk: size(0.01),
            load_match: size(0.05),
        })
    };
    Instrument {
        systematic,
        systematic_is_bound: size(1.0) > 0.03,
        reflect_floor: size(0.01),
        through_floor: size(0.01),
        trace_magnitude: size(0.01),
        trace_phase_rad: size(0.01),
        display_magnitude: size(0.01),
        display_phase_rad: size(0.01),
        reconnect: size(0.01),
        cable_phase_rad: size(0.01),
        drift: size(0.01),
        ..Instrument::HANDHELD
    }
}

/// Open and short exchanged.
fn dual_standards(instrument: &Instrument) -> Instrument {
    let mut dual = *instrument;
    if let Systematic::Standards(standards) = &mut dual.systematic {
        std::mem::swap(&mut standards.open, &mut standards.short);
    }
    dual
}

/// Z → Z0²/Z exchanges the two through fixtures in e, and open and short, whatever the common
/// budget; no such cause moves their crossover, and those that do are in the fixture itself or,
/// with the raw match, an open that is not as good as the short.
#[test]
fn what_is_common_to_both_through_fixtures_cannot_move_their_crossover() {
    let mut draws = Draws::new(seed());
    for case in 0..500 {
        let instrument = Instrument {
            raw_match: draws.uniform(),
            ..random_instrument(&mut draws)
        };
        let budget = Budget::new(&instrument, Z0, 3).unwrap();
        let dual_budget = Budget::new(&dual_standards(&instrument), Z0, 3).unwrap();
        let z = Complex64::from_polar(
            50.0 * 10f64.powf(6.0 * draws.uniform() - 3.0),
            std::f64::consts::PI * (draws.uniform() - 0.5),
        );
        let device = Immittance::from_impedance(z).unwrap();
        let dual = Immittance::from_impedance(2500.0 / z).unwrap();
        let shunt = budget
            .figure_of_merit(Fixture::ShuntThrough, device)
            .unwrap();
        let series = dual_budget
            .figure_of_merit(Fixture::SeriesThrough, dual)
            .unwrap();
        assert!(
            (shunt / series - 1.0).abs() < 1e-12,
            "seed {} case {case}",
            seed()
        );
        let angle = 1.5 * (2.0 * draws.uniform() - 1.0);
        // With an open as good as the short nothing is left that could move it.
        let mut even = instrument;
        if let Systematic::Standards(standards) = &mut even.systematic {
            standards.short = standards.open;
        }
        let even = Budget::new(&even, Z0, 3).unwrap();
        let found = Merits::of(&even).crossovers(angle);
        same(&ohms(&found, SHUNT_SERIES), &[50.0], 1e-9);
    }
    for cause in Cause::ALL {
        let can = matches!(cause, Cause::Contact | Cause::GroundLoop | Cause::RawMatch);
        assert_eq!(cause.moves_shunt_series_crossover(), can, "{cause:?}");
    }
    // They do move it: 0.2 Ω of ground loop on the laboratory instrument.
    let loops = Instrument {
        ground_loop_ohm: 0.2,
        ..Instrument::LABORATORY
    };
    let found = Merits::of(&Budget::new(&loops, Z0, 0).unwrap()).crossovers(0.0);
    let moved = ohms(&found, SHUNT_SERIES);
    assert!(
        moved.iter().all(|ohm| (ohm / 50.0 - 1.0).abs() > 0.05),
        "{moved:?}"
    );
}

/// The quick form of e is the sum over causes.
#[test]
fn merits_are_those_of_the_budget() {
    let mut draws = Draws::new(seed());
    for case in 0..2_000 {
        let instrument = Instrument {
            contact_ohm: 0.1,
            ground_loop_ohm: 0.05,
            ..random_instrument(&mut draws)
        };
        let budget = Budget::new(&instrument, Z0, case % 3).unwrap();
        let merits = Merits::of(&budget);
        let device = part(
            10f64.powf(9.0 * draws.uniform() - 3.0),
            std::f64::consts::TAU * (draws.uniform() - 0.5),
        );
        for fixture in Fixture::ALL {
            let quick = merits.figure_of_merit(fixture, device).unwrap();
            let slow = budget.figure_of_merit(fixture, device).unwrap();
            assert!(
                (quick / slow - 1.0).abs() < 1e-9,
                "seed {} case {case}",
                seed()
            );
            let z = device.impedance().unwrap().norm();
            let ohms = budget.impedance_covariance(fixture, device).unwrap();
            assert!((ohms.trace().sqrt() / z / slow - 1.0).abs() < 1e-9);
        }
    }
}

/// Reach and crossovers of the presets, recomputed outside the project: those for value with
/// the raw match by `tests/oracle/make_raw_match.py`, from derivatives of its own twelve-term
/// chain; those for change, which no calibration touches, by a scan of d and of the display steps
/// from their definitions, an increase and then a decrease.
#[test]
fn consequences_of_the_presets() {
    let oracle: serde_json::Value =
        serde_json::from_str(include_str!("../../oracle/raw_match.json")).unwrap();
    let numbers = |preset: &str, keys: &[&str]| -> Vec<f64> {
        let of_preset = &oracle["presets"][preset];
        let found = keys.iter().fold(of_preset, |at, key| &at[*key]);
        serde_json::from_value(found.clone()).unwrap()
    };
    let changes = [
        [14.429078, 171.692748, 14.560895, 173.261248],
        [14.434616, 172.836046, 14.464575, 173.194771],
        [14.472484, 172.688111, 14.476967, 172.741602],
    ];
    for ((name, instrument), change) in Instrument::PRESETS.into_iter().zip(changes) {
        let budget = Budget::new(&instrument, Z0, 0).unwrap();
        let merits = Merits::of(&budget);
        assert_eq!(
            Some(instrument.raw_match),
            oracle["presets"][name]["raw_match"].as_f64()
        );
        for (fixture, key) in Fixture::ALL.into_iter().zip(["reflect", "shunt", "series"]) {
            let found = merits.reach(fixture, 0.1, Coverage::P95, 0.0).unwrap();
            assert_eq!(found.len(), 1);
            let ends = numbers(name, &["reach", key]);
            same(&[found[0].from_ohm, found[0].to_ohm], &ends, 1e-6);
            for ohm in [found[0].from_ohm, found[0].to_ohm] {
                let e = budget.figure_of_merit(fixture, part(ohm, 0.0)).unwrap();
                let p = Coverage::P95.radius_in_rms() * e;
                assert!((p / 0.1 - 1.0).abs() < 1e-9);
            }
        }
        for (angle, key) in [(0.0, "value_resistive"), (FRAC_PI_2, "value_reactive")] {
            let found = best_ohms(&merits.crossovers(angle));
            same(&found, &numbers(name, &[key]), 1e-6);
        }
        for (increase, ohms) in [(true, &change[..2]), (false, &change[2..])] {
            let wanted = WantedChange {
                increase,
                ..WantedChange::default()
            };
            let found = budget.change_crossovers(0.0, wanted);
            same(&best_ohms(&found), ohms, 1e-6);
        }
    }
}

/// The crossover for change stays near SWR 1 + √6 on every preset; that for value moves with
/// the instrument.
#[test]
fn crossovers_for_change_stay_and_for_value_move() {
    let mut value_swr = Vec::new();
    for (name, instrument) in Instrument::PRESETS {
        let budget = Budget::new(&instrument, Z0, 0).unwrap();
        for increase in [true, false] {
            let wanted = WantedChange {
                increase,
                ..WantedChange::default()
            };
            let found = budget.change_crossovers(0.0, wanted);
            for c in found.iter().filter(|c| c.best) {
                let swr = c.swr.unwrap();
                assert!((swr / 3.45 - 1.0).abs() < 0.06, "{name} {increase}: {swr}");
                // And there the two do show the same change.
                let change = |fixture| {
                    let both = budget
                        .resolvable(fixture, part(c.ohm, 0.0), wanted.direction, false)
                        .unwrap();
                    if increase {
                        both.increase
                    } else {
                        both.decrease
                    }
                    .value()
                    .unwrap()
                };
                let [a, b] = c.between.map(change);
                assert!((a / b - 1.0).abs() < 1e-6, "{name}: {a} and {b}");
            }
        }
        let found = Merits::of(&budget).crossovers(0.0);
        value_swr.push(found.iter().find(|c| c.best).unwrap().swr.unwrap());
    }
    assert!(value_swr[0] / value_swr[2] > 1.5, "{value_swr:?}");
}

/// Best for value and best for change differ: 10 Ω on the handheld.
#[test]
fn value_and_change_ask_for_different_fixtures() {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let device = part(12.0, 0.0);
    assert_eq!(Merits::of(&budget).best(device), Some(Fixture::Reflect));
    assert_eq!(
        budget.best_for_change(device, WantedChange::default()),
        Some(Fixture::ShuntThrough)
    );
}

/// 10 % limits of a worked budget (S11 ±0.005; S21 0.5 % and a floor of 1e-4, root sum of
/// squares) and of plain absolute errors, recomputed outside.
#[test]
fn worked_budget_and_absolute_limits() {
    let through = ReadingError {
        absolute: 1e-4,
        relative: 0.005,
    };
    let merits = through_error(absolute(0.005), through);
    for (ohm, percent) in [
        (0.1, [125.5, 2.570, 500.6]),
        (1.0, [13.0, 0.586, 50.5]),
        (10.0, [1.80, 0.702, 5.50]),
        (50.0, [1.00, 1.501, 1.501]),
        (100.0, [1.125, 2.501, 1.001]),
        (1e3, [5.51, 20.5, 0.563]),
        (1e4, [50.5, 200.5, 1.138]),
    ] {
        let got = Fixture::ALL
            .map(|fixture| 100.0 * merits.figure_of_merit(fixture, part(ohm, 0.0)).unwrap());
        same(&got, &percent, 5e-3);
    }
    // The limits are for |δZ/Z| = 10 % of the error itself: coverage radius 1 rms.
    let one_rms = Coverage::new(1.0 - (-1f64).exp()).unwrap();
    let limits = |rms: f64, fixture| {
        let found = Merits::equal_absolute(rms, Z0)
            .reach(fixture, 0.1, one_rms, 0.0)
            .unwrap();
        [found[0].from_ohm, found[0].to_ohm]
    };
    same(&limits(0.01, Fixture::Reflect), &[2.786, 897.2], 1e-3);
    same(&limits(0.01, Fixture::ShuntThrough), &[3.175, 196.8], 1e-3);
    same(&limits(0.01, Fixture::SeriesThrough), &[12.70, 787.3], 1e-3);
    same(&limits(0.001, Fixture::Reflect), &[0.2525, 9900.0], 1e-3);
    same(&limits(1e-4, Fixture::ShuntThrough)[..1], &[25.05e-3], 1e-3);
    same(&limits(1e-4, Fixture::SeriesThrough)[1..], &[99.8e3], 1e-3);
    same(&limits(1e-5, Fixture::ShuntThrough)[..1], &[2.5e-3], 2e-3);
    for wanted in [0.0, -0.1, 2.0, f64::NAN] {
        assert!(
            merits
                .reach(Fixture::Reflect, wanted, one_rms, 0.0)
                .is_err()
        );
    }
    // Nothing meets a hundredth of a percent with these.
    assert!(
        merits
            .reach(Fixture::Reflect, 1e-4, one_rms, 0.0)
            .unwrap()
            .is_empty()
    );
}
