//! Device models and what is derived from them, against handbook values.
//!
//! The handbook formulas of resonance, apparent values and conversions are common to every
//! handbook of radio; their values here were computed independently of this project (numpy).
//! Crystal: the quantities of IEC 60444-1 and -5, formulas from memory, values recomputed.

use jigwise_physics::{
    Capacitor, Complex64, Covariance, Crystal, Equivalents, Fixture, Immittance, ImpedanceSweep,
    Inductor, LineEnd, Network, Part, Quantity, ReferenceImpedance, Resistor, Stub,
};
use jigwise_tests::expected::near;
use jigwise_tests::parts::crystal;

fn capacitor(farad: f64, esr: f64, esl: f64) -> Capacitor {
    Capacitor {
        capacitance_f: farad,
        esr_ohm: esr,
        esl_h: esl,
        leakage_ohm: None,
    }
}

fn coil(henry: f64, ohm: f64, farad: f64) -> Inductor {
    Inductor {
        inductance_h: henry,
        series_resistance_ohm: ohm,
        parallel_capacitance_f: farad,
        skin: None,
    }
}

fn ohms(part: Part, hz: f64) -> Complex64 {
    part.immittance(hz).unwrap().impedance().unwrap()
}

/// 1/(2π√(LC)), last digit of the table.
#[test]
fn self_resonances_of_the_handbook() {
    let hz = |part: Inductor| part.self_resonance_hz().unwrap();
    near("10 µH, 2 pF", hz(coil(10e-6, 1.0, 2e-12)), 35.588e6, 500.0);
    near(
        "100 nH, 0.2 pF",
        hz(coil(100e-9, 0.1, 0.2e-12)),
        1.12540e9,
        5e3,
    );
    let hz = |part: Capacitor| part.self_resonance_hz().unwrap();
    near(
        "1 nH, 100 nF",
        hz(capacitor(100e-9, 0.05, 1e-9)),
        15.9155e6,
        50.0,
    );
    near(
        "1 nH, 1 nF",
        hz(capacitor(1e-9, 0.05, 1e-9)),
        159.155e6,
        500.0,
    );
    assert_eq!(capacitor(1e-9, 0.1, 0.0).self_resonance_hz(), None);
    // The sign of the reactance changes there.
    let part = capacitor(100e-9, 0.05, 1e-9);
    let at = part.self_resonance_hz().unwrap();
    assert!(
        ohms(part.into(), at * 0.999_999).im < 0.0 && ohms(part.into(), at * 1.000_001).im > 0.0
    );
}

#[test]
fn apparent_values_rise_to_a_pole_and_change_sign() {
    let part = Part::from(capacitor(100e-9, 0.05, 1e-9));
    let apparent = |hz: f64| -1.0 / (std::f64::consts::TAU * hz * ohms(part, hz).im);
    near("nF at 1 MHz", apparent(1e6) * 1e9, 100.39635, 5e-6);

    let part = Part::from(coil(10e-6, 1.0, 2e-12));
    let apparent = |hz: f64| ohms(part, hz).im / (std::f64::consts::TAU * hz);
    near("µH at 10 MHz", apparent(10e6) * 1e6, 10.85725, 5e-6);
    near("µH at 30 MHz", apparent(30e6) * 1e6, 34.5555, 5e-5);
    near("µH at 50 MHz", apparent(50e6) * 1e6, -10.2678, 5e-5);
    // Which no equivalent prints as an inductance.
    let above = Equivalents::new(part.immittance(50e6).unwrap(), 50e6).unwrap();
    assert_eq!(above.series_inductance_h(), None);
    assert!(above.series_capacitance_f().unwrap() > 0.0);

    // 1/(1 − (f/SRF)²): 1 % high at 0.0995 SRF, 10 % at 0.302 SRF.
    let lossless = capacitor(100e-9, 0.0, 1e-9);
    for (share, high) in [(0.0995, 1.01), (0.302, 1.10)] {
        let hz = share * lossless.self_resonance_hz().unwrap();
        let x = ohms(lossless.into(), hz).im;
        near(
            "C high by",
            -1e7 / (std::f64::consts::TAU * hz * x),
            high,
            6e-4,
        );
    }
}

#[test]
fn a_resistor_at_one_gigahertz() {
    let part = Resistor {
        resistance_ohm: 1e3,
        parallel_capacitance_f: 0.05e-12,
        series_inductance_h: 1e-9,
    };
    let z = ohms(part.into(), 1e9);
    near("R", z.re, 910.170, 5e-4);
    near("X", z.im, -279.655, 5e-4);
    // Compensated near √(L/C) = 141 Ω: less reactance there than at half and twice the value.
    let x = |ohm: f64| {
        let part = Resistor {
            resistance_ohm: ohm,
            ..part
        };
        ohms(part.into(), 100e6).im
    };
    let best = part.compensated_ohm().unwrap();
    near("√(L/C)", best, 141.0, 0.5);
    assert!(x(best).abs() < 1e-2 * x(best / 2.0).abs().min(x(best * 2.0).abs()));
    assert!(x(best / 2.0) > 0.0 && x(best * 2.0) < 0.0);
}

#[test]
fn series_and_parallel_values_of_a_reading() {
    let at = |re, im| {
        let part = Immittance::from_impedance(Complex64::new(re, im)).unwrap();
        Equivalents::new(part, 1e6).unwrap()
    };
    let c = at(3.0, -40.0);
    near(
        "Cs",
        c.series_capacitance_f().unwrap() * 1e9,
        3.978874,
        5e-7,
    );
    near("ESR", c.series().unwrap().r_ohm, 3.0, 0.0);
    near("D", c.dissipation().unwrap(), 0.075, 1e-15);
    near("Q", c.q().unwrap(), 13.33333, 5e-6);
    near("Rp", c.parallel().unwrap().r_ohm.unwrap(), 536.3333, 5e-5);
    near(
        "Cp",
        c.parallel_capacitance_f().unwrap() * 1e9,
        3.956618,
        5e-7,
    );
    let l = at(2.0, 50.0);
    near("Ls", l.series_inductance_h().unwrap() * 1e6, 7.957747, 5e-7);
    near("Q", l.q().unwrap(), 25.0, 1e-12);
    near("Rp", l.parallel().unwrap().r_ohm.unwrap(), 1252.0, 1e-9);
    near(
        "Lp",
        l.parallel_inductance_h().unwrap() * 1e6,
        7.970480,
        5e-7,
    );
}

/// The same numbers out of a sweep of one point, with their uncertainty: an isotropic u gives
/// u(R)/R = √(1 + Q²)·u/|Z|.
#[test]
fn losses_are_worse_known_by_q() {
    let z = [Complex64::new(3.0, -40.0)];
    let u = 0.02;
    let random = [Covariance::circular(u * u)];
    let sweep = ImpedanceSweep::new(&[1e6], &z, &random, &[]).unwrap();
    let found = sweep.point_values(1e6).unwrap();
    let value = |quantity| found.value(quantity).unwrap();
    near(
        "Cs",
        value(Quantity::SeriesCapacitance).value * 1e9,
        3.978874,
        5e-7,
    );
    near(
        "Cp",
        value(Quantity::ParallelCapacitance).value * 1e9,
        3.956618,
        5e-7,
    );
    near(
        "Rp",
        value(Quantity::ParallelResistance).value,
        536.3333,
        5e-5,
    );
    let esr = value(Quantity::Esr);
    let q = value(Quantity::Q);
    near(
        "u(R)/R",
        esr.u / esr.value,
        (1.0 + q.value * q.value).sqrt() * u / z[0].norm(),
        1e-15,
    );
    // Moved by differences of the equivalents themselves, and the correlation is the sign's.
    let moved = |quantity: Quantity, dr: f64, dx: f64| {
        let z = [z[0] + Complex64::new(dr, dx)];
        let sweep = ImpedanceSweep::new(&[1e6], &z, &random, &[]).unwrap();
        sweep
            .point_values(1e6)
            .unwrap()
            .value(quantity)
            .unwrap()
            .value
    };
    let slopes = |quantity| {
        let h = 1e-5;
        [(h, 0.0), (0.0, h)]
            .map(|(r, x)| (moved(quantity, r, x) - moved(quantity, -r, -x)) / (2.0 * h))
    };
    let all = [
        Quantity::SeriesCapacitance,
        Quantity::ParallelCapacitance,
        Quantity::ParallelResistance,
        Quantity::Esr,
        Quantity::Q,
        Quantity::Dissipation,
    ];
    for a in all {
        for b in all {
            let ([ar, ax], [br, bx]) = (slopes(a), slopes(b));
            let expected = u * u * (ar * br + ax * bx);
            let found = found.covariance(a, b).unwrap();
            let size = value(a).u * value(b).u;
            near("covariance", found / size, expected / size, 1e-6);
        }
    }
}

/// The offset in a ≤ x ≤ b where |Z| is least or greatest, by golden section.
fn extreme(from: f64, to: f64, sign: f64) -> (f64, f64) {
    let size = |offset| {
        let part = crystal().immittance_at_offset(offset).unwrap();
        part.impedance().unwrap().norm()
    };
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut a, mut b) = (from, to);
    for _ in 0..80 {
        let (c, d) = (b - golden * (b - a), a + golden * (b - a));
        if sign * size(c) < sign * size(d) {
            b = d;
        } else {
            a = c;
        }
    }
    let at = 0.5 * (a + b);
    (at, size(at))
}

#[test]
fn the_crystal_of_the_oracle() {
    let part = crystal();
    near(
        "L1 / mH",
        part.motional_inductance_h() * 1e3,
        12.665148,
        5e-7,
    );
    near("Q", part.q(), 79_577.47, 5e-3);
    near("r", part.capacitance_ratio(), 250.0, 1e-10);
    near("M", part.figure_of_merit(), 318.310, 5e-4);
    near("fp − fs", part.parallel_offset_hz(), 19_980.04, 5e-3);

    let zero_phase = part.phase_frequencies().unwrap();
    near("fr − fs", zero_phase.resonance_offset_hz, 0.19739, 5e-6);
    let r_over_2q2 = 10e6 * part.capacitance_ratio() / (2.0 * part.q().powi(2));
    near("fs·r/(2Q²)", r_over_2q2, 0.19739, 5e-6);
    let fa = zero_phase.antiresonance_offset_hz - part.parallel_offset_hz();
    near("fa − fp", fa, -0.1978, 5e-5);
    near(
        "Z(fa) / MΩ",
        zero_phase.antiresonance_ohm * 1e-6,
        1.009165,
        5e-7,
    );
    for offset in [
        zero_phase.resonance_offset_hz,
        zero_phase.antiresonance_offset_hz,
    ] {
        let z = part
            .immittance_at_offset(offset)
            .unwrap()
            .impedance()
            .unwrap();
        assert!(z.im.abs() < 1e-5 * z.re, "{z}");
    }

    let (at, least) = extreme(-20.0, 20.0, 1.0);
    near("|Z| least", least, 9.999901, 5e-7);
    near("at", at, -0.19739, 1e-5);
    let (at, _) = extreme(19_900.0, 20_100.0, -1.0);
    near(
        "|Z| greatest at fp +",
        at - part.parallel_offset_hz(),
        0.1970,
        5e-5,
    );

    // By frequency as by offset.
    let by_frequency = ohms(part.into(), 10e6 + 100.0);
    let by_offset = part
        .immittance_at_offset(100.0)
        .unwrap()
        .impedance()
        .unwrap();
    assert!((by_frequency - by_offset).norm() < 1e-9 * by_offset.norm());
    // M ≤ 2: no phase of zero anywhere.
    let weak = Crystal {
        motional_resistance_ohm: 2_000.0,
        ..part
    };
    assert!(weak.figure_of_merit() < 2.0 && weak.phase_frequencies().is_none());
}

#[test]
fn a_crystal_on_its_load() {
    let part = crystal();
    for (load_pf, exact, formula, ohm) in [
        (10.0, 6664.742, 6664.446, 22.5005),
        (20.0, 3999.447, 3999.200, 15.6252),
        (32.0, 2702.566, 2702.338, 13.3693),
    ] {
        let load = load_pf * 1e-12;
        let c1_over = part.motional_capacitance_f / (part.parallel_capacitance_f + load);
        near(
            "by the formula",
            10e6 * ((1.0 + c1_over).sqrt() - 1.0),
            formula,
            5e-4,
        );
        // At fL the crystal is a coil that the load resonates with, and RL is what is left.
        let z = part
            .immittance_at_offset(exact)
            .unwrap()
            .impedance()
            .unwrap();
        let load_ohm = 1.0 / (std::f64::consts::TAU * (10e6 + exact) * load);
        near("XL over that of the load", z.im / load_ohm, 1.0, 1e-6);
        near("RL", z.re, ohm, 5e-4);
    }
}

/// The π-network is a series-through fixture of 12.5 Ω.
#[test]
fn the_pi_network_of_iec_60444() {
    let ohm = |r: f64| Immittance::from_impedance(Complex64::new(r, 0.0)).unwrap();
    // 159, 66.2 and 14.2 Ω on each side \[M\].
    let side = Network::shunt(ohm(159.0))
        .then(&Network::series(ohm(66.2)))
        .then(&Network::shunt(ohm(14.2)));
    let seen = side
        .flipped()
        .terminated(ohm(50.0))
        .unwrap()
        .impedance()
        .unwrap();
    near("seen from the crystal", seen.re, 12.4975, 5e-5);
    let input = side.terminated(ohm(12.5)).unwrap().impedance().unwrap();
    near("at the port", input.re, 49.959, 5e-4);

    let z0 = ReferenceImpedance::new(12.5).unwrap();
    for (r, t, db) in [
        (10.0, 0.714286, -2.9226),
        (25.0, 0.5, -6.0206),
        (100.0, 0.2, -13.9794),
    ] {
        let reading = Fixture::SeriesThrough.reading(ohm(r), z0).value().unwrap();
        near("T", reading.re, t, 5e-7);
        near("dB", 20.0 * reading.norm().log10(), db, 5e-5);
        near("Rr", 25.0 * (1.0 / reading.re - 1.0), r, 1e-12);
    }

    let part = crystal();
    near("width, π-network", part.width_hz(25.0), 439.82, 5e-3);
    near("width, 50 Ω", part.width_hz(100.0), 1382.30, 5e-3);
    // C1 from the two frequencies where S21 of the motional arm is turned by ±45°, found in the
    // response itself (C0 taken away, as the method wants).
    let bare = Crystal {
        parallel_capacitance_f: 1e-21,
        ..part
    };
    let turned = |offset: f64| {
        let device = bare.immittance_at_offset(offset).unwrap();
        Fixture::SeriesThrough
            .reading(device, z0)
            .value()
            .unwrap()
            .arg()
            .to_degrees()
    };
    let find = |wanted: f64| {
        let (mut low, mut high) = (-1e3, 1e3);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if turned(middle) > wanted {
                low = middle
            } else {
                high = middle
            }
        }
        low
    };
    let width = find(-45.0) - find(45.0);
    near("±45° width", width, 439.82, 5e-3);

    // Drive in R, 50 Ω series-through: 4·Z0·R·Pav/(2·Z0 + R)².
    let share = Fixture::SeriesThrough.accepted_power(ohm(10.0), ReferenceImpedance::FIFTY_OHM);
    near("µW at 0 dBm", share * 1e3, 165.29, 5e-3);
    near("µW at −10 dBm", share * 1e2, 16.53, 5e-3);
}

/// A stub is what the line's chain matrix makes of an open or a short, and a quarter wave turns
/// one into the other.
#[test]
fn a_stub_turns_an_open_into_a_short() {
    let stub = |end| Stub {
        zc_ohm: 75.0,
        delay_s: 5e-9,
        loss_np: 0.0,
        loss_at_hz: 1e6,
        end,
    };
    let open = ohms(stub(LineEnd::Open).into(), 20e6);
    // −j·Zc·cot(ωτ), +j·Zc·tan(ωτ), ωτ = 36°: tan 0.726543.
    near("X open", open.im, -75.0 / 0.7265425, 1e-4);
    let short = ohms(stub(LineEnd::Short).into(), 20e6);
    near("X short", short.im, 75.0 * 0.7265425, 1e-4);
    // Zc = √(Zopen·Zshort).
    near("Zc", (open * short).sqrt().re, 75.0, 1e-10);
    assert!(ohms(stub(LineEnd::Open).into(), 50e6).norm() < 1e-10);
}

#[test]
fn values_out_of_range_are_errors() {
    let bad = [
        (
            Part::from(capacitor(0.0, 0.0, 0.0)),
            "capacitance in farads is 0",
        ),
        (
            Part::from(capacitor(1e-9, -1.0, 0.0)),
            "ESR in ohms is -1: give zero or more",
        ),
        (
            Part::from(coil(f64::NAN, 0.0, 0.0)),
            "inductance in henries is NaN",
        ),
    ];
    for (part, text) in bad {
        let why = part.immittance(1e6).unwrap_err().to_string();
        assert!(why.starts_with(text), "{why}");
    }
    let part = Part::from(capacitor(1e-9, 0.0, 0.0));
    assert!(part.immittance(0.0).unwrap_err().is_not_positive());
}
