//! What both ports see of one part, and the power it takes or gives. ε is the spacing of f64
//! at 1, one operation is off by at most ε/2 (IEEE 754).

use jigwise_physics::Fixture;
use jigwise_tests::exact::close;
use jigwise_tests::parts::{part, passive_impedance_ohm, reference, reference_and_impedance_ohm};
use jigwise_tests::seed::for_all;
use num_complex::Complex64;
use proptest::prelude::*;

const EPSILON: f64 = f64::EPSILON;

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
