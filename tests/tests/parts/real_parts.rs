//! Device models and what is derived from them, against handbook values and against fits made
//! outside the project.
//!
//! The handbook formulas of resonance, apparent values and conversions are common to every
//! handbook of radio; their values here were computed independently of this project (numpy).
//! Crystal: the quantities of IEC 60444-1 and -5, formulas from memory, values recomputed.

use jigwise_physics::{
    Capacitor, Complex64, Covariance, Crystal, Equivalents, ExtractError, Fixture, Immittance,
    ImpedanceSweep, Inductor, LineEnd, Model, Network, Part, Quantity, ReferenceImpedance,
    Resistor, Stub, SweepErrors, motional_capacitance_f, p_value,
};
use jigwise_tests::expected::near;
use jigwise_tests::parts::crystal;
use serde_json::Value;

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
    for (load_pf, exact, formula, ohm, ppm_per_pf) in [
        (10.0, 6664.742, 6664.446, 22.5005, -44.44),
        (20.0, 3999.447, 3999.200, 15.6252, -16.00),
        (32.0, 2702.566, 2702.338, 13.3693, -7.305),
    ] {
        let load = load_pf * 1e-12;
        let offset = part.load_offset_hz(load).unwrap();
        near("ΔfL", offset, exact, 5e-4);
        let c1_over = part.motional_capacitance_f / (part.parallel_capacitance_f + load);
        near(
            "by the formula",
            10e6 * ((1.0 + c1_over).sqrt() - 1.0),
            formula,
            5e-4,
        );
        let ppm = part.trim_sensitivity_per_f(load) * 1e-12 * 1e6;
        near("TS", ppm, ppm_per_pf, 6e-3);
        // RL by the formula, and as the real part of Z at fL: parts in 10⁵ apart.
        let z = part
            .immittance_at_offset(offset)
            .unwrap()
            .impedance()
            .unwrap();
        near("RL", z.re, ohm, 5e-4);
        near(
            "RL by the formula",
            part.load_resistance_ohm(load),
            ohm,
            1e-3,
        );
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
    near(
        "C1 / fF",
        motional_capacitance_f(width, 10e6, 35.0) * 1e15,
        20.0,
        1e-3,
    );

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

const FITS: &str = include_str!("../../oracle/fits.json");

fn numbers(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

fn complexes(fit: &Value, re: &str, im: &str) -> Vec<Complex64> {
    let pairs = numbers(&fit[re]).into_iter().zip(numbers(&fit[im]));
    pairs.map(|(re, im)| Complex64::new(re, im)).collect()
}

/// scipy.stats.truncnorm: a Gaussian cut off below zero is below the bound with 95 %.
#[test]
fn bounds_of_small_values_agree_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let bounds = file["bounds"].as_array().unwrap();
    assert_eq!(bounds.len(), 10);
    for bound in bounds {
        let [value, u, expected] = ["v", "u", "bound"].map(|key| bound[key].as_f64().unwrap());
        let esr = jigwise_physics::Value {
            quantity: Quantity::Esr,
            value,
            u,
        };
        let found = esr.upper_bound();
        assert!(
            (found - expected).abs() < 1e-9 * expected.abs().max(u),
            "{value} ± {u}: {found}, scipy {expected}"
        );
        assert_eq!(esr.holds_zero(2.0), value <= 2.0 * u);
    }
}

/// scipy.optimize.brentq on X of the circuit.
#[test]
fn the_zero_of_the_reactance_agrees_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let resonances = file["resonances"].as_array().unwrap();
    assert_eq!(resonances.len(), 6);
    for resonance in resonances {
        let of = |key: &str| resonance[key].as_f64().unwrap();
        let skin = jigwise_physics::SkinLoss {
            resistance_ohm: of("skin"),
            at_hz: of("at_hz"),
        };
        let coil = Inductor {
            inductance_h: of("l"),
            series_resistance_ohm: of("r"),
            parallel_capacitance_f: of("c"),
            skin: (skin.resistance_ohm > 0.0).then_some(skin),
        };
        for (found, key) in [
            (coil.reactance_zero_hz(), "zero_hz"),
            (coil.self_resonance_hz(), "lossless_hz"),
        ] {
            let found = found.unwrap();
            assert!((found / of(key) - 1.0).abs() < 1e-11, "{coil:?}: {found}");
        }
    }
    let choked = Inductor {
        inductance_h: 10e-6,
        series_resistance_ohm: 1_100.0,
        parallel_capacitance_f: 10e-12,
        skin: None,
    };
    // R above √(L/C) = 1 kΩ: X is negative at every frequency.
    assert_eq!(choked.reactance_zero_hz(), None);
}

/// scipy.optimize.least_squares on circuits made by scikit-rf, same weights, same shift: the
/// same values within a thousandth of their uncertainty, the same covariance to 1e-4, the same
/// χ² and p. `oracle/make_fits.py` makes them.
#[test]
fn fits_agree_with_scipy() {
    use Quantity as Q;
    let file: Value = serde_json::from_str(FITS).unwrap();
    let fits = file["fits"].as_array().unwrap();
    assert_eq!(fits.len(), 6);
    for fit in fits {
        let kind = fit["kind"].as_str().unwrap();
        let (model, quantities): (_, &[Quantity]) = match kind {
            "capacitor" => (Model::Capacitor, &[Q::Capacitance, Q::Esr, Q::Esl]),
            "coil" => (
                Model::Inductor,
                &[Q::Inductance, Q::Resistance, Q::WindingCapacitance],
            ),
            "resistor" => (
                Model::Resistor,
                &[Q::Resistance, Q::WindingCapacitance, Q::Inductance],
            ),
            "choke" => (
                Model::Choke,
                &[
                    Q::LowFrequencyInductance,
                    Q::Relaxation,
                    Q::WindingCapacitance,
                    Q::Resistance,
                ],
            ),
            "crystal" => (
                Model::Crystal,
                &[
                    Q::SeriesResonance,
                    Q::MotionalResistance,
                    Q::MotionalCapacitance,
                    Q::HolderCapacitance,
                ],
            ),
            "stub" => (
                Model::Stub(LineEnd::Open),
                &[Q::CharacteristicImpedance, Q::Delay, Q::Loss],
            ),
            other => panic!("no model for {other}"),
        };
        let freq_hz = numbers(&fit["freq_hz"]);
        let z = complexes(fit, "re", "im");
        let shifts = [complexes(fit, "shift_re", "shift_im")];
        let diagonal = complexes(fit, "variance_re", "variance_im");
        let random: Vec<Covariance> = diagonal
            .iter()
            .zip(numbers(&fit["cross"]))
            .map(|(c, cross)| Covariance {
                re: c.re,
                im: c.im,
                cross,
            })
            .collect();
        let sweep = ImpedanceSweep::new(&freq_hz, &z, &random, &shifts).unwrap();
        let found = sweep
            .fit(model)
            .unwrap_or_else(|why| panic!("{kind}: {why}"));
        let (values, u) = (numbers(&fit["values"]), numbers(&fit["u"]));
        for (j, &quantity) in quantities.iter().enumerate() {
            let value = found.value(quantity).unwrap();
            near(
                &format!("{kind} {quantity:?} / u"),
                value.value / u[j],
                values[j] / u[j],
                1e-3,
            );
            near(
                &format!("{kind} u({quantity:?})"),
                value.u / u[j],
                1.0,
                1e-4,
            );
            let row = numbers(&fit["correlation"][j]);
            for (k, &other) in quantities.iter().enumerate() {
                let found = found.correlation(quantity, other).unwrap();
                near(
                    &format!("{kind} r({quantity:?}, {other:?})"),
                    found,
                    row[k],
                    1e-4,
                );
            }
        }
        let goodness = found.goodness.unwrap();
        let (chi_square, p) = (
            fit["chi_square"].as_f64().unwrap(),
            fit["p"].as_f64().unwrap(),
        );
        near(&format!("{kind} χ²"), goodness.chi_square, chi_square, 1e-4);
        near(&format!("{kind} p"), goodness.p.unwrap(), p, 1e-4);
    }
}

/// The errors of the moved fits: scatter a·|Z|·|1 + Z/Z0|, shifts b·Z and c·Z²/Z0.
#[derive(Debug)]
struct Moving {
    a: f64,
    b: f64,
    c: f64,
    z0_ohm: f64,
}

impl SweepErrors for Moving {
    fn at(&self, _: usize, z: Complex64, shifts: &mut [Complex64]) -> Option<Covariance> {
        let (scale, square) = (self.b * z, self.c * z * z / self.z0_ohm);
        let all = [scale, scale * Complex64::I, square, square * Complex64::I];
        shifts.copy_from_slice(&all);
        let sigma = self.a * z.norm() * (1.0 + z / self.z0_ohm).norm();
        Some(Covariance::circular(sigma * sigma))
    }
}

/// Scatter and shifts taken at the fitted circuit: values, u and χ² as scipy finds them with the
/// whole covariance matrix, from the same file. A rippled coil is refused; with the shifts of each
/// reading it was accepted.
#[test]
fn fits_with_errors_of_the_circuit_agree_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let entry = |name: &str| file["moving"][name].as_f64().unwrap();
    let errors = Moving {
        a: entry("a"),
        b: entry("b"),
        c: entry("c"),
        z0_ohm: entry("z0"),
    };
    let fits = file["moved_fits"].as_array().unwrap();
    assert_eq!(fits.len(), 3);
    for fit in fits {
        let kind = fit["kind"].as_str().unwrap();
        let model = match kind {
            "coil" => Model::Inductor,
            _ => Model::Capacitor,
        };
        let freq_hz = numbers(&fit["freq_hz"]);
        let z = complexes(fit, "re", "im");
        let mut shifts = vec![vec![Complex64::ZERO; z.len()]; 4];
        let mut random = Vec::new();
        for (k, &z) in z.iter().enumerate() {
            let mut own = [Complex64::ZERO; 4];
            random.extend(errors.at(k, z, &mut own));
            for (all, own) in shifts.iter_mut().zip(own) {
                all[k] = own;
            }
        }
        let sweep = ImpedanceSweep::new(&freq_hz, &z, &random, &shifts).unwrap();
        let found = sweep.with_errors(&errors).fit(model);
        let expected = fit["chi_square"].as_f64().unwrap();
        // χ² stands where it moves by less than a thousandth of √(2ν).
        let within = 1e-3 * (2.0 * (2.0 * z.len() as f64 - 3.0)).sqrt();
        if fit["ripple"].as_f64().unwrap() > 0.0 {
            let Err(ExtractError::Misfit { chi_square, .. }) = found else {
                panic!("{found:?}");
            };
            near(
                "χ² of a ripple",
                chi_square,
                expected,
                within * expected / 119.0,
            );
            continue;
        }
        let found = found.unwrap_or_else(|why| panic!("{kind}: {why}"));
        near(kind, found.goodness.unwrap().chi_square, expected, within);
        let (values, u) = (numbers(&fit["values"]), numbers(&fit["u"]));
        // The capacitance across the coil is not told.
        for (j, value) in found.values.iter().take(2).enumerate() {
            near(kind, value.value / u[j], values[j] / u[j], 1e-3);
            near(kind, value.u / u[j], 1.0, 1e-3);
        }
    }
}

/// scipy.stats.chi2.sf, from the same file.
#[test]
fn chances_of_chi_square_agree_with_scipy() {
    let file: Value = serde_json::from_str(FITS).unwrap();
    let chances = file["chances"].as_array().unwrap();
    assert!(chances.len() >= 9);
    for chance in chances {
        let of = |name: &str| chance[name].as_f64().unwrap();
        let found = p_value(of("x"), of("nu") as u32);
        assert!((found / of("p") - 1.0).abs() < 1e-11, "{chance}: {found}");
    }
}
