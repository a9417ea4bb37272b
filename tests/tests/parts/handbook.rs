//! Figures printed in handbooks: standing waves and losses, terminations, preferred parts
//! with their parasitics. Every table is recomputed by the equation given beside it; the
//! tolerance is one in the last digit printed.

use std::f64::consts::TAU;

use jigwise_physics::{
    Equivalents, Fixture, Immittance, ReferenceImpedance, Reflection, magnitude_from_return_loss,
    magnitude_from_swr, mismatch_loss_db, return_loss_db, swr,
};
use jigwise_tests::expected::near;
use jigwise_tests::parts::{coil, part};
use num_complex::Complex64;

fn z(r_ohm: f64, x_ohm: f64) -> Complex64 {
    Complex64::new(r_ohm, x_ohm)
}

fn reflection(ohm: Complex64, z0_ohm: f64) -> Reflection {
    Reflection::of(part(ohm), ReferenceImpedance::new(z0_ohm).unwrap())
}

fn ohms(device: Immittance) -> Complex64 {
    device.impedance().expect("no open here")
}

/// |Γ| = (s − 1)/(s + 1), return loss −20 log|Γ|, mismatch loss −10 log(1 − |Γ|²): equations
/// of any radio handbook; the values recomputed, since printed tables are found with slips
/// (one gives 10.2 dB at 1.8 : 1, which is 10.881 dB).
#[test]
fn standing_wave_table() {
    let rows = [
        (1.01, 0.004975, 46.0639, 0.00011),
        (1.05, 0.024390, 32.2557, 0.00258),
        (1.10, 0.047619, 26.4444, 0.00986),
        (1.20, 0.090909, 20.8279, 0.03604),
        (1.50, 0.200000, 13.9794, 0.17729),
        (2.00, 0.333333, 9.5424, 0.51153),
        (3.00, 0.500000, 6.0206, 1.24939),
        (5.00, 0.666667, 3.5218, 2.55273),
        (10.0, 0.818182, 1.7430, 4.80725),
    ];
    for (standing, magnitude, loss_db, mismatch_db) in rows {
        let what = format!("SWR {standing}");
        let found = magnitude_from_swr(standing).unwrap();
        near(&what, found, magnitude, 1e-6);
        near(&what, return_loss_db(found).unwrap(), loss_db, 1e-4);
        near(&what, mismatch_loss_db(found).unwrap(), mismatch_db, 1e-5);
        for ohm in [50.0 * standing, 50.0 / standing] {
            let seen = reflection(z(ohm, 0.0), 50.0);
            near(&what, seen.coefficient().unwrap().norm(), magnitude, 1e-6);
            near(&what, seen.swr().unwrap(), standing, 1e-9);
            near(&what, seen.return_loss_db().unwrap(), loss_db, 1e-4);
            near(&what, seen.mismatch_loss_db().unwrap(), mismatch_db, 1e-5);
        }
    }
    let slip = return_loss_db(magnitude_from_swr(1.8).unwrap()).unwrap();
    near("SWR 1.8", slip, 10.881, 1e-3);
}

/// The same equations from the return loss; the two resistors that show it on 50 Ω are
/// 50·(1 − |Γ|)/(1 + |Γ|) and 50·(1 + |Γ|)/(1 − |Γ|).
#[test]
fn return_loss_table() {
    let rows = [
        (1.0, 17.39096, 6.868253, 2.8751, 869.5482),
        (3.0, 5.84804, 3.020624, 8.5499, 292.4022),
        (6.0, 3.00952, 1.256276, 16.6139, 150.4760),
        (10.0, 1.92495, 0.457575, 25.9747, 96.2475),
        (14.0, 1.49852, 0.176431, 33.3662, 74.9260),
        (20.0, 1.22222, 0.043648, 40.9091, 61.1111),
        (30.0, 1.06531, 0.004345, 46.9347, 53.2655),
        (40.0, 1.02020, 0.000434, 49.0099, 51.0101),
        (60.0, 1.00200, 0.000004, 49.9001, 50.1001),
    ];
    let z0 = ReferenceImpedance::FIFTY_OHM;
    for (loss_db, standing, mismatch_db, low_ohm, high_ohm) in rows {
        let what = format!("return loss {loss_db} dB");
        let magnitude = magnitude_from_return_loss(loss_db).unwrap();
        near(&what, swr(magnitude).unwrap(), standing, 1e-5);
        near(
            &what,
            mismatch_loss_db(magnitude).unwrap(),
            mismatch_db,
            1e-6,
        );
        for (gamma, ohm) in [(-magnitude, low_ohm), (magnitude, high_ohm)] {
            let device = Fixture::Reflect.immittance(gamma.into(), z0).unwrap();
            near(&what, ohms(device).re, ohm, 1e-4);
            let seen = Reflection::of(device, z0);
            near(&what, seen.return_loss_db().unwrap(), loss_db, 1e-9);
            near(&what, seen.swr().unwrap(), standing, 1e-5);
            near(&what, seen.mismatch_loss_db().unwrap(), mismatch_db, 1e-6);
        }
    }
}

/// Pozar, Microwave Engineering, 4th ed., ch. 2: loads at the end of a line, before the line
/// turns them [M: pages and numbers recalled, values recomputed].
#[test]
fn terminations_at_the_load() {
    let rows = [
        (z(130.0, 90.0), 50.0, 0.598352, 21.801, 3.97948, 4.46087),
        (z(40.0, 70.0), 100.0, 0.589015, 104.036, 3.86636, 4.59747),
    ];
    for (load, z0_ohm, magnitude, angle_deg, standing, loss_db) in rows {
        let what = format!("{load} Ω on {z0_ohm} Ω");
        let seen = reflection(load, z0_ohm);
        let (found, angle_rad) = seen.coefficient().unwrap().to_polar();
        near(&what, found, magnitude, 1e-6);
        near(&what, angle_rad.to_degrees(), angle_deg, 1e-3);
        near(&what, seen.swr().unwrap(), standing, 1e-5);
        near(&what, seen.return_loss_db().unwrap(), loss_db, 1e-5);
    }
}

/// Pozar, ex. 2.4 [M]: SWR 1.5, a minimum 1.48 cm from the short's minimum at a wavelength
/// of 4 cm, which is Γ = 0.2 at 86.4°.
#[test]
fn slotted_line_load() {
    let magnitude = magnitude_from_swr(1.5).unwrap();
    near("|Γ|", magnitude, 0.2, 1e-12);
    let gamma = Complex64::from_polar(magnitude, 86.4f64.to_radians());
    let load = Fixture::Reflect
        .immittance(gamma, ReferenceImpedance::FIFTY_OHM)
        .unwrap();
    near("R", ohms(load).re, 47.29606, 1e-5);
    near("X", ohms(load).im, 19.66780, 1e-5);
}

/// Pozar, ex. 4.4 [M]: the 3 dB T of 8.56, 141.8 and 8.56 Ω leaves 4.4e-5 of a wave; 20 log
/// of the exact half-power T, 50(√2 − 1) and 50·2√2 Ω, leaves nothing.
#[test]
fn attenuator_into_its_load() {
    let reflected = |arm_ohm: f64, stem_ohm: f64| {
        let arm = part(arm_ohm.into());
        let behind = arm.in_series_with(part(50.0.into()));
        let pad = arm.in_series_with(part(stem_ohm.into()).in_parallel_with(behind));
        let seen = Reflection::of(pad, ReferenceImpedance::FIFTY_OHM);
        seen.coefficient().unwrap().re
    };
    near("8.56 Ω T", reflected(8.56, 141.8), 4.4e-5, 1e-6);
    near("half-power T", reflected(8.578644, 141.421356), 0.0, 1e-8);
    near("3.000 dB T", reflected(8.549868, 141.926156), 0.0, 1e-8);
}

/// Pozar, ex. 4.5 [M]: S11 0.15, S12·S21 = 0.85², S22 0.2. Return loss with port 2 matched,
/// and shorted, where Γ = S11 − S12·S21/(1 + S22).
#[test]
fn two_port_return_losses() {
    near("matched", return_loss_db(0.15).unwrap(), 16.478, 1e-3);
    let shorted: f64 = 0.15 - 0.85 * 0.85 / 1.2;
    near("shorted Γ", shorted, -0.4520833, 1e-7);
    near(
        "shorted",
        return_loss_db(shorted.abs()).unwrap(),
        6.8956,
        1e-4,
    );
}

/// Rp = Rs(1 + Q²), Xp = Xs(1 + 1/Q²), C = −1/(ωX), L = X/ω: any handbook; recomputed.
#[test]
fn series_to_parallel() {
    let lossy = Equivalents::new(part(z(3.0, -40.0)), 1e6).unwrap();
    near(
        "Cs",
        lossy.series_capacitance_f().unwrap(),
        3.978874e-9,
        1e-15,
    );
    near("ESR", lossy.series().unwrap().r_ohm, 3.0, 1e-12);
    near("D", lossy.dissipation().unwrap(), 0.075, 1e-12);
    near("Q", lossy.q().unwrap(), 13.33333, 1e-5);
    let parallel = lossy.parallel().unwrap();
    near("Rp", parallel.r_ohm.unwrap(), 536.3333, 1e-4);
    near(
        "Cp",
        lossy.parallel_capacitance_f().unwrap(),
        3.956618e-9,
        1e-15,
    );

    let coil = Equivalents::new(part(z(2.0, 50.0)), 1e6).unwrap();
    near(
        "Ls",
        coil.series_inductance_h().unwrap(),
        7.957747e-6,
        1e-12,
    );
    near("Q", coil.q().unwrap(), 25.0, 1e-12);
    near("Rp", coil.parallel().unwrap().r_ohm.unwrap(), 1252.0, 1e-9);
    near(
        "Lp",
        coil.parallel_inductance_h().unwrap(),
        7.970480e-6,
        1e-12,
    );
}

/// f = 1/(2π√(LC)): there the series circuit is a short and the parallel one an open. Values
/// recomputed; at the frequency printed the two reactances are equal to its digits.
#[test]
fn self_resonance() {
    let rows = [
        (10e-6, 2e-12, 35.588e6, 1e3),
        (1e-9, 100e-9, 15.9155e6, 1e2),
        (1e-9, 1e-9, 159.155e6, 1e3),
        (100e-9, 0.2e-12, 1.12540e9, 1e4),
    ];
    for (henry, farad, printed_hz, last_digit_hz) in rows {
        let reactance_ohm = |freq_hz: f64| {
            let coil = coil(henry, freq_hz);
            let capacitor = Immittance::ideal_capacitor(farad, freq_hz).unwrap();
            (
                ohms(coil.in_series_with(capacitor)).im,
                coil.in_parallel_with(capacitor).admittance().unwrap().im,
            )
        };
        let (below, above) = (
            reactance_ohm(printed_hz - last_digit_hz),
            reactance_ohm(printed_hz + last_digit_hz),
        );
        assert!(below.0 < 0.0 && above.0 > 0.0, "series at {printed_hz} Hz");
        assert!(
            below.1 < 0.0 && above.1 > 0.0,
            "parallel at {printed_hz} Hz"
        );
    }
}

/// What a meter shows of a capacitor with 1 nH in its leads, C = −1/(ωX): more than it has,
/// the nearer to resonance. Recomputed.
#[test]
fn apparent_capacitance() {
    let at = |freq_hz: f64| {
        let lead = coil(1e-9, freq_hz);
        let body = Immittance::ideal_capacitor(100e-9, freq_hz).unwrap();
        let seen = part(z(0.05, 0.0)).in_series_with(lead).in_series_with(body);
        Equivalents::new(seen, freq_hz).unwrap()
    };
    let shown = at(1e6);
    near(
        "C",
        shown.series_capacitance_f().unwrap(),
        100.39635e-9,
        1e-14,
    );
    near("ESR", shown.series().unwrap().r_ohm, 0.05, 1e-12);
    let past = at(20e6);
    assert_eq!(past.series_capacitance_f(), None, "a coil past resonance");
    assert!(past.series_inductance_h().is_some());
}

/// What a meter shows of 10 µH and 1 Ω wound with 2 pF across, L = X/ω. Recomputed.
#[test]
fn apparent_inductance() {
    let rows = [
        (10e6, 10.85725e-6, 1e-11),
        (30e6, 34.5555e-6, 1e-10),
        (50e6, -10.2678e-6, 1e-10),
    ];
    for (freq_hz, printed_h, last_digit_h) in rows {
        let coil = coil(10e-6, freq_hz);
        let winding = Immittance::ideal_capacitor(2e-12, freq_hz).unwrap();
        let seen = part(z(1.0, 0.0))
            .in_series_with(coil)
            .in_parallel_with(winding);
        let shown = Equivalents::new(seen, freq_hz).unwrap();
        let apparent_h = shown.series().unwrap().x_ohm / (TAU * freq_hz);
        near("L", apparent_h, printed_h, last_digit_h);
        let named = shown.series_inductance_h();
        assert_eq!(named.is_some(), printed_h > 0.0, "{freq_hz} Hz: {named:?}");
    }
}

/// A film resistor with 0.05 pF across and 1 nH in its leads: 1 kΩ at 1 GHz, and near
/// √(L/C) = 141 Ω the two compensate. Recomputed.
#[test]
fn resistor_with_parasitics() {
    let at_1ghz = |ohm: f64| {
        let body = Immittance::ideal_capacitor(0.05e-12, 1e9).unwrap();
        let lead = coil(1e-9, 1e9);
        ohms(part(ohm.into()).in_parallel_with(body).in_series_with(lead))
    };
    near("R", at_1ghz(1e3).re, 910.170, 1e-3);
    near("X", at_1ghz(1e3).im, -279.655, 1e-3);
    let tilt = |ohm: f64| at_1ghz(ohm).im / ohm;
    assert!(tilt(141.0).abs() < 1e-3, "X/R {}", tilt(141.0));
    assert!(tilt(47.0) > 0.1 && tilt(470.0) < -0.1);
}

/// One pF and one nH at 1 GHz, and 0.1 pF at 100 MHz: rules of thumb of the trade, recomputed.
#[test]
fn reactances_to_know_by_heart() {
    let capacitor = |farad, freq_hz| ohms(Immittance::ideal_capacitor(farad, freq_hz).unwrap()).im;
    near("1 pF", capacitor(1e-12, 1e9), -159.2, 0.1);
    near("0.1 pF", capacitor(0.1e-12, 100e6), -15.9e3, 100.0);
    let coil = coil(1e-9, 1e9);
    near("1 nH, mΩ", 1e3 * ohms(coil).im, 6283.0, 1.0);
}
