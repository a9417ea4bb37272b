//! Laws of devices and maps by themselves: parts in series and in parallel, equivalents, maps
//! composed. ε is the spacing of f64 at 1, one operation is off by at most ε/2 (IEEE 754).

use jigwise_physics::{Equivalents, Immittance, Mobius, Ratio};
use jigwise_tests::exact::{close, exact, relative_error, rounded};
use jigwise_tests::parts::{
    device, fixture, impedance_ohm, log_uniform, part, passive_impedance_ohm, reference,
};
use jigwise_tests::seed::for_all;
use num_complex::Complex64;
use num_traits::Zero;
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

const EPSILON: f64 = f64::EPSILON;

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
