//! The one call behind a readout: it is its parts, and nothing it is given makes it panic or
//! tell a number that is none.

use jigwise_physics::{
    Appraisal, Budget, Complex64, Coverage, Direction, DiscImage, Draws, Fixture, Immittance,
    Instrument, Merits, Nudge, SEEN_SIGMA, Trust, Verdict, WantedChange, coverage_region,
};
use jigwise_tests::fifty_ohm::{Z0, ohm};
use jigwise_tests::seed::seed;

fn appraise(instrument: Instrument, device: Immittance, nudge: Nudge) -> Appraisal {
    Budget::new(&instrument, Z0, 1)
        .unwrap()
        .appraise(device, nudge, Coverage::P95)
}

/// Wiring only: the appraisal against the functions it calls, ours with ours. That these are right
/// is checked elsewhere, against guides, slow scans and figures from outside.
#[test]
fn an_appraisal_is_its_parts() {
    let mut draws = Draws::new(seed());
    for case in 0..1_000 {
        let (_, instrument) = Instrument::PRESETS[case % 3];
        let z = Complex64::from_polar(
            10f64.powf(9.0 * draws.uniform() - 3.0),
            std::f64::consts::PI * (draws.uniform() - 0.5),
        );
        let device = Immittance::from_impedance(z).unwrap();
        let swapped = case % 2 == 0;
        let amount = if case % 5 == 0 { -0.2 } else { 0.1 };
        let nudge = Nudge::new(amount, Direction::Magnitude, swapped).unwrap();
        let budget = Budget::new(&instrument, Z0, 1).unwrap();
        let seen = appraise(instrument, device, nudge);
        let what = format!("seed {} case {case} {z}", seed());
        for fixture in Fixture::ALL {
            let one = seen.of(fixture);
            assert_eq!(one.fixture, fixture);
            assert_eq!(one.figure_of_merit, budget.figure_of_merit(fixture, device));
            let ohms = budget.impedance_covariance(fixture, device).unwrap();
            let told = one.ohms.unwrap();
            assert_eq!(
                (told.u_r_ohm, told.u_x_ohm),
                (ohms.re.sqrt(), ohms.im.sqrt())
            );
            assert_eq!(told.correlation, ohms.correlation());
            assert_eq!(
                one.resolvable,
                budget.resolvable(fixture, device, Direction::Magnitude, swapped)
            );
            assert_eq!(
                one.separation_sigma,
                budget.separation(fixture, device, nudge)
            );
            let reading = budget.reading_covariance(fixture, device).unwrap();
            assert_eq!(
                one.region,
                coverage_region(fixture, device, Z0, reading, Coverage::P95)
            );
            let bounded = matches!(one.region, Some(DiscImage::Inside { .. }));
            assert_eq!(bounded, one.trust != Trust::Unbounded, "{what}");
            // A change that is seen is at least the least change that shows.
            let change = one.resolvable.unwrap();
            let least = if amount > 0.0 {
                change.increase
            } else {
                change.decrease
            };
            if one.verdict == Verdict::Sees {
                assert!(one.separation_sigma.unwrap() >= SEEN_SIGMA);
                assert!(
                    least.value().unwrap().abs() <= amount.abs() * (1.0 + 1e-9),
                    "{what}"
                );
            }
        }
        assert_eq!(
            seen.best_for_value,
            Merits::of(&budget).best(device),
            "{what}"
        );
        let wanted = WantedChange {
            increase: amount > 0.0,
            swapped,
            ..WantedChange::default()
        };
        assert_eq!(
            seen.best_for_change,
            budget.best_for_change(device, wanted),
            "{what}"
        );
    }
}

/// The verdicts in their order: a resistor of 20 kΩ on the handheld, changed more and more.
#[test]
fn verdicts_follow_separation_and_display() {
    let verdict = |amount, fixture: Fixture| {
        let nudge = Nudge::new(amount, Direction::Magnitude, false).unwrap();
        appraise(Instrument::HANDHELD, ohm(20_000.0, 0.0), nudge)
            .of(fixture)
            .verdict
    };
    assert_eq!(verdict(0.03, Fixture::SeriesThrough), Verdict::CantTell);
    assert_eq!(verdict(0.1, Fixture::SeriesThrough), Verdict::Hint);
    assert_eq!(verdict(0.2, Fixture::SeriesThrough), Verdict::Sees);
    // By its noise reflect tells +10 000 % at last, but the display never moves.
    assert_eq!(verdict(100.0, Fixture::Reflect), Verdict::HiddenByDisplay);
    assert_eq!(verdict(10.0, Fixture::ShuntThrough), Verdict::CantTell);
    let pole = appraise(Instrument::HANDHELD, ohm(-50.0, 0.0), Nudge::default());
    assert_eq!(pole.of(Fixture::Reflect).verdict, Verdict::NoReading);
    assert_eq!(pole.of(Fixture::Reflect).region, None);
    assert_ne!(pole.of(Fixture::ShuntThrough).verdict, Verdict::NoReading);
    for end in [Immittance::OPEN, Immittance::SHORT] {
        let seen = appraise(Instrument::HANDHELD, end, Nudge::default());
        assert_eq!((seen.best_for_value, seen.best_for_change), (None, None));
        for fixture in Fixture::ALL {
            assert_eq!(seen.of(fixture).verdict, Verdict::NoNudge);
        }
    }
}

fn no_nan(what: &str, values: impl IntoIterator<Item = f64>) {
    for value in values {
        assert!(!value.is_nan(), "{what}");
    }
}

/// Devices from 1e-300 to 1e300 Ω, active ones, poles and their neighbours, instruments with
/// next to no noise and with as much as allowed.
#[test]
fn nothing_makes_it_panic_or_tell_no_number() {
    let mut draws = Draws::new(seed());
    let ideal = Instrument {
        reflect_floor: 1e-15,
        through_floor: 1e-15,
        trace_magnitude: 0.0,
        trace_phase_rad: 0.0,
        display_magnitude: 0.0,
        display_phase_rad: 0.0,
        reconnect: 0.0,
        ..Instrument::LABORATORY
    };
    let beyond = Instrument {
        reflect_floor: 1.0,
        through_floor: 1.0,
        trace_magnitude: 1.0,
        trace_phase_rad: 0.7,
        display_magnitude: 1.0,
        display_phase_rad: 0.7,
        reconnect: 1.0,
        ..Instrument::HANDHELD
    };
    let why = Budget::new(&beyond, Z0, 1).unwrap_err().to_string();
    assert!(why.contains("all entries together"), "{why}");
    // √0.8, as wide as a budget may nearly be.
    let hopeless = Instrument {
        reflect_floor: 0.4,
        through_floor: 0.4,
        trace_magnitude: 0.5,
        trace_phase_rad: 0.3,
        reconnect: 0.4,
        ..beyond
    };
    let only_magnitude = Instrument {
        trace_magnitude: 0.3,
        ..ideal
    };
    let mut devices = vec![Immittance::OPEN, Immittance::SHORT];
    for r in [-50.0, -25.0, -100.0] {
        for off in [0.0, 1e-14, -1e-9, 1e-3] {
            devices.push(ohm(r * (1.0 + off), 0.0));
            devices.push(ohm(r, off));
        }
    }
    for z in [50.0, 25.0, 100.0, 1e-300, 1e300, 1e-160, 1e160] {
        devices.extend([
            ohm(z, 0.0),
            ohm(0.0, z),
            ohm(0.0, -z),
            ohm(-z, 0.0),
            ohm(z, -z),
        ]);
    }
    for _ in 0..2_000 {
        let size = 10f64.powf(600.0 * draws.uniform() - 300.0);
        let z = Complex64::from_polar(size, std::f64::consts::TAU * draws.uniform());
        devices.push(Immittance::from_impedance(z).unwrap());
    }
    let directions = [
        Direction::Magnitude,
        Direction::Resistance,
        Direction::Reactance,
    ];
    for (instrument, device, direction) in [ideal, hopeless, only_magnitude, Instrument::HANDHELD]
        .into_iter()
        .flat_map(|i| devices.iter().map(move |d| (i, *d)))
        .flat_map(|(i, d)| directions.map(|direction| (i, d, direction)))
    {
        for amount in [0.1, -0.5, 1e6] {
            let nudge = Nudge::new(amount, direction, amount < 0.0).unwrap();
            let seen = appraise(instrument, device, nudge);
            let what = format!("seed {} {device:?} {nudge:?} {instrument:?}", seed());
            for one in seen.fixtures {
                no_nan(&what, one.figure_of_merit);
                no_nan(&what, one.separation_sigma);
                no_nan(&what, [one.t0_in_sigma]);
                if let Some(told) = one.ohms {
                    no_nan(&what, [told.u_r_ohm, told.u_x_ohm, told.correlation]);
                }
                if let Some(both) = one.resolvable {
                    for change in [both.increase, both.decrease] {
                        no_nan(&what, change.noise.into_iter().chain(change.display));
                    }
                }
                match one.region {
                    Some(
                        DiscImage::Inside { center, radius }
                        | DiscImage::Outside { center, radius },
                    ) => no_nan(&what, [center.re, center.im, radius]),
                    Some(DiscImage::HalfPlane) | None => {}
                }
            }
        }
    }
}
