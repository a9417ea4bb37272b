//! Strays taken out again: what is put in comes out, by known values, by blanks and by port
//! extension; and what can't be removed is refused with what to measure instead.

use std::f64::consts::TAU;

use jigwise_physics::{
    Complex64, DelayError, Draws, Fixture, Immittance, Line, Network, OpenShort, PlaneBlank,
    PortExtension, ReferenceImpedance, Scattering, Strays, without_empty_gap,
    without_shorted_branch,
};
use jigwise_tests::parts::{fixture, part, passive_impedance_ohm};
use jigwise_tests::seed::{for_all, seed};
use jigwise_tests::strays::{freq_hz, line, strays};
use proptest::prelude::*;

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;
fn near(what: &str, value: f64, expected: f64, half_digit: f64) {
    assert!(
        (value - expected).abs() <= half_digit,
        "{what}: {value}, expected {expected}"
    );
}

fn reading(strays: &Strays, fixture: Fixture, device: Immittance, freq_hz: f64) -> Complex64 {
    strays
        .reading(fixture, device, freq_hz, Z0)
        .unwrap()
        .value()
        .unwrap()
}

#[test]
fn strays_put_in_come_out_again() {
    for_all(
        &(strays(), passive_impedance_ohm(), fixture(), freq_hz()),
        |(strays, z, fixture, freq_hz)| {
            for device in [part(z), Immittance::OPEN, Immittance::SHORT] {
                let read = strays.reading(fixture, device, freq_hz, Z0).unwrap();
                let found = strays.part(fixture, read, freq_hz, Z0).unwrap();
                let miss = found.part.chordal_distance(device, Z0);
                prop_assert!(miss < 1e-12, "{fixture:?} misses by {miss:e}");
            }
            Ok(())
        },
    );
}

/// A turned fixture is the fixture with its arms exchanged, and arms come off both sides.
#[test]
fn arms_turn_and_come_off() {
    for_all(
        &(strays(), passive_impedance_ohm(), freq_hz()),
        |(strays, z, freq_hz)| {
            let turned = Strays {
                before: strays.after,
                after: strays.before,
                ..strays
            };
            let bare = Strays {
                before: Line::NONE,
                after: Line::NONE,
                ..strays
            };
            for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
                for device in [part(z), Immittance::OPEN, Immittance::SHORT] {
                    let of = |strays: &Strays| -> Scattering {
                        let s = strays.scattering(fixture, device, freq_hz, Z0);
                        s.unwrap().unwrap()
                    };
                    let miss = of(&turned).distance(&of(&strays).flipped());
                    prop_assert!(miss < 1e-12, "turned misses by {miss:e}");
                    let off = strays.without_arms(&of(&strays), freq_hz, Z0).unwrap();
                    let miss = off.unwrap().distance(&of(&bare));
                    prop_assert!(miss < 1e-11, "{fixture:?} without arms: {miss:e}");
                }
            }
            Ok(())
        },
    );
}

/// Each blank is measured in the fixture whose strays it has to remove, and removes them all.
#[test]
fn blanks_remove_what_they_measure() {
    for_all(
        &(strays(), passive_impedance_ohm(), freq_hz()),
        |(strays, z, freq_hz)| {
            let strays = Strays {
                before: Line::NONE,
                after: Line::NONE,
                contact_ohm: 0.0,
                ..strays
            };
            let measured = |fixture: Fixture, device| {
                let read = strays.reading(fixture, device, freq_hz, Z0).unwrap();
                fixture.immittance_of(read, Z0)
            };
            let of = |fixture| measured(fixture, part(z));
            let series = Fixture::SeriesThrough;
            let gap = measured(series, Immittance::OPEN);
            let gap_ohm = gap.impedance().map_or(f64::INFINITY, |z| z.norm());
            match without_empty_gap(of(series), gap) {
                Ok(found) => {
                    let miss = found.part.chordal_distance(part(z), Z0);
                    prop_assert!(miss < 1e-12, "gap: {miss:e}");
                    let ratio = z.norm() / gap_ohm;
                    prop_assert!((found.removed / ratio - 1.0).abs() < 1e-6);
                }
                Err(_) => prop_assert!(z.norm() > gap_ohm * (1.0 - 1e-6)),
            }
            let shunt = Fixture::ShuntThrough;
            let branch = measured(shunt, Immittance::SHORT);
            match without_shorted_branch(of(shunt), branch) {
                Ok(found) => {
                    let miss = found.part.chordal_distance(part(z), Z0);
                    prop_assert!(miss < 1e-12, "branch: {miss:e}");
                }
                Err(_) => {
                    let branch_ohm = branch.impedance().unwrap().norm();
                    prop_assert!(z.norm() < branch_ohm * (1.0 + 1e-6));
                }
            }
            let reflect = Fixture::Reflect;
            let blanks = OpenShort::new(
                measured(reflect, Immittance::OPEN),
                measured(reflect, Immittance::SHORT),
            );
            match blanks {
                Ok(blanks) => {
                    let found = blanks.part(of(reflect)).part;
                    let miss = found.chordal_distance(part(z), Z0);
                    prop_assert!(miss < 1e-12, "open and short: {miss:e}");
                }
                // Above the resonance of pin and ground the empty fixture reads fewer ohms.
                Err(_) => {
                    let omega = TAU * freq_hz;
                    let resonance = omega * omega * strays.ground_h * strays.pin_f;
                    prop_assert!(2.0 * resonance > 1.0 - 1e-6, "{resonance}");
                }
            }
            Ok(())
        },
    );
}

/// 0.3 + 2j Ω in series, then 30 µS: 119.975108 − 43.369581j Ω is 120 − 45j Ω. Computed outside
/// (numpy).
#[test]
fn open_and_short_compensation() {
    let ohm = |re, im| part(Complex64::new(re, im));
    let series = Network::series(ohm(0.3, 2.0));
    let across = Immittance::from_admittance(Complex64::new(0.0, 30e-6)).unwrap();
    let jig = series.then(&Network::shunt(across));
    let seen = |load| jig.terminated(load).unwrap();
    let printed = Complex64::new(119.975108, -43.369581);
    let measured = seen(ohm(120.0, -45.0));
    assert!((measured.impedance().unwrap() - printed).norm() < 1e-6);
    let blanks = OpenShort::new(seen(Immittance::OPEN), seen(Immittance::SHORT)).unwrap();
    for load in [
        ohm(120.0, -45.0),
        ohm(0.01, 3.0),
        Immittance::OPEN,
        Immittance::SHORT,
    ] {
        let found = blanks.part(seen(load)).part;
        assert!(found.chordal_distance(load, Z0) < 1e-14);
    }
}

/// A matched arm is a factor e^(−2γl): a port extension takes it off as the whole cascade does.
#[test]
fn a_port_extension_takes_off_matched_arms() {
    for_all(
        &(line(), line(), passive_impedance_ohm(), freq_hz()),
        |(before, after, z, freq_hz)| {
            let matched = |line: Line| Line {
                zc_ohm: Z0.ohm(),
                ..line
            };
            let strays = Strays {
                before: matched(before),
                after: matched(after),
                ..Strays::NONE
            };
            let first = PortExtension::of(&strays.before).unwrap();
            let second = PortExtension::of(&strays.after).unwrap();
            for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
                let of = |strays: &Strays| {
                    let s = strays.scattering(fixture, part(z), freq_hz, Z0);
                    s.unwrap().unwrap()
                };
                let off = PortExtension::scattering(&of(&strays), &first, &second, freq_hz);
                let miss = off.unwrap().distance(&of(&Strays::NONE));
                prop_assert!(miss < 1e-12, "{fixture:?}: {miss:e}");
            }
            let read = strays.reading(Fixture::Reflect, part(z), freq_hz, Z0);
            let off = first.reflection(read.unwrap().value().unwrap(), freq_hz);
            let bare = Fixture::Reflect.reading(part(z), Z0).value().unwrap();
            prop_assert!((off.unwrap() - bare).norm() < 1e-12);
            Ok(())
        },
    );
}

fn blank_sweep(strays: &Strays, blank: Immittance, freqs_hz: &[f64]) -> Vec<(f64, Complex64)> {
    freqs_hz
        .iter()
        .map(|&freq_hz| (freq_hz, reading(strays, Fixture::Reflect, blank, freq_hz)))
        .collect()
}

#[test]
fn a_delay_is_found_or_refused_with_what_to_measure() {
    let arm = Line {
        length_m: 0.40,
        velocity_factor: 0.66,
        conductor_db_per_m_at_1ghz: 0.8,
        ..Line::NONE
    };
    let strays = Strays {
        before: arm,
        ..Strays::NONE
    };
    let even = |count: u32, from_hz: f64, to_hz: f64| -> Vec<f64> {
        let step = (to_hz - from_hz) / f64::from(count - 1);
        (0..count).map(|k| from_hz + step * f64::from(k)).collect()
    };
    let delay_s = arm.one_way_delay_s().unwrap();
    let longest_s = 1.25 * delay_s;
    let find = |sweep: &[_], blank| PortExtension::from_blank(blank, sweep, longest_s);
    let fine = even(101, 10e6, 2e9);
    for (blank, device) in [
        (PlaneBlank::Open, Immittance::OPEN),
        (PlaneBlank::Short, Immittance::SHORT),
    ] {
        let found = find(&blank_sweep(&strays, device, &fine), blank).unwrap();
        assert!((found.extension.one_way_delay_s / delay_s - 1.0).abs() < 1e-12);
        near(
            "loss, dB",
            found.extension.conductor_db_at_1ghz,
            0.32,
            1e-12,
        );
        assert!(found.offset_degrees.abs() < 1e-9 && found.rms_degrees < 1e-9);
    }

    // Noise of 0.007 per component: the delay stays within four of its own standard uncertainties.
    let mut draws = Draws::new(seed());
    let mut noisy = blank_sweep(&strays, Immittance::SHORT, &fine);
    for (_, gamma) in &mut noisy {
        *gamma += draws.circular(0.007);
    }
    let found = find(&noisy, PlaneBlank::Short).unwrap();
    let off = (found.extension.one_way_delay_s - delay_s) / found.delay_uncertainty_s;
    assert!(off.abs() < 4.0 && off != 0.0, "{off} uncertainties off");

    // A fringe of 50 fF lengthens an open by Z0·C = 2.5 ps, where ωCZ0 is small.
    let fringe = Strays {
        pin_f: 50e-15,
        ..strays
    };
    let low = blank_sweep(&fringe, Immittance::OPEN, &even(21, 1e6, 100e6));
    let found = find(&low, PlaneBlank::Open).unwrap();
    let added_ps = (found.extension.one_way_delay_s - delay_s) * 1e12;
    near("fringe, ps", added_ps, 2.5, 1e-3);

    // Half a turn there and back takes Δf = 1/(4τ).
    let limit_hz = 1.0 / (4.0 * longest_s);
    let span_hz = 9.5 * limit_hz;
    let at = |count| {
        let sweep = blank_sweep(&strays, Immittance::OPEN, &even(count, 1e6, 1e6 + span_hz));
        find(&sweep, PlaneBlank::Open)
    };
    assert!(at(11).is_ok());
    let refused = at(10).unwrap_err();
    let DelayError::TooCoarse {
        step_degrees,
        points_needed,
        points,
        span_hz: most_hz,
    } = refused
    else {
        panic!("{refused:?}")
    };
    near("step", step_degrees, 190.0, 1e-9);
    assert_eq!((points_needed, points), (11.0, 10));
    near("span, steps", most_hz / limit_hz, 9.0, 1e-12);
    assert!(
        refused.to_string().contains("or 10 over less than"),
        "{refused}"
    );
    assert!(at(2).unwrap_err().to_string().contains("at least 3"));

    // Named wrongly, longer than said, or no reflection at all.
    let short = blank_sweep(&strays, Immittance::SHORT, &fine);
    let other = find(&short, PlaneBlank::Open).unwrap_err();
    assert!(matches!(other, DelayError::OtherBlank { .. }), "{other:?}");
    let longer = PortExtension::from_blank(PlaneBlank::Short, &short, 0.5 * delay_s);
    assert!(
        matches!(longer, Err(DelayError::OutOfRange { .. })),
        "{longer:?}"
    );
    let mut silent = short.clone();
    silent[7].1 = Complex64::ZERO;
    let silent = find(&silent, PlaneBlank::Short).unwrap_err();
    assert!(
        silent.to_string().starts_with("point 8 of the sweep"),
        "{silent}"
    );
    let backwards: Vec<_> = short.iter().rev().copied().collect();
    let backwards = find(&backwards, PlaneBlank::Short).unwrap_err();
    assert!(matches!(backwards, DelayError::BadPoint { index: 1, .. }));
    for wrong_s in [0.0, -1e-9, f64::NAN, 1.0] {
        let wrong = PortExtension::from_blank(PlaneBlank::Short, &short, wrong_s);
        assert!(matches!(wrong, Err(DelayError::BadLongest { .. })));
    }
}
