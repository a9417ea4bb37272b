//! Laws of the three readings for every part and reference: round trips, derivatives,
//! differences, sensitivity, duality.
//!
//! Where a law is a number, the truth is computed in whole-number fractions from the voltage
//! divider of each circuit, not from the formula under test. A tolerance is a count of
//! roundings: ε is the spacing of f64 at 1, one operation is off by at most ε/2 (IEEE 754).

use jigwise_physics::{Fixture, Immittance, ReferenceImpedance};
use jigwise_tests::divider::{distance_from_pole, reading_by_divider};
use jigwise_tests::exact::{Exact, close, exact, relative_error, rounded};
use jigwise_tests::parts::{
    device, fixture, impedance_ohm, log_uniform, part, passive_impedance_ohm, reference,
    reference_and_impedance_ohm,
};
use jigwise_tests::seed::for_all;
use num_complex::Complex64;
use num_traits::One;
use proptest::prelude::*;

const EPSILON: f64 = f64::EPSILON;

/// Four roundings on the way out and four on the way back, in a map whose condition number
/// (largest over smallest singular value) is at most 2.62.
#[test]
fn a_reading_kept_as_a_pair_gives_the_device_back() {
    for_all(
        &(reference(), device(), fixture()),
        |(z0, device, fixture)| {
            let back = fixture.immittance_of(fixture.reading(device, z0), z0);
            let miss = back.chordal_distance(device, z0);
            prop_assert!(miss <= 1e-15, "{fixture:?} misses by {miss:e}");
            Ok(())
        },
    );
}

#[test]
fn near_the_poles_a_pair_gives_the_device_back_too() {
    for_all(
        &(reference_and_impedance_ohm(), fixture()),
        |((z0, z), fixture)| {
            let device = part(z);
            let back = fixture.immittance_of(fixture.reading(device, z0), z0);
            let miss = back.chordal_distance(device, z0);
            prop_assert!(miss <= 1e-15, "{fixture:?} misses by {miss:e}");
            Ok(())
        },
    );
}

/// |δZ/Z| ≤ 8ε·max(1, K·|S|): the reading's own last digit, times what the fixture makes of it.
#[test]
fn a_stored_reading_gives_back_what_its_digits_allow() {
    for_all(
        &(reference_and_impedance_ohm(), fixture()),
        |((z0, z), fixture)| {
            let device = part(z);
            let stored = fixture.reading(device, z0).value();
            prop_assert!(stored.is_some(), "{fixture:?} gives no reading");
            let stored = stored.unwrap();
            let back = fixture.immittance(stored, z0).unwrap();
            let k = fixture.relative_sensitivity(device, z0);
            let allowed = 8.0 * EPSILON * f64::max(1.0, k * stored.norm());
            match back.impedance() {
                Some(back) => close("Z back", back, z, allowed * z.norm()),
                None => {
                    prop_assert!(allowed >= 1.0, "{fixture:?} gives an open back");
                    Ok(())
                }
            }
        },
    );
}

#[test]
fn open_and_short_are_read_and_come_back_exactly() {
    for_all(&reference(), |z0| {
        for (fixture, open, short) in [
            (Fixture::Reflect, 1.0, -1.0),
            (Fixture::ShuntThrough, 1.0, 0.0),
            (Fixture::SeriesThrough, 0.0, 1.0),
        ] {
            let (open, short) = (Complex64::from(open), Complex64::from(short));
            prop_assert_eq!(fixture.reading(Immittance::OPEN, z0).value(), Some(open));
            prop_assert_eq!(fixture.reading(Immittance::SHORT, z0).value(), Some(short));
            prop_assert!(fixture.immittance(open, z0).unwrap().is_open());
            prop_assert!(fixture.immittance(short, z0).unwrap().is_short());
            prop_assert_eq!(fixture.ohm_per_reading(Immittance::OPEN, z0), None);
            for end in [Immittance::OPEN, Immittance::SHORT] {
                prop_assert!(fixture.relative_sensitivity(end, z0).is_infinite());
            }
        }
        Ok(())
    });
}

#[test]
fn only_an_active_part_has_no_reading() {
    for_all(&reference(), |z0| {
        for (fixture, ratio) in [
            (Fixture::Reflect, -1.0),
            (Fixture::ShuntThrough, -0.5),
            (Fixture::SeriesThrough, -2.0),
        ] {
            let at_pole = part(Complex64::from(ratio * z0.ohm()));
            let reading = fixture.reading(at_pole, z0);
            prop_assert!(reading.is_infinite() && reading.value().is_none());
            prop_assert!(at_pole.is_active());
            let back = fixture.immittance_of(reading, z0);
            prop_assert!(back.chordal_distance(at_pole, z0) <= 1e-15);
        }
        Ok(())
    });
}

/// Products, sum and quotient: under 4 roundings each in numerator and denominator.
#[test]
fn the_reading_is_that_of_the_voltage_divider() {
    for_all(
        &(reference_and_impedance_ohm(), fixture()),
        |((z0, z), fixture)| {
            let truth = reading_by_divider(fixture, &exact(z), z0.ohm()).unwrap();
            let reading = fixture.reading(part(z), z0).value().unwrap();
            let size = f64::max(1.0, rounded(&truth).norm());
            let allowed = 4.0 * EPSILON * size / distance_from_pole(fixture, z, z0);
            let miss = rounded(&(exact(reading) - truth)).norm();
            prop_assert!(miss <= allowed, "{fixture:?} off by {miss:e}");
            Ok(())
        },
    );
}

/// The step is 2⁻⁶⁰ of the distance to the pole and the arithmetic exact, so the quotient of
/// differences is the derivative to 2⁻⁶⁰, and nothing is differentiated by hand.
#[test]
fn ohm_per_reading_is_the_slope_of_the_divider() {
    const STEP: f64 = 1.0 / (1u64 << 60) as f64;
    for_all(
        &(reference_and_impedance_ohm(), fixture()),
        |((z0, z), fixture)| {
            let distance = distance_from_pole(fixture, z, z0);
            let dz = exact(Complex64::from(STEP * distance * z.norm()));
            let at = exact(z);
            let before = reading_by_divider(fixture, &at, z0.ohm()).unwrap();
            let after = reading_by_divider(fixture, &(at + dz.clone()), z0.ohm()).unwrap();
            let slope = dz / (after - before);

            let allowed = 16.0 * EPSILON / distance;
            let ours = fixture.ohm_per_reading(part(z), z0).unwrap();
            let miss = relative_error(ours, &slope);
            prop_assert!(miss <= allowed, "{fixture:?} dZ/dS off by {miss:e}");

            let k = fixture.relative_sensitivity(part(z), z0);
            let k_true = rounded(&slope).norm() / z.norm();
            prop_assert!(
                (k / k_true - 1.0).abs() <= allowed,
                "{fixture:?} K is {k}, not {k_true}"
            );

            let inverse_slope = fixture.map(z0).derivative(part(z).ratio()).unwrap();
            let miss = relative_error(inverse_slope, &(Exact::one() / slope));
            prop_assert!(miss <= allowed, "{fixture:?} dS/dZ off by {miss:e}");
            Ok(())
        },
    );
}

/// Two impedances from the far apart to the nearly equal: the difference of their readings
/// has nearly all its digits, whatever the readings share.
#[test]
fn a_difference_of_readings_keeps_its_digits() {
    let change =
        (log_uniform((1e-15, 1e6)), -3.2..3.2).prop_map(|(r, a)| Complex64::from_polar(r, a));
    for_all(
        &(reference_and_impedance_ohm(), change, fixture()),
        |((z0, z), change, fixture)| {
            let nudged = z * (change + 1.0);
            let truth = reading_by_divider(fixture, &exact(nudged), z0.ohm()).unwrap()
                - reading_by_divider(fixture, &exact(z), z0.ohm()).unwrap();
            let ours = fixture
                .map(z0)
                .difference(part(nudged).ratio(), part(z).ratio())
                .unwrap();
            let distance =
                distance_from_pole(fixture, z, z0).min(distance_from_pole(fixture, nudged, z0));
            let miss = relative_error(ours, &truth);
            prop_assert!(
                miss <= 24.0 * EPSILON / distance,
                "{fixture:?}: {ours} for {}, off by {miss:e}",
                rounded(&truth)
            );
            Ok(())
        },
    );
}

#[test]
fn a_difference_holds_at_open_and_short() {
    for_all(&(reference(), impedance_ohm()), |(z0, z)| {
        for fixture in Fixture::ALL {
            let map = fixture.map(z0);
            let between = map
                .difference(Immittance::OPEN.ratio(), Immittance::SHORT.ratio())
                .unwrap();
            let expected = match fixture {
                Fixture::Reflect => 2.0,
                Fixture::ShuntThrough => 1.0,
                Fixture::SeriesThrough => -1.0,
            };
            close("open less short", between, expected.into(), 2.0 * EPSILON)?;

            let device = part(z);
            let none = map.difference(device.ratio(), device.ratio()).unwrap();
            prop_assert_eq!(none, Complex64::ZERO);

            let reading = reading_by_divider(fixture, &exact(z), z0.ohm()).unwrap();
            let end = exact(fixture.reading(Immittance::OPEN, z0).value().unwrap());
            let ours = map
                .difference(Immittance::OPEN.ratio(), device.ratio())
                .unwrap();
            let miss = relative_error(ours, &(end - reading));
            prop_assert!(
                miss <= 16.0 * EPSILON / distance_from_pole(fixture, z, z0),
                "{fixture:?} off by {miss:e}"
            );
        }
        Ok(())
    });
}

/// K of shunt at z is K of series at 1/z, K of reflect is the same at z and 1/z
/// (references: the duality of the two through circuits). 1/z in f64 is off by 2ε.
#[test]
fn shunt_and_series_are_dual() {
    for_all(&reference_and_impedance_ohm(), |(z0, z)| {
        let device = part(z);
        let square = Complex64::from(z0.ohm()) * z0.ohm();
        let dual = Immittance::from_pair(square, z).unwrap();
        for (here, there) in [
            (Fixture::ShuntThrough, Fixture::SeriesThrough),
            (Fixture::SeriesThrough, Fixture::ShuntThrough),
            (Fixture::Reflect, Fixture::Reflect),
        ] {
            let k = here.relative_sensitivity(device, z0);
            let k_dual = there.relative_sensitivity(dual, z0);
            let allowed = 16.0 * EPSILON / distance_from_pole(here, z, z0);
            prop_assert!(
                (k / k_dual - 1.0).abs() <= allowed,
                "{here:?} K {k}, {there:?} at the dual {k_dual}"
            );
        }
        Ok(())
    });
}

/// Least sensitivity: reflect 1 + cos θ at |Z| = Z0, the through fixtures 2(1 + cos θ) at
/// Z0/2 and 2·Z0; anywhere else at the same angle it is larger.
#[test]
fn sensitivity_is_least_where_the_fixture_says() {
    for_all(
        &(reference(), -3.0..3.0, log_uniform((1e-3, 1e3))),
        |(z0, angle_rad, factor)| {
            for (fixture, at, scale) in [
                (Fixture::Reflect, 1.0, 1.0),
                (Fixture::ShuntThrough, 0.5, 2.0),
                (Fixture::SeriesThrough, 2.0, 2.0),
            ] {
                let k = |ohm: f64| {
                    let device = part(Complex64::from_polar(ohm, angle_rad));
                    fixture.relative_sensitivity(device, z0)
                };
                let least = scale * (1.0 + f64::cos(angle_rad));
                let found = k(at * z0.ohm());
                prop_assert!((found - least).abs() <= 8.0 * EPSILON * scale);
                prop_assert!(k(at * z0.ohm() * factor) >= found - 8.0 * EPSILON * scale);
            }
            Ok(())
        },
    );
}

/// shunt(Γ) = 2(1 + Γ)/(3 + Γ), series(Γ) = shunt(−Γ).
#[test]
fn through_readings_follow_from_the_reflection() {
    for_all(&(reference(), passive_impedance_ohm()), |(z0, z)| {
        let device = part(z);
        let gamma = Fixture::Reflect.reading(device, z0).value().unwrap();
        let shunt = |gamma: Complex64| (gamma + 1.0) * 2.0 / (gamma + 3.0);
        let read = |fixture: Fixture| fixture.reading(device, z0).value().unwrap();
        close(
            "shunt",
            read(Fixture::ShuntThrough),
            shunt(gamma),
            8.0 * EPSILON,
        )?;
        close(
            "series",
            read(Fixture::SeriesThrough),
            shunt(-gamma),
            8.0 * EPSILON,
        )
    });
}

/// Only Z/Z0 counts, and multiplying both by a power of two costs no digit.
#[test]
fn readings_depend_on_the_ratio_to_the_reference_alone() {
    for_all(
        &(reference(), impedance_ohm(), fixture(), -40i32..40),
        |(z0, z, fixture, power)| {
            let factor = 2f64.powi(power);
            let scaled_z0 = ReferenceImpedance::new(z0.ohm() * factor).unwrap();
            prop_assert_eq!(
                fixture.reading(part(z), z0).value(),
                fixture.reading(part(z * factor), scaled_z0).value()
            );
            Ok(())
        },
    );
}
