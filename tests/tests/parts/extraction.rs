//! From a sweep back to values: the joint regions hold what they say, refusals are sentences.
//!
//! The law: a part of known values, its exact impedances, random scatter of known covariance at
//! each point and systematic shifts drawn once for each sweep. The values found must lie with
//! 95 % probability in the ellipsoid (v − v0)ᵀ·C⁻¹·(v − v0) ≤ χ²(p, 0.95) of all independent
//! values together. One joint hit is counted for each sweep, so 1000 sweeps give a binomial
//! number of hits: 926 to 971 with probability 99.9 % (exact binomial, scipy).

use jigwise_physics::{
    Capacitor, Choke, Complex64, Covariance, Draws, ExtractError, Extracted, Fixture, Immittance,
    ImpedanceSweep, Inductor, LineEnd, Model, ParallelRlc, Part, Quantity, Reactive, Resistor,
    SeriesRlc, SkinLoss, Stub, p_value,
};
use jigwise_tests::distance::distance_squared;
use jigwise_tests::fifty_ohm::Z0;
use jigwise_tests::frequencies::{even_sweep, log_sweep};
use jigwise_tests::parts::crystal;

const SEEDS: [u64; 3] = [11, 22, 33];
const SWEEPS: usize = 1000;
const BAND: std::ops::RangeInclusive<usize> = 926..=971;

/// A part, where it is swept and in which fixture, and what has to come back.
struct Case {
    name: &'static str,
    part: Part,
    freq_hz: Vec<f64>,
    fixture: Fixture,
    way: Way,
    truth: Vec<(Quantity, f64)>,
}

#[derive(Clone, Copy)]
enum Way {
    Fit(Model),
    PointAt(f64),
    Crossing,
}

impl Way {
    fn of(self, sweep: &ImpedanceSweep) -> Result<Extracted, ExtractError> {
        match self {
            Self::Fit(model) => sweep.fit(model),
            Self::PointAt(hz) => sweep.point_values(hz),
            Self::Crossing => sweep.self_resonance(),
        }
    }
}

fn exact(part: Part, freq_hz: &[f64]) -> Vec<Complex64> {
    freq_hz
        .iter()
        .map(|&hz| part.immittance(hz).unwrap().impedance().unwrap())
        .collect()
}

fn capacitor() -> Capacitor {
    Capacitor {
        capacitance_f: 10e-9,
        esr_ohm: 0.2,
        esl_h: 2e-9,
        leakage_ohm: None,
    }
}

fn coil() -> Inductor {
    Inductor {
        inductance_h: 10e-6,
        series_resistance_ohm: 1.0,
        parallel_capacitance_f: 2e-12,
        skin: None,
    }
}

fn resistor(ohm: f64, c: f64, l: f64) -> Resistor {
    Resistor {
        resistance_ohm: ohm,
        parallel_capacitance_f: c,
        series_inductance_h: l,
    }
}

fn cases() -> Vec<Case> {
    use Quantity as Q;
    let skin = Inductor {
        skin: Some(SkinLoss {
            resistance_ohm: 6.0,
            at_hz: 30e6,
        }),
        ..coil()
    };
    let series = SeriesRlc {
        resistance_ohm: 2.0,
        inductance_h: 1e-6,
        capacitance_f: 100e-12,
    };
    let parallel = ParallelRlc {
        resistance_ohm: 5e3,
        inductance_h: 1e-6,
        capacitance_f: 100e-12,
    };
    let choke = Choke {
        inductance_h: 50e-6,
        relaxation_hz: 5e6,
        winding_capacitance_f: 3e-12,
        series_resistance_ohm: 0.5,
    };
    let stub = |end| Stub {
        zc_ohm: 75.0,
        delay_s: 5e-9,
        loss_np: 0.05,
        loss_at_hz: 200e6,
        end,
    };
    let lines = |zc: f64| {
        vec![
            (Q::CharacteristicImpedance, zc),
            (Q::Delay, 5e-9),
            (Q::Loss, 0.05),
        ]
    };
    let omega = std::f64::consts::TAU * 1e6;
    let resonance = 1.0 / (std::f64::consts::TAU * 1e-8);
    vec![
        Case {
            name: "resistor, both parasitics",
            part: resistor(150.0, 0.3e-12, 4e-9).into(),
            freq_hz: log_sweep(10e6, 5e9, 41),
            fixture: Fixture::Reflect,
            way: Way::Fit(Model::Resistor),
            truth: vec![
                (Q::Resistance, 150.0),
                (Q::WindingCapacitance, 0.3e-12),
                (Q::Inductance, 4e-9),
            ],
        },
        Case {
            name: "resistor of high value",
            part: resistor(10e3, 0.1e-12, 0.0).into(),
            freq_hz: log_sweep(1e6, 300e6, 41),
            fixture: Fixture::SeriesThrough,
            way: Way::Fit(Model::Resistor),
            truth: vec![(Q::Resistance, 10e3), (Q::WindingCapacitance, 0.1e-12)],
        },
        Case {
            name: "capacitor",
            part: capacitor().into(),
            freq_hz: log_sweep(1e6, 200e6, 41),
            fixture: Fixture::ShuntThrough,
            way: Way::Fit(Model::Capacitor),
            truth: vec![(Q::Capacitance, 10e-9), (Q::Esr, 0.2), (Q::Esl, 2e-9)],
        },
        Case {
            name: "coil",
            part: coil().into(),
            freq_hz: log_sweep(0.3e6, 60e6, 41),
            fixture: Fixture::SeriesThrough,
            way: Way::Fit(Model::Inductor),
            truth: vec![
                (Q::Inductance, 10e-6),
                (Q::Resistance, 1.0),
                (Q::WindingCapacitance, 2e-12),
            ],
        },
        Case {
            name: "coil with skin loss",
            part: skin.into(),
            freq_hz: log_sweep(0.1e6, 30e6, 61),
            fixture: Fixture::Reflect,
            way: Way::Fit(Model::InductorWithSkin),
            truth: vec![
                (Q::Inductance, 10e-6),
                (Q::Resistance, 1.0),
                (Q::WindingCapacitance, 2e-12),
                (Q::SkinResistance, 6.0),
            ],
        },
        Case {
            name: "series resonance",
            part: series.into(),
            freq_hz: even_sweep(15e6, 17e6, 41),
            fixture: Fixture::ShuntThrough,
            way: Way::Fit(Model::SeriesRlc),
            truth: vec![
                (Q::SeriesResonance, resonance),
                (Q::Inductance, 1e-6),
                (Q::Resistance, 2.0),
            ],
        },
        Case {
            name: "parallel resonance",
            part: parallel.into(),
            freq_hz: even_sweep(15e6, 17e6, 41),
            fixture: Fixture::SeriesThrough,
            way: Way::Fit(Model::ParallelRlc),
            truth: vec![
                (Q::ParallelResonance, resonance),
                (Q::Capacitance, 100e-12),
                (Q::Resistance, 5e3),
            ],
        },
        Case {
            name: "crystal",
            part: crystal().into(),
            freq_hz: even_sweep(10e6 - 1000.0, 10e6 + 1000.0, 101),
            fixture: Fixture::SeriesThrough,
            way: Way::Fit(Model::Crystal),
            truth: vec![
                (Q::SeriesResonance, 10e6),
                (Q::MotionalResistance, 10.0),
                (Q::MotionalCapacitance, 20e-15),
                (Q::HolderCapacitance, 5e-12),
            ],
        },
        Case {
            name: "choke",
            part: choke.into(),
            freq_hz: log_sweep(20e3, 100e6, 51),
            fixture: Fixture::SeriesThrough,
            way: Way::Fit(Model::Choke),
            truth: vec![
                (Q::LowFrequencyInductance, 50e-6),
                (Q::Relaxation, 5e6),
                (Q::WindingCapacitance, 3e-12),
                (Q::Resistance, 0.5),
            ],
        },
        Case {
            name: "open stub",
            part: stub(LineEnd::Open).into(),
            freq_hz: even_sweep(2e6, 200e6, 67),
            fixture: Fixture::Reflect,
            way: Way::Fit(Model::Stub(LineEnd::Open)),
            truth: lines(75.0),
        },
        Case {
            name: "shorted stub",
            part: stub(LineEnd::Short).into(),
            freq_hz: even_sweep(2e6, 200e6, 67),
            fixture: Fixture::Reflect,
            way: Way::Fit(Model::Stub(LineEnd::Short)),
            truth: lines(75.0),
        },
        Case {
            name: "capacitor at 1 MHz",
            part: capacitor().into(),
            freq_hz: log_sweep(1e6, 10e6, 5),
            fixture: Fixture::ShuntThrough,
            way: Way::PointAt(1e6),
            truth: vec![
                (
                    Q::SeriesCapacitance,
                    -1.0 / (omega * at_1mhz(capacitor().into()).im),
                ),
                (Q::Esr, 0.2),
            ],
        },
        Case {
            name: "coil at 1 MHz",
            part: coil().into(),
            freq_hz: log_sweep(1e6, 10e6, 5),
            fixture: Fixture::Reflect,
            way: Way::PointAt(1e6),
            truth: vec![
                (
                    Q::ParallelInductance,
                    -1.0 / (omega * at_1mhz(coil().into()).inv().im),
                ),
                (Q::ParallelResistance, 1.0 / at_1mhz(coil().into()).inv().re),
            ],
        },
        Case {
            name: "self-resonance, two points",
            part: capacitor().into(),
            freq_hz: vec![20e6, 30e6, 40e6, 50e6],
            fixture: Fixture::ShuntThrough,
            way: Way::Crossing,
            truth: vec![(Q::SelfResonance, capacitor().self_resonance_hz().unwrap())],
        },
        Case {
            name: "self-resonance in the noise",
            part: parallel.into(),
            freq_hz: even_sweep(15.9e6, 15.93e6, 61),
            fixture: Fixture::SeriesThrough,
            way: Way::Crossing,
            truth: vec![(Q::SelfResonance, resonance)],
        },
    ]
}

fn at_1mhz(part: Part) -> Complex64 {
    exact(part, &[1e6])[0]
}

/// What the readings' errors make in ohms: scatter that is larger along one direction of S and
/// correlated, and real systematic components that no model can follow entirely.
struct Errors {
    random: Vec<Covariance>,
    shifts: Vec<Vec<Complex64>>,
}

fn errors(fixture: Fixture, exact: &[Complex64]) -> Errors {
    let sigma = 5e-5;
    let scatter = Covariance {
        re: sigma * sigma,
        im: 2.0 * sigma * sigma,
        cross: 0.7 * sigma * sigma,
    };
    let slope = |z: Complex64| {
        let device = Immittance::from_impedance(z).unwrap();
        fixture.ohm_per_reading(device, Z0).unwrap()
    };
    // Load, open and short of the calibration as they enter Z.
    let load = exact.iter().map(|z| -z * 2e-3).collect();
    let open = exact
        .iter()
        .map(|&z| -z * (z / 50.0 - 1.0) * Complex64::new(1e-5, 2e-5))
        .collect();
    let short = exact
        .iter()
        .map(|&z| (z - 50.0) * Complex64::new(2e-5, -1e-5))
        .collect();
    Errors {
        random: exact.iter().map(|&z| scatter.through(slope(z))).collect(),
        shifts: vec![load, open, short],
    }
}

fn reading(exact: &[Complex64], errors: &Errors, draws: &mut Draws) -> Vec<Complex64> {
    let factors: Vec<f64> = errors.shifts.iter().map(|_| draws.normal()).collect();
    (0..exact.len())
        .map(|k| {
            let common: Complex64 = factors
                .iter()
                .zip(&errors.shifts)
                .map(|(f, s)| s[k] * *f)
                .sum();
            exact[k] + draws.with_covariance(errors.random[k]) + common
        })
        .collect()
}

/// δᵀC⁻¹δ for each sweep; infinite where the sweep was refused.
fn distances(case: &Case, seed: u64) -> Vec<f64> {
    let exact = exact(case.part, &case.freq_hz);
    let errors = errors(case.fixture, &exact);
    let mut draws = Draws::new(seed);
    (0..SWEEPS)
        .map(|_| {
            let z = reading(&exact, &errors, &mut draws);
            let sweep =
                ImpedanceSweep::new(&case.freq_hz, &z, &errors.random, &errors.shifts).unwrap();
            let found = case.way.of(&sweep);
            let distance = found
                .as_ref()
                .ok()
                .and_then(|f| distance_squared(f, &case.truth));
            distance.unwrap_or(f64::INFINITY)
        })
        .collect()
}

/// Hits with all uncertainties multiplied by `factor`.
fn hits(distances: &[f64], values: usize, factor: f64) -> usize {
    let is_hit = |d: &&f64| p_value(**d / (factor * factor), values as u32) >= 0.05;
    distances.iter().filter(is_hit).count()
}

#[test]
fn joint_regions_hold_the_truth_as_often_as_they_say() {
    for case in cases() {
        for seed in SEEDS {
            let distances = distances(&case, seed);
            let p = case.truth.len();
            let [just, wide, narrow] = [1.0, 1.3, 0.77].map(|f| hits(&distances, p, f));
            assert!(
                BAND.contains(&just),
                "{} seed {seed}: {just} hits",
                case.name
            );
            assert!(
                wide > *BAND.end(),
                "{} seed {seed}: {wide} hits at 1.3 u",
                case.name
            );
            assert!(
                narrow < *BAND.start(),
                "{} seed {seed}: {narrow} hits at 0.77 u",
                case.name
            );
        }
    }
}

fn refused(part: Part, freq_hz: &[f64], sigma_ohm: f64, way: Way) -> ExtractError {
    let z = exact(part, freq_hz);
    let random = vec![Covariance::circular(sigma_ohm * sigma_ohm); z.len()];
    let sweep = ImpedanceSweep::new(freq_hz, &z, &random, &[]).unwrap();
    way.of(&sweep).unwrap_err()
}

fn noisy(
    part: Part,
    freq_hz: &[f64],
    sigma_ohm: f64,
    model: Model,
) -> Result<Extracted, ExtractError> {
    let mut draws = Draws::new(SEEDS[0]);
    let mut z = exact(part, freq_hz);
    for z in &mut z {
        *z += draws.circular(sigma_ohm * sigma_ohm);
    }
    let random = vec![Covariance::circular(sigma_ohm * sigma_ohm); z.len()];
    ImpedanceSweep::new(freq_hz, &z, &random, &[])
        .unwrap()
        .fit(model)
}

#[test]
fn a_coil_above_its_resonance_has_no_inductance() {
    let freq_hz = log_sweep(1e6, 100e6, 41);
    let why = refused(coil().into(), &freq_hz, 1e-3, Way::PointAt(50e6));
    let ExtractError::ChangedKind {
        was,
        is,
        resonance_hz,
        ..
    } = why
    else {
        panic!("{why}");
    };
    assert_eq!((was, is), (Reactive::Inductive, Reactive::Capacitive));
    // 35.588 MHz: the handbook formula 1/(2π√(LC)).
    assert!(
        (resonance_hz / 35.588e6 - 1.0).abs() < 1e-3,
        "{resonance_hz}"
    );
    assert_eq!(
        why.to_string(),
        "at 50.12 MHz this coil is a capacitor: it changed kind at its self-resonance, 35.59 MHz. \
         Read it below a third of that, or fit a model to the whole sweep"
    );
    let above = log_sweep(40e6, 100e6, 21);
    assert_eq!(
        refused(coil().into(), &above, 1e-3, Way::Fit(Model::Inductor)).to_string(),
        "asked for a coil with series resistance and winding capacitance, but at 40.00 MHz the part is a capacitor: \
         ask for that, or sweep where the part still is what you ask for"
    );
    // Values of a capacitor are what such a part has there, none of them below zero.
    let z = exact(coil().into(), &above);
    let random = vec![Covariance::circular(1.0); z.len()];
    let sweep = ImpedanceSweep::new(&above, &z, &random, &[]).unwrap();
    let found = sweep.point_values(40e6).unwrap();
    assert!(found.value(Quantity::SeriesInductance).is_none());
    assert!(found.values.iter().all(|v| v.value > 0.0), "{found:?}");
}

#[test]
fn q_beyond_the_phase_is_refused_and_the_loss_keeps_its_uncertainty() {
    // Q 318 against a phase uncertainty of 0.01 rad, which tells 50 at most (Q > 1/(2·0.01)).
    let part = Capacitor {
        esr_ohm: 0.05,
        esl_h: 0.0,
        ..capacitor()
    };
    let z = at_1mhz(part.into());
    let random = [Covariance::circular((0.01 * z.norm()).powi(2))];
    let sweep = ImpedanceSweep::new(&[1e6], std::slice::from_ref(&z), &random, &[]).unwrap();
    let found = sweep.point_values(1e6).unwrap();
    let c = found.value(Quantity::SeriesCapacitance).unwrap();
    assert!(
        (c.value / 10e-9 - 1.0).abs() < 1e-9 && (c.u / 0.1e-9 - 1.0).abs() < 1e-3,
        "{c:?}"
    );
    // 0.01·|Z| = 0.15915 Ω; the bound by scipy: 0.05 + 0.15915·norm.ppf(1 − 0.05·norm.cdf(0.31416)).
    let esr = found.value(Quantity::Esr).unwrap();
    assert!((esr.value - 0.05).abs() < 1e-12 && (esr.u - 0.159_155).abs() < 1e-5);
    assert!((esr.upper_bound() - 0.346_655).abs() < 1e-5, "{esr:?}");
    let d = found.value(Quantity::Dissipation).unwrap();
    assert!((d.value * 318.31 - 1.0).abs() < 1e-4 && d.holds_zero(2.0));
    for quantity in [Quantity::Q, Quantity::ParallelResistance] {
        assert!(found.value(quantity).is_none());
        assert_eq!(
            found.refusal(quantity).unwrap().to_string(),
            "Q reads 318.3, but the phase can't tell more than 50.00: use the resonance width, \
             with a known lossless part that brings it to resonance"
        );
    }
}

#[test]
fn a_resonance_must_be_in_the_sweep_and_drawn() {
    let trap = SeriesRlc {
        resistance_ohm: 2.0,
        inductance_h: 1e-6,
        capacitance_f: 100e-12,
    };
    let below = log_sweep(1e6, 10e6, 21);
    for way in [Way::Crossing, Way::Fit(Model::SeriesRlc)] {
        assert_eq!(
            refused(trap.into(), &below, 1e-3, way).to_string(),
            "no resonance from 1.000 MHz to 10.00 MHz: the part is capacitive there. Sweep across \
             the resonance"
        );
    }
    // Width 318 kHz, points 500 kHz apart.
    let coarse = even_sweep(10e6, 20e6, 21);
    assert_eq!(
        refused(trap.into(), &coarse, 1e-3, Way::Fit(Model::SeriesRlc)).to_string(),
        "1 point in the resonance width of about 318.3 kHz, 5 needed: the points are 500.0 kHz \
         apart, sweep closer around the resonance"
    );
    // Width R1/(2π·L1) = 125.66 Hz, points 100 Hz apart.
    let coarse = even_sweep(10e6 - 5000.0, 10e6 + 5000.0, 101);
    let why = refused(crystal().into(), &coarse, 1e-3, Way::Fit(Model::Crystal));
    assert!(
        matches!(
            why,
            ExtractError::FewInWidth {
                found: 1,
                needed: 5,
                width_hz,
                ..
            } if (width_hz / 125.66 - 1.0).abs() < 1e-3
        ),
        "{why}"
    );
    let beside = even_sweep(10e6 + 2000.0, 10e6 + 4000.0, 101);
    let why = refused(crystal().into(), &beside, 1e-3, Way::Fit(Model::Crystal));
    assert!(matches!(why, ExtractError::NoResonance { .. }), "{why}");
}

#[test]
fn a_sweep_that_is_too_short_says_so() {
    let part = capacitor().into();
    assert_eq!(
        refused(part, &[1e6, 2e6, 3e6], 1e-3, Way::Fit(Model::Capacitor)).to_string(),
        "3 points in the sweep, 5 needed: sweep with more points"
    );
    // 10 kHz of span and 10 mΩ of noise tell C and ESL apart to no useful degree.
    let why = noisy(part, &even_sweep(10e6, 10.01e6, 21), 1e-2, Model::Capacitor).unwrap_err();
    assert!(why.to_string().contains("sweep wider"), "{why}");
    // Far below its resonance the capacitor shows no ESL, whose interval says so.
    let low = log_sweep(10e3, 100e3, 21);
    let found = noisy(part, &low, 0.1, Model::Capacitor).unwrap();
    assert!(found.value(Quantity::Capacitance).is_some());
    let esl = found.value(Quantity::Esl).unwrap();
    assert!(esl.holds_zero(2.0) && esl.upper_bound() > 2e-9, "{esl:?}");
    assert_eq!(
        found.refusal(Quantity::SelfResonance).unwrap().to_string(),
        "ESL is not clear enough of zero to tell a resonance: sweep to where X crosses zero"
    );
}

#[test]
fn a_misfit_is_refused() {
    // Far from its resonance a crystal is C0, but with a resonance in the sweep it is more.
    let freq_hz = log_sweep(1e6, 100e6, 41);
    let why = noisy(crystal().into(), &freq_hz, 1e-3, Model::Capacitor).unwrap_err();
    assert!(matches!(why, ExtractError::Misfit { .. }), "{why}");
    let text = why.to_string();
    assert!(
        text.starts_with(
            "a capacitor with ESR and ESL does not follow the readings within their uncertainty (χ² "
        ) && text.ends_with(
            "choose another model, a narrower sweep, or check the uncertainty given"
        ),
        "{text}"
    );
}

#[test]
fn sweeps_that_are_none_are_refused() {
    let z = [Complex64::ONE; 3];
    let c = [Covariance::ZERO; 3];
    let text = |freq_hz: &[f64], z: &[Complex64], shifts: &[Vec<Complex64>]| {
        ImpedanceSweep::new(freq_hz, z, &c, shifts)
            .unwrap_err()
            .to_string()
    };
    assert_eq!(
        text(&[1e6, 2e6, 2e6], &z, &[]),
        "point 3 is at 2.000 MHz after 2.000 MHz: give the points in rising order"
    );
    assert_eq!(
        text(&[1e6, 2e6, 3e6], &z[..2], &[]),
        "2 impedances for 3 frequencies: give one for each"
    );
    assert_eq!(
        text(&[1e6, 2e6, 3e6], &z, &[vec![Complex64::ONE]]),
        "1 systematic shifts for 3 frequencies: give one for each"
    );
    assert!(text(&[0.0, 2e6, 3e6], &z, &[]).contains("above zero"));
    let broken = [Complex64::new(f64::NAN, 0.0); 3];
    assert!(text(&[1e6, 2e6, 3e6], &broken, &[]).contains("finite"));
}

/// Without any scatter given the residuals have to tell it, and the truth comes back exactly.
#[test]
fn exact_sweeps_without_scatter_give_the_values_back() {
    for case in cases() {
        let Way::Fit(model) = case.way else { continue };
        let z = exact(case.part, &case.freq_hz);
        let random = vec![Covariance::ZERO; z.len()];
        let sweep = ImpedanceSweep::new(&case.freq_hz, &z, &random, &[]).unwrap();
        let found = sweep
            .fit(model)
            .unwrap_or_else(|why| panic!("{}: {why}", case.name));
        for &(quantity, truth) in &case.truth {
            let value = found.value(quantity).unwrap();
            let miss = (value.value / truth - 1.0).abs();
            assert!(
                miss < 1e-8 && value.u < 1e-7 * truth,
                "{}: {value:?}",
                case.name
            );
        }
        assert_eq!(found.goodness.unwrap().p, None);
    }
}

/// The circuit found is the part itself where the readings are exact: Z = 1/(1/(R + jωL) + jωC)
/// between the points, too.
#[test]
fn a_fitted_circuit_gives_its_impedance_between_the_points() {
    let freq_hz = log_sweep(1e5, 1e8, 61);
    let part = coil();
    let z_ohm = exact(Part::Inductor(part), &freq_hz);
    let none = vec![Covariance::ZERO; freq_hz.len()];
    let sweep = ImpedanceSweep::new(&freq_hz, &z_ohm, &none, &[]).unwrap();
    let found = sweep.fit(Model::Inductor).unwrap();
    for hz in [1.3e5, 2.2e6, 31e6, 97e6] {
        let omega = std::f64::consts::TAU * hz;
        let winding = Complex64::new(part.series_resistance_ohm, omega * part.inductance_h);
        let across = Complex64::new(0.0, omega * part.parallel_capacitance_f);
        let expected = (winding.inv() + across).inv();
        let z = found.impedance_ohm(hz).unwrap();
        assert!((z - expected).norm() < 1e-6 * expected.norm(), "{hz}: {z}");
    }
    assert_eq!(found.impedance_ohm(0.0), None);
    assert_eq!(found.impedance_ohm(f64::NAN), None);
    let spot = sweep.point_values(1e6).unwrap();
    assert_eq!(spot.impedance_ohm(1e6), None);
}

/// R, L and C in parallel are a choke of four values without its series resistance. Exact readings
/// of a trap were called a choke.
#[test]
fn an_exact_trap_is_no_choke_and_a_lossy_core_is_one() {
    let freq_hz = even_sweep(5e5, 30e6, 60);
    // √(L/C) = 100 Ω, so the Q of 5 kΩ is 50, its width less than a step, and that of 50 Ω is 0.5.
    for (resistance_ohm, model) in [(5e3, Model::ParallelRlc), (50.0, Model::Choke)] {
        let trap = ParallelRlc {
            resistance_ohm,
            inductance_h: 1e-6,
            capacitance_f: 100e-12,
        };
        let z = exact(trap.into(), &freq_hz);
        let none = vec![Covariance::ZERO; z.len()];
        let sweep = ImpedanceSweep::new(&freq_hz, &z, &none, &[]).unwrap();
        let choice = sweep.choose_model();
        assert_eq!(choice.tried[choice.chosen.unwrap()].0, model);
    }
}
