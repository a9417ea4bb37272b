//! Laws that hold for every part, reference and fixture: round trips, derivatives,
//! differences, identities between the two S-parameters, power.
//!
//! Where a law is a number, the truth is computed in whole-number fractions from the voltage
//! divider of each circuit, not from the formula under test. A tolerance is a count of
//! roundings: ε is the spacing of f64 at 1, one operation is off by at most ε/2 (IEEE 754).

use jigwise_physics::{Equivalents, Fixture, Immittance, Mobius, Ratio, ReferenceImpedance};
use jigwise_tests::exact::{Exact, exact, fraction, relative_error, rounded};
use jigwise_tests::parts::{
    device, fixture, impedance_ohm, log_uniform, part, passive_impedance_ohm, reference,
    reference_and_impedance_ohm,
};
use jigwise_tests::seed::for_all;
use num_complex::Complex64;
use num_rational::BigRational;
use num_traits::{One, Zero};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

const EPSILON: f64 = f64::EPSILON;

/// The reading by the voltage divider: a generator of 2 V behind Z0, so that a matched port
/// takes 1 V; S11 is what the port voltage has above 1 V, S21 is the voltage across the Z0
/// of port 2. `None` where the divider has no solution.
fn reading_by_divider(fixture: Fixture, z: &Exact, z0: f64) -> Option<Exact> {
    let one = Exact::one();
    let two = one.clone() + one.clone();
    let z0 = Exact::new(fraction(z0), BigRational::zero());
    let quotient = |num: Exact, den: Exact| (!den.is_zero()).then(|| num / den);
    match fixture {
        Fixture::Reflect => {
            let port_volts = quotient(two * z.clone(), z.clone() + z0)?;
            Some(port_volts - one)
        }
        Fixture::ShuntThrough => {
            let y0 = one.clone() / z0;
            let y = one / z.clone();
            quotient(two.clone() * y0.clone(), two * y0 + y)
        }
        Fixture::SeriesThrough => {
            let loop_amperes = quotient(two.clone(), z.clone() + two * z0.clone())?;
            Some(loop_amperes * z0)
        }
    }
}

/// How near the part is to the pole of the fixture: |a + b|/(|a| + |b|) of the two terms
/// whose sum is the denominator. 1 for a resistor, 0 at the pole; the digits lost are its
/// inverse.
fn distance_from_pole(fixture: Fixture, z: Complex64, z0: ReferenceImpedance) -> f64 {
    let z = z / z0.ohm();
    let (a, b) = match fixture {
        Fixture::Reflect => (z, 1.0),
        Fixture::ShuntThrough => (z * 2.0, 1.0),
        Fixture::SeriesThrough => (z, 2.0),
    };
    (a + b).norm() / (a.norm() + b)
}

fn close(what: &str, value: Complex64, truth: Complex64, tolerance: f64) -> TestCaseResult {
    let miss = (value - truth).norm();
    prop_assert!(
        miss <= tolerance,
        "{what}: {value} for {truth}, off by {miss:e}, allowed {tolerance:e}"
    );
    Ok(())
}

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

fn small_complex() -> impl Strategy<Value = Complex64> {
    (-4.0..4.0, -4.0..4.0).prop_map(|(re, im)| Complex64::new(re, im))
}

fn small_map() -> impl Strategy<Value = Mobius> {
    [
        small_complex(),
        small_complex(),
        small_complex(),
        small_complex(),
    ]
    .prop_map(|[a, b, c, d]| Mobius::new([[a, b], [c, d]]))
    .prop_filter("a map that keeps points apart", |map| {
        map.determinant().norm() > 0.5
    })
}

/// Entries up to 4√2 and a determinant above 0.5 bound the condition number by 256.
#[test]
fn maps_compose_and_invert() {
    for_all(&(small_map(), small_map(), device()), |(f, g, device)| {
        let point = device.ratio();
        let same = |a: Ratio, b: Ratio| -> TestCaseResult {
            let miss = a.chordal_distance(b);
            prop_assert!(miss <= 1e-10, "points {miss:e} apart");
            Ok(())
        };
        same(f.after(&g).apply(point), f.apply(g.apply(point)))?;
        same(f.inverse().apply(f.apply(point)), point)?;
        same(f.apply(f.inverse().apply(point)), point)?;
        close(
            "determinant of a product",
            f.after(&g).determinant(),
            f.determinant() * g.determinant(),
            1e-10,
        )
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

/// A lumped part to ground leaves the same voltage at both ports, 1 + S11 = S21; one
/// between the ports the same current, 1 − S11 = S21.
#[test]
fn the_port_reflection_is_tied_to_the_reading() {
    for_all(&reference_and_impedance_ohm(), |(z0, z)| {
        let device = part(z);
        for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
            let s21 = fixture.reading(device, z0).value().unwrap();
            let s11 = fixture.port_reflection(device, z0).value().unwrap();
            let tied = match fixture {
                Fixture::ShuntThrough => s21 - s11,
                _ => s21 + s11,
            };
            let size = f64::max(1.0, s21.norm());
            let allowed = 4.0 * EPSILON * size;
            close("S21 tied to S11", tied, Complex64::ONE, allowed)?;
            let told = fixture.consistency(s11, s21).unwrap();
            prop_assert!(told <= allowed, "consistency {told:e}");
            let wrong = fixture.consistency(s11 + 0.25, s21).unwrap();
            prop_assert!((wrong - 0.25).abs() <= allowed, "consistency {wrong:e}");
        }
        let reflect = Fixture::Reflect.reading(device, z0);
        let same = Fixture::Reflect.port_reflection(device, z0);
        prop_assert_eq!(reflect.chordal_distance(same), 0.0);
        prop_assert_eq!(
            Fixture::Reflect.consistency(Complex64::ONE, Complex64::ONE),
            None
        );
        Ok(())
    });
}

/// A part without a source gives back no more than it gets: |S11|² + |S21|² ≤ 1. What it
/// keeps is the power in its resistance.
#[test]
fn a_passive_part_makes_no_power() {
    for_all(&(reference(), passive_impedance_ohm()), |(z0, z)| {
        let device = part(z);
        prop_assert!(!device.is_active());
        let gamma = Fixture::Reflect.reading(device, z0).value().unwrap();
        prop_assert!(
            gamma.norm() <= 1.0 + 2.0 * EPSILON,
            "|S11| {}",
            gamma.norm()
        );
        for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
            let s21 = fixture.reading(device, z0).value().unwrap();
            let s11 = fixture.port_reflection(device, z0).value().unwrap();
            let out = s11.norm_sqr() + s21.norm_sqr();
            prop_assert!(out <= 1.0 + 8.0 * EPSILON, "{fixture:?} gives {out}");
            let volts_or_amperes = match fixture {
                Fixture::ShuntThrough => s21 / z.norm(),
                _ => s21 / z0.ohm(),
            };
            let kept = z.re * volts_or_amperes.norm_sqr() * z0.ohm();
            prop_assert!((out + kept - 1.0).abs() <= 16.0 * EPSILON, "{fixture:?}");
        }
        Ok(())
    });
}

#[test]
fn an_active_part_reflects_more_than_it_gets() {
    for_all(&reference_and_impedance_ohm(), |(z0, z)| {
        let device = part(z);
        prop_assert_eq!(device.is_active(), z.re < 0.0);
        let gamma = Fixture::Reflect.reading(device, z0).value().unwrap();
        let on_the_rim = (gamma.norm() - 1.0).abs() <= 4.0 * EPSILON * gamma.norm();
        prop_assert!(on_the_rim || (gamma.norm() > 1.0) == (z.re < 0.0));
        Ok(())
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

/// Far outside what a bench holds, up to the ends of f64: no NaN, no lost part.
#[test]
fn the_ends_of_the_number_range_are_ordinary_parts() {
    let ohm =
        (log_uniform((1e-300, 1e300)), -3.2..3.2).prop_map(|(r, a)| Complex64::from_polar(r, a));
    for_all(&(reference(), ohm, fixture()), |(z0, z, fixture)| {
        let device = part(z);
        let pair = fixture.reading(device, z0);
        let back = fixture.immittance_of(pair, z0);
        prop_assert!(back.chordal_distance(device, z0) <= 1e-15);
        let reading = pair.value().unwrap();
        prop_assert!(reading.re.is_finite() && reading.im.is_finite());
        let returned = device.impedance().unwrap();
        close("Z kept", returned, z, 4.0 * EPSILON * z.norm())
    });
}

/// Series adds impedances, parallel adds admittances; both against exact fractions.
#[test]
fn parts_add_in_series_and_in_parallel() {
    for_all(
        &(passive_impedance_ohm(), passive_impedance_ohm()),
        |(a, b)| {
            let (exact_a, exact_b) = (exact(a), exact(b));
            let sum = exact_a.clone() + exact_b.clone();
            if sum.is_zero() {
                return Ok(());
            }
            let cancelled = rounded(&sum).norm() / (a.norm() + b.norm());
            let allowed = 12.0 * EPSILON / cancelled;
            let series = part(a).in_series_with(part(b)).impedance().unwrap();
            prop_assert!(relative_error(series, &sum) <= allowed);
            let product = exact_a * exact_b / sum;
            let parallel = part(a).in_parallel_with(part(b)).impedance().unwrap();
            prop_assert!(relative_error(parallel, &product) <= allowed);
            Ok(())
        },
    );
}

#[test]
fn admittance_is_one_over_impedance() {
    for_all(&impedance_ohm(), |z| {
        let y = part(z).admittance().unwrap();
        close("Y·Z", y * z, Complex64::ONE, 8.0 * EPSILON)?;
        let back = Immittance::from_admittance(y).unwrap().impedance().unwrap();
        close("1/Y", back, z, 8.0 * EPSILON * z.norm())
    });
}

/// Rp = Rs(1 + Q²), Xp = Xs(1 + 1/Q²), D = 1/Q; L = X/ω and C = −1/(ωX) in each circuit.
#[test]
fn series_and_parallel_equivalents_are_one_device() {
    let z = (
        log_uniform((1e-3, 1e6)),
        log_uniform((1e-3, 1e6)),
        any::<bool>(),
    )
        .prop_map(|(r, x, coil)| Complex64::new(r, if coil { x } else { -x }));
    for_all(&(z, log_uniform((1.0, 1e11))), |(z, freq_hz)| {
        let same = |what: &str, value: f64, truth: f64| -> TestCaseResult {
            prop_assert!(
                (value / truth - 1.0).abs() <= 16.0 * EPSILON,
                "{what}: {value} for {truth}"
            );
            Ok(())
        };
        let found = Equivalents::new(part(z), freq_hz).unwrap();
        let q = z.im.abs() / z.re;
        let omega = std::f64::consts::TAU * freq_hz;
        let parallel = found.parallel().unwrap();
        let (rp, xp) = (parallel.r_ohm.unwrap(), parallel.x_ohm.unwrap());
        same("Q", found.q().unwrap(), q)?;
        same("D", found.dissipation().unwrap(), 1.0 / q)?;
        same("Rp", rp, z.re * (1.0 + q * q))?;
        same("Xp", xp, z.im * (1.0 + 1.0 / (q * q)))?;
        let (ls, cs) = (found.series_inductance_h(), found.series_capacitance_f());
        let (lp, cp) = (
            found.parallel_inductance_h(),
            found.parallel_capacitance_f(),
        );
        if z.im > 0.0 {
            same("Ls", ls.unwrap(), z.im / omega)?;
            same("Lp", lp.unwrap(), xp / omega)?;
            prop_assert!(cs.is_none() && cp.is_none());
        } else {
            same("Cs", cs.unwrap(), -1.0 / (omega * z.im))?;
            same("Cp", cp.unwrap(), -1.0 / (omega * xp))?;
            prop_assert!(ls.is_none() && lp.is_none());
        }
        Ok(())
    });
}
