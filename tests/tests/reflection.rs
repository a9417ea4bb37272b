//! Γ and the figures quoted for it agree with each other and with what a line does.

use jigwise_physics::{
    Reflection, magnitude_from_return_loss, magnitude_from_swr, mismatch_loss_db, return_loss_db,
    swr,
};
use jigwise_tests::exact::{exact, fraction, relative_error};
use jigwise_tests::parts::{log_uniform, part, reference, reference_and_impedance_ohm};
use jigwise_tests::seed::for_all;
use num_complex::{Complex, Complex64};
use num_traits::Zero;
use proptest::prelude::*;

const EPSILON: f64 = f64::EPSILON;

/// 1 − |Γ|² in whole-number fractions: what is left of a near-total reflection keeps its
/// digits.
#[test]
fn accepted_power_is_what_is_not_reflected() {
    for_all(&reference_and_impedance_ohm(), |(z0, z)| {
        let reference = Complex::new(fraction(z0.ohm()), Zero::zero());
        let sum = exact(z) + reference.clone();
        let gamma = (exact(z) - reference) / sum;
        let left = fraction(1.0) - gamma.norm_sqr();
        let ours = Reflection::of(part(z), z0).accepted_power().unwrap();
        if left.is_zero() {
            prop_assert_eq!(ours, 0.0);
            return Ok(());
        }
        let cancelled = (z + z0.ohm()).norm() / (z.norm() + z0.ohm());
        let miss = relative_error(ours.into(), &Complex::new(left, Zero::zero()));
        prop_assert!(miss <= 8.0 * EPSILON / cancelled, "off by {miss:e}");
        Ok(())
    });
}

/// For a resistor SWR is R/Z0 or Z0/R, whichever is above 1, to any mismatch.
#[test]
fn swr_of_a_resistor_is_its_ratio_to_the_reference() {
    for_all(&(reference(), log_uniform((1e-6, 1e9))), |(z0, ohm)| {
        let ratio = f64::max(ohm / z0.ohm(), z0.ohm() / ohm);
        let found = Reflection::of(part(ohm.into()), z0).swr().unwrap();
        prop_assert!(
            (found / ratio - 1.0).abs() <= 16.0 * EPSILON,
            "{found} for {ratio}"
        );
        Ok(())
    });
}

/// Digits are lost where |Γ| alone, rounded, must tell 1 − |Γ|: with |Γ| to 0.999 and below
/// a thousand roundings.
#[test]
fn the_figures_of_one_reflection_agree() {
    let z = (log_uniform((1e-3, 1e3)), -1.57..1.57).prop_map(|(r, a)| Complex64::from_polar(r, a));
    for_all(&(reference(), z), |(z0, z)| {
        let z = z * z0.ohm();
        let seen = Reflection::of(part(z), z0);
        let magnitude = seen.coefficient().unwrap().norm();
        prop_assert_eq!(seen.return_loss_db(), return_loss_db(magnitude));
        prop_assume!((1e-3..0.999).contains(&magnitude));
        let near = |what: &str, a: f64, b: f64| -> Result<(), TestCaseError> {
            prop_assert!(
                (a - b).abs() <= 1e-12 * f64::max(1.0, b.abs()),
                "{what}: {a} for {b}"
            );
            Ok(())
        };
        let (standing, loss) = (seen.swr().unwrap(), seen.return_loss_db().unwrap());
        near("SWR", standing, swr(magnitude).unwrap())?;
        near(
            "|Γ| of SWR",
            magnitude_from_swr(standing).unwrap(),
            magnitude,
        )?;
        near(
            "|Γ| of RL",
            magnitude_from_return_loss(loss).unwrap(),
            magnitude,
        )?;
        near(
            "mismatch loss",
            seen.mismatch_loss_db().unwrap(),
            mismatch_loss_db(magnitude).unwrap(),
        )?;
        near(
            "power of the losses",
            10f64.powf(-loss / 10.0) + 10f64.powf(-seen.mismatch_loss_db().unwrap() / 10.0),
            1.0,
        )
    });
}

/// A line of any length turns Γ and leaves |Γ|, so SWR at its far end is SWR at the load:
/// Z' = Z0(Z + jZ0·t)/(Z0 + jZ·t), t = tan βl (Pozar, Microwave Engineering, 4th ed.,
/// terminated lossless line [M]).
#[test]
fn a_lossless_line_keeps_the_swr() {
    let tangent = -20.0..20.0f64;
    let z = (0.05..20.0f64, -20.0..20.0f64).prop_map(|(r, x)| Complex64::new(r, x));
    for_all(&(reference(), z, tangent), |(z0, z, tangent)| {
        let turned = (z + Complex64::I * tangent) / (Complex64::ONE + Complex64::I * z * tangent);
        let swr = |z: Complex64| Reflection::of(part(z * z0.ohm()), z0).swr().unwrap();
        let (here, there) = (swr(z), swr(turned));
        prop_assert!(
            (there / here - 1.0).abs() <= 1e-11,
            "SWR {here} became {there}"
        );
        Ok(())
    });
}

#[test]
fn what_has_no_figure_has_none() {
    let z0 = jigwise_physics::ReferenceImpedance::FIFTY_OHM;
    let seen = |re: f64, im: f64| Reflection::of(part(Complex64::new(re, im)), z0);
    assert_eq!(seen(50.0, 0.0).return_loss_db(), None, "nothing comes back");
    assert_eq!(seen(50.0, 0.0).swr(), Some(1.0));
    assert_eq!(seen(50.0, 0.0).mismatch_loss_db(), Some(0.0));
    assert_eq!(seen(0.0, 80.0).swr(), None, "all comes back");
    assert_eq!(seen(0.0, 80.0).mismatch_loss_db(), None);
    assert_eq!(seen(-50.0, 0.0).coefficient(), None, "this would oscillate");
    assert_eq!(seen(-50.0, 0.0).swr(), None);
    assert_eq!(seen(-20.0, 0.0).swr(), None, "more comes back than went in");
    assert!(seen(-20.0, 0.0).accepted_power().unwrap() < 0.0);
    for bad in [f64::NAN, f64::INFINITY, 0.999, -3.0] {
        assert!(magnitude_from_swr(bad).is_err(), "SWR {bad}");
    }
    for bad in [f64::NAN, f64::NEG_INFINITY] {
        assert!(
            magnitude_from_return_loss(bad).is_err(),
            "return loss {bad}"
        );
    }
    for outside in [-0.1, 1.0, 1.5, f64::NAN] {
        assert_eq!(swr(outside), None, "|Γ| {outside}");
        assert_eq!(mismatch_loss_db(outside), None, "|Γ| {outside}");
    }
    assert_eq!(return_loss_db(0.0), None);
    assert_eq!(return_loss_db(f64::NAN), None);
}
