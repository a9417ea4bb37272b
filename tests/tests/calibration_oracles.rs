//! Calibration against check values and laws.
//!
//! Sources of the models: Rumiantsev and Ridler, IEEE Microwave Magazine 9(3), 86–99, 2008
//! (one-port, twelve terms); Ferrero and Pisani, IEEE MGWL 2(12), 505–507, 1992 (unknown
//! through). The numbers were computed outside the project with numpy, the twelve-term ones
//! the same in scikit-rf 2.2.0 to 1e-16, and rounded to the digits shown.

use std::f64::consts::{PI, TAU};

use jigwise_physics::{
    Budget, CalibrationError, Cause, Complex64, Connection, Definitions, DirectionTerms, Draws,
    Fixture, Immittance, Instrument, Isolation, Kit, LEAST_SEPARATION, MeasuredStandards, Method,
    Network, Normaliser, OffsetLine, OnePortTerms, Piece, Port, RawAnalyzer, ReferenceImpedance,
    Residuals, Scattering, Standard, SwitchTerms, Termination, Trio, TwelveTerms, solve,
};
use jigwise_tests::seed::{for_all, seed};
use proptest::prelude::*;

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn ohms(re: f64, im: f64) -> Immittance {
    Immittance::from_impedance(c(re, im)).unwrap()
}

fn gamma_of(part: Immittance) -> Complex64 {
    Fixture::Reflect.reading(part, Z0).value().unwrap()
}

fn impedance_of(fixture: Fixture, reading: Complex64) -> Complex64 {
    let back = fixture.immittance(reading, Z0).unwrap();
    back.impedance().unwrap()
}

fn polar(size: f64, degrees: f64) -> Complex64 {
    Complex64::from_polar(size, degrees.to_radians())
}

#[track_caller]
fn near(value: Complex64, printed: Complex64, tolerance: f64) {
    let miss = (value - printed).norm();
    assert!(miss <= tolerance, "{value} for {printed}, off by {miss:e}");
}

fn oracle_a() -> OnePortTerms {
    OnePortTerms {
        directivity: c(0.05, -0.03),
        source_match: c(0.10, 0.08),
        reflect_tracking: polar(0.92, -40.0),
    }
}

#[track_caller]
fn same_terms(found: &OnePortTerms, want: &OnePortTerms, tolerance: f64) {
    near(found.directivity, want.directivity, tolerance);
    near(found.source_match, want.source_match, tolerance);
    near(found.reflect_tracking, want.reflect_tracking, tolerance);
}

/// Half a unit of the ninth decimal in each part, and a little.
const NINE_DECIMALS: f64 = 8e-10;
/// The same for eight.
const EIGHT_DECIMALS: f64 = 8e-9;

#[test]
fn oracle_a_one_port_with_ideal_standards() {
    let terms = oracle_a();
    let printed = [
        (Immittance::OPEN, c(0.884877471, -0.612860448)),
        (Immittance::SHORT, c(-0.548427991, 0.551126218)),
        (ohms(50.0, 0.0), c(0.05, -0.03)),
        (ohms(75.0, 25.0), c(0.307046335, -0.049554560)),
        (ohms(5.0, -30.0), c(-0.725178230, -0.251901754)),
        (ohms(1e3, 0.0), c(0.793179447, -0.559125375)),
    ];
    for (part, raw) in printed {
        near(terms.raw(gamma_of(part)), raw, NINE_DECIMALS);
    }
    // From the printed readings, as far as their digits go.
    let standards: Vec<_> = printed[..3]
        .iter()
        .map(|&(part, raw)| (gamma_of(part), raw))
        .collect();
    let rounded = OnePortTerms::solve(&standards).unwrap();
    same_terms(&rounded.terms, &terms, 3e-9);
    for (part, raw) in printed {
        near(rounded.terms.correct(raw), gamma_of(part), 5e-9);
    }
    // And in full.
    let standards = [1.0, -1.0, 0.0].map(|g| (c(g, 0.0), terms.raw(c(g, 0.0))));
    let fit = OnePortTerms::solve(&standards).unwrap();
    same_terms(&fit.terms, &terms, 1e-12);
    assert!(fit.residual_rms < 1e-15);
    assert!((fit.separation - 0.5f64.sqrt()).abs() < 1e-12);
    assert!((0.4..0.71).contains(&fit.raw_separation));
    for (part, _) in printed {
        let gamma = gamma_of(part);
        near(fit.terms.correct(terms.raw(gamma)), gamma, 1e-12);
    }
}

fn real_standards() -> Trio<Standard> {
    Trio {
        open: Standard::open([50e-15, 0.0, 0.0, 0.0]),
        short: Standard::short([20e-12, 0.0, 0.0, 0.0]),
        load: Standard {
            termination: Termination::Load {
                resistance_ohm: 49.5,
                inductance_h: 0.1e-9,
                capacitance_f: 0.0,
            },
            offset: OffsetLine::FLUSH,
        },
    }
}

#[test]
fn oracle_b_real_standards_at_one_gigahertz() {
    let kit = Kit {
        reflections: real_standards(),
        ..Kit::IDEAL
    };
    let truth = Definitions::of(&kit, 1e9, Z0).unwrap();
    let known = truth.reflections[0];
    near(known.open, c(0.99950664, -0.03140818), EIGHT_DECIMALS);
    near(known.short, c(-0.99998737, 0.00502652), EIGHT_DECIMALS);
    near(known.load, c(-0.00498505, 0.00634624), EIGHT_DECIMALS);

    let terms = oracle_a();
    let raw = [known.open, known.short, known.load].map(|gamma| terms.raw(gamma));
    near(raw[0], c(0.86662888, -0.64331744), EIGHT_DECIMALS);
    near(raw[1], c(-0.54558444, 0.55364768), EIGHT_DECIMALS);
    near(raw[2], c(0.05023768, -0.02258684), EIGHT_DECIMALS);

    let [open, short, load] = raw.map(Some);
    let measured = MeasuredStandards {
        reflections: [Trio { open, short, load }, Trio::NONE],
        ..MeasuredStandards::default()
    };
    let right = solve(Method::OnePort, &measured, &truth).unwrap();
    same_terms(&right.one_port().unwrap(), &terms, 1e-12);

    // Taken for ideal; printed to four decimals of an ohm, the last to two.
    let wrong = solve(Method::OnePort, &measured, &Definitions::IDEAL).unwrap();
    for (part, printed, tolerance) in [
        (ohms(75.0, 25.0), c(75.2245, 24.7547), 8e-5),
        (ohms(5.0, -30.0), c(4.3575, -30.8417), 8e-5),
        (ohms(1e3, 0.0), c(926.76, 265.06), 8e-3),
    ] {
        let gamma = wrong.apply_one_port(terms.raw(gamma_of(part)));
        near(impedance_of(Fixture::Reflect, gamma), printed, tolerance);
    }
}

fn oracle_c() -> TwelveTerms {
    TwelveTerms {
        forward: DirectionTerms {
            one_port: oracle_a(),
            load_match: c(0.06, -0.05),
            through_tracking: polar(0.90, -55.0),
            crosstalk: c(1e-4, 2e-4),
        },
        reverse: DirectionTerms {
            one_port: OnePortTerms {
                directivity: c(0.04, 0.02),
                source_match: c(0.09, -0.06),
                reflect_tracking: polar(0.95, -35.0),
            },
            load_match: c(0.07, 0.03),
            through_tracking: polar(0.88, -60.0),
            crosstalk: c(-2e-4, 1e-4),
        },
    }
}

fn of_part(fixture: Fixture) -> Scattering {
    let part = ohms(20.0, -15.0);
    let network = match fixture {
        Fixture::ShuntThrough => Network::shunt(part),
        _ => Network::series(part),
    };
    network.scattering(Z0).unwrap()
}

const THROUGH_FIXTURES: [Fixture; 2] = [Fixture::ShuntThrough, Fixture::SeriesThrough];

/// What oracle C reads of ideal standards.
fn measured_by(terms: &TwelveTerms, truth: &Definitions) -> MeasuredStandards {
    let side = |terms: &OnePortTerms, known: Trio<Complex64>| Trio {
        open: Some(terms.raw(known.open)),
        short: Some(terms.raw(known.short)),
        load: Some(terms.raw(known.load)),
    };
    let isolated = terms.raw(&Scattering {
        s11: truth.reflections[0].load,
        s22: truth.reflections[1].load,
        s12: truth.isolation,
        s21: truth.isolation,
    });
    MeasuredStandards {
        reflections: [
            side(&terms.forward.one_port, truth.reflections[0]),
            side(&terms.reverse.one_port, truth.reflections[1]),
        ],
        through: Some(terms.raw(&truth.through)),
        isolation: Some(Isolation {
            forward: isolated.s21,
            reverse: isolated.s12,
        }),
        switch_terms: None,
    }
}

#[test]
fn oracle_c_twelve_terms() {
    let printed = [
        (
            Scattering::THROUGH,
            Scattering {
                s11: c(0.06283145, -0.10143686),
                s12: c(0.44223019, -0.76889486),
                s21: c(0.52138266, -0.74458899),
                s22: c(0.11137615, 0.00497423),
            },
        ),
        (
            of_part(Fixture::ShuntThrough),
            Scattering {
                s11: c(-0.38384729, 0.14999455),
                s12: c(0.07990493, -0.41955486),
                s21: c(0.10800257, -0.42722512),
                s22: c(-0.40512604, 0.13564981),
            },
        ),
        (
            of_part(Fixture::SeriesThrough),
            Scattering {
                s11: c(0.13983669, -0.26079487),
                s12: c(0.43985942, -0.60831625),
                s21: c(0.51365117, -0.57857740),
                s22: c(0.17253087, -0.16100739),
            },
        ),
    ];
    let terms = oracle_c();
    let measured = measured_by(&terms, &Definitions::IDEAL);
    let full = solve(Method::Full, &measured, &Definitions::IDEAL).unwrap();
    let found = full.twelve_terms().unwrap();
    for (found, want) in [
        (found.forward, terms.forward),
        (found.reverse, terms.reverse),
    ] {
        same_terms(&found.one_port, &want.one_port, 1e-12);
        near(found.load_match, want.load_match, 1e-12);
        near(found.through_tracking, want.through_tracking, 1e-12);
        near(found.crosstalk, want.crosstalk, 1e-12);
    }
    for (network, raw) in printed {
        assert!(terms.raw(&network).distance(&raw) < EIGHT_DECIMALS);
        assert!(full.apply(&raw).distance(&network) < 3e-8);
        assert!(full.apply(&terms.raw(&network)).distance(&network) < 1e-12);
    }
}

/// Shunt and series ohms from the forward readings of oracle C.
fn ohms_by(method: Method) -> [Complex64; 2] {
    let terms = oracle_c();
    let measured = measured_by(&terms, &Definitions::IDEAL);
    let correction = solve(method, &measured, &Definitions::IDEAL).unwrap();
    THROUGH_FIXTURES.map(|fixture| {
        let raw = terms.raw(&of_part(fixture));
        impedance_of(fixture, correction.apply(&raw).s21)
    })
}

#[test]
fn response_leaves_the_match_and_enhanced_response_the_load_match() {
    const FOUR_DECIMALS: f64 = 8e-5;
    let [shunt, series] = ohms_by(Method::Response(Normaliser::Open));
    near(shunt, c(16.5917, -13.1115), FOUR_DECIMALS);
    near(series, c(16.7114, -13.4923), FOUR_DECIMALS);
    let [shunt, series] = ohms_by(Method::EnhancedResponse);
    near(shunt, c(19.4921, -13.2315), FOUR_DECIMALS);
    near(series, c(19.5500, -13.1000), FOUR_DECIMALS);
    let [shunt, series] = ohms_by(Method::None);
    assert!((shunt - c(20.0, -15.0)).norm() > 10.0);
    assert!((series - c(20.0, -15.0)).norm() > 10.0);
}

#[test]
fn one_path_and_full_are_exact() {
    for method in [Method::OnePath, Method::Full] {
        for z in ohms_by(method) {
            near(z, c(20.0, -15.0), 1e-12 * 25.0);
        }
    }
}

/// After a response calibration the ohms of both fixtures are wrong by a factor that does not
/// depend on the part: (Z0/2)/(Zs ∥ Zl) and 2·Z0/(Zs + Zl) with the source and load impedances.
#[test]
fn response_is_a_constant_factor() {
    for (source, load, shunt, series) in [
        (0.1, 0.1, 0.818182, 0.818182),
        (0.1, -0.1, 1.020202, 0.980198),
    ] {
        let terms = TwelveTerms {
            forward: DirectionTerms {
                one_port: OnePortTerms {
                    source_match: c(source, 0.0),
                    ..OnePortTerms::NONE
                },
                load_match: c(load, 0.0),
                ..DirectionTerms::NONE
            },
            reverse: DirectionTerms::NONE,
        };
        let measured = measured_by(&terms, &Definitions::IDEAL);
        let by_through = Method::Response(Normaliser::Short);
        let correction = solve(by_through, &measured, &Definitions::IDEAL).unwrap();
        for part in [ohms(1.0, 3.0), ohms(20.0, -15.0), ohms(3e3, 1e3)] {
            let z = part.impedance().unwrap();
            let read = |network: Network, fixture| {
                let s = network.scattering(Z0).unwrap();
                impedance_of(fixture, correction.apply(&terms.raw(&s)).s21) / z
            };
            let factor = read(Network::shunt(part), Fixture::ShuntThrough);
            near(factor, c(shunt, 0.0), 1e-6);
            let factor = read(Network::series(part), Fixture::SeriesThrough);
            near(factor, c(series, 0.0), 1e-6);
        }
    }
}

/// Reflection by response: the standard itself reads right, a match reads the directivity.
#[test]
fn reflect_response_is_right_at_its_standard_only() {
    let terms = oracle_c();
    let measured = measured_by(&terms, &Definitions::IDEAL);
    for (by, gamma) in [(Normaliser::Open, 1.0), (Normaliser::Short, -1.0)] {
        let correction = solve(Method::Response(by), &measured, &Definitions::IDEAL).unwrap();
        let read = |gamma: f64| correction.apply_one_port(oracle_a().raw(c(gamma, 0.0)));
        near(read(gamma), c(gamma, 0.0), 1e-15);
        assert!((read(-gamma) - c(-gamma, 0.0)).norm() > 0.1);
        let scale = oracle_a().raw(c(gamma, 0.0)) * gamma;
        near(read(0.0), c(0.05, -0.03) / scale, 1e-15);
    }
}

/// Eight terms with switch terms; the through is 30° of a lossy, mismatched line nobody knows.
#[test]
fn unknown_through_and_its_other_root() {
    let analyzer = RawAnalyzer::new(seed());
    let freq_hz = 2.4e9;
    let line = Network::line(c(0.05, 30f64.to_radians()), c(70.0, -4.0)).unwrap();
    let truth = Definitions {
        through: line.scattering(Z0).unwrap(),
        ..Definitions::IDEAL
    };
    let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
    let with_phase = |degrees| Definitions {
        through: Scattering {
            s12: polar(1.0, degrees),
            s21: polar(1.0, degrees),
            ..Scattering::THROUGH
        },
        ..Definitions::IDEAL
    };
    let network = of_part(Fixture::ShuntThrough);
    let raw = analyzer.measure(&network, freq_hz, None);
    for degrees in [-30.0, 50.0, -110.0] {
        let right = solve(Method::UnknownThrough, &measured, &with_phase(degrees)).unwrap();
        assert!(right.apply(&raw).distance(&network) < 1e-12);
    }
    let wrong = solve(Method::UnknownThrough, &measured, &with_phase(150.0)).unwrap();
    let z = impedance_of(Fixture::ShuntThrough, wrong.apply(&raw).s21);
    near(z, c(-8.5366, 1.8293), 8e-5);

    // Taken for flush the same readings mislead the full method, and without the switch terms
    // the unknown through.
    let full = solve(Method::Full, &measured, &Definitions::IDEAL).unwrap();
    assert!(full.apply(&raw).distance(&network) > 0.05);
    let no_switches = MeasuredStandards {
        switch_terms: None,
        ..measured
    };
    let without = solve(Method::UnknownThrough, &no_switches, &with_phase(-30.0)).unwrap();
    assert!(without.apply(&raw).distance(&network) > 0.01);
    let zero = SwitchTerms {
        forward: Complex64::ZERO,
        reverse: Complex64::ZERO,
    };
    let zeroed = MeasuredStandards {
        switch_terms: Some(zero),
        ..measured
    };
    let without_too = solve(Method::UnknownThrough, &zeroed, &with_phase(-30.0)).unwrap();
    assert_eq!(without.twelve_terms(), without_too.twelve_terms());
}

fn small(most: f64) -> impl Strategy<Value = Complex64> {
    (0.0..most, -PI..PI).prop_map(|(size, angle)| Complex64::from_polar(size, angle))
}

fn part_ohm() -> impl Strategy<Value = Complex64> {
    (-0.5f64..3.5, -PI / 2.0..PI / 2.0)
        .prop_map(|(exponent, angle)| Complex64::from_polar(10f64.powf(exponent), angle))
}

/// Z′ = Z0·(Z − Zs)(Zl − Zo)/((Z − Zo)(Zl − Zs)) where imperfect standards are taken for ideal,
/// whatever the analyzer; Z·Z0/Zl where only the load is wrong. Derived by hand from the
/// invariance of the cross ratio.
#[test]
fn the_law_of_imperfect_standards() {
    let strategy = (
        any::<u64>(),
        6.0f64..10.0,
        (small(0.1), small(0.1), small(0.1)),
        part_ohm(),
    );
    for_all(&strategy, |(number, exponent, (open, short, load), z)| {
        let freq_hz = 10f64.powf(exponent);
        let analyzer = RawAnalyzer::new(number);
        let residuals = Residuals::NONE
            .with(Cause::Open, open)
            .with(Cause::Short, short)
            .with(Cause::Load, load);
        let truth = Definitions::IDEAL.with_residuals(&residuals);
        let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
        let correction = solve(Method::OnePort, &measured, &Definitions::IDEAL).unwrap();
        let part = Immittance::from_impedance(z).unwrap();
        let raw = analyzer.measure_reflection(gamma_of(part), Port::One, freq_hz, None);
        let got = correction.apply_one_port(raw);
        let ohm = |gamma: Complex64| 50.0 * (1.0 + gamma) / (1.0 - gamma);
        let [zo, zs, zl] = [open + 1.0, short - 1.0, load].map(ohm);
        let law = 50.0 * (z - zs) * (zl - zo) / ((z - zo) * (zl - zs));
        // The reflection of Z′, so that one tolerance serves a short and an open.
        let want = (law - 50.0) / (law + 50.0);
        let miss = (got - want).norm();
        prop_assert!(miss < 1e-12 * (1.0 + want.norm_sqr()), "{got} for {want}");
        Ok(())
    });
}

#[test]
fn a_51_ohm_load_makes_every_impedance_read_low() {
    let kit = Kit {
        reflections: Trio {
            load: Standard::load(51.0),
            ..Kit::IDEAL.reflections
        },
        ..Kit::IDEAL
    };
    let (analyzer, freq_hz) = (RawAnalyzer::new(seed()), 3e8);
    let truth = Definitions::of(&kit, freq_hz, Z0).unwrap();
    let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
    let correction = solve(Method::Full, &measured, &Definitions::IDEAL).unwrap();
    for part in [ohms(3.0, 4.0), ohms(120.0, -33.0)] {
        let z = part.impedance().unwrap();
        for fixture in Fixture::ALL {
            let reading = match fixture {
                Fixture::Reflect => {
                    let gamma = gamma_of(part);
                    let raw = analyzer.measure_reflection(gamma, Port::One, freq_hz, None);
                    correction.apply_one_port(raw)
                }
                Fixture::ShuntThrough => {
                    let s = Network::shunt(part).scattering(Z0).unwrap();
                    correction.apply(&analyzer.measure(&s, freq_hz, None)).s21
                }
                Fixture::SeriesThrough => {
                    let s = Network::series(part).scattering(Z0).unwrap();
                    correction.apply(&analyzer.measure(&s, freq_hz, None)).s21
                }
            };
            near(
                impedance_of(fixture, reading) / z,
                c(50.0 / 51.0, 0.0),
                1e-12,
            );
        }
    }
}

const STANDARDS: [Cause; 6] = [
    Cause::Load,
    Cause::Open,
    Cause::Short,
    Cause::ThroughTracking,
    Cause::Crosstalk,
    Cause::LoadMatch,
];

/// The corrected reading of a part whose raw reading is made by `terms`.
fn reading(
    correction: &jigwise_physics::Correction,
    terms: &TwelveTerms,
    fixture: Fixture,
    part: Immittance,
) -> Complex64 {
    let network = match fixture {
        Fixture::Reflect => {
            return correction.apply_one_port(terms.forward.one_port.raw(gamma_of(part)));
        }
        Fixture::ShuntThrough => Network::shunt(part),
        Fixture::SeriesThrough => Network::series(part),
    };
    let s = network.scattering(Z0).unwrap();
    correction.apply(&terms.raw(&s)).s21
}

fn shift(
    correction: &jigwise_physics::Correction,
    terms: &TwelveTerms,
    fixture: Fixture,
    part: Immittance,
    cause: Cause,
) -> Complex64 {
    let network = match fixture {
        Fixture::Reflect => {
            let raw = terms.forward.one_port.raw(gamma_of(part));
            return correction.shift_one_port(raw, cause).unwrap();
        }
        Fixture::ShuntThrough => Network::shunt(part),
        Fixture::SeriesThrough => Network::series(part),
    };
    let s = network.scattering(Z0).unwrap();
    correction.shift(&terms.raw(&s), cause).unwrap().s21
}

/// An analyzer with tracking and crosstalk, and matches as large as given.
fn analyzer_with_match(source: Complex64, load: Complex64) -> TwelveTerms {
    let direction = |size: f64| DirectionTerms {
        one_port: OnePortTerms {
            directivity: source * size,
            source_match: source,
            reflect_tracking: polar(0.9 * size, 77.0),
        },
        load_match: load,
        through_tracking: polar(0.85 * size, -130.0),
        crosstalk: c(3e-4, -2e-4),
    };
    TwelveTerms {
        forward: direction(1.0),
        reverse: direction(0.95),
    }
}

/// Without raw match the derivative of a corrected reading by each residual is the amplitude
/// that the budget works with, in every fixture and with every method that removes the load
/// match.
#[test]
fn without_raw_match_shifts_are_those_of_the_budget() {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let terms = analyzer_with_match(Complex64::ZERO, Complex64::ZERO);
    let measured = measured_by(&terms, &Definitions::IDEAL);
    for method in [Method::OnePath, Method::Full] {
        let correction = solve(method, &measured, &Definitions::IDEAL).unwrap();
        let mut draws = Draws::new(seed());
        for _ in 0..200 {
            let size = 50.0 * 10f64.powf(3.0 * draws.uniform() - 1.5);
            let z = Complex64::from_polar(size, PI * (draws.uniform() - 0.5));
            let part = Immittance::from_impedance(z).unwrap();
            for fixture in Fixture::ALL {
                for cause in STANDARDS {
                    let unit = Residuals::NONE.with(cause, Complex64::ONE);
                    let want = budget.calibration_shift(&unit, fixture, part).unwrap();
                    let got = shift(&correction, &terms, fixture, part, cause);
                    assert!(
                        (got - want).norm() < 1e-9 * (1.0 + want.norm()),
                        "seed {} {method} {cause:?} {fixture:?} {part:?}: {got} for {want}",
                        seed()
                    );
                }
            }
        }
    }
}

/// With raw match reflect and the load stay as budgeted; the others are off by products with
/// it, and half the match gives half the product.
#[test]
fn raw_match_adds_products_to_the_shifts_of_the_through_fixtures() {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let off = |size: f64| {
        let terms = analyzer_with_match(polar(size, 20.0), polar(size, -70.0));
        let measured = measured_by(&terms, &Definitions::IDEAL);
        let correction = solve(Method::Full, &measured, &Definitions::IDEAL).unwrap();
        let mut largest: f64 = 0.0;
        for part in [ohms(3.0, 4.0), ohms(50.0, 0.0), ohms(120.0, -900.0)] {
            for fixture in Fixture::ALL {
                for cause in STANDARDS {
                    let unit = Residuals::NONE.with(cause, Complex64::ONE);
                    let want = budget.calibration_shift(&unit, fixture, part).unwrap();
                    let got = shift(&correction, &terms, fixture, part, cause);
                    let miss = (got - want).norm();
                    if fixture == Fixture::Reflect || cause == Cause::Load {
                        assert!(miss < 1e-9 * (1.0 + want.norm()), "{cause:?} {fixture:?}");
                    } else {
                        largest = largest.max(miss / want.norm());
                    }
                }
            }
        }
        largest
    };
    let (whole, half) = (off(0.13), off(0.065));
    assert!((0.1..0.7).contains(&whole), "{whole}");
    assert!((0.4..0.55).contains(&(half / whole)), "{half} of {whole}");
}

/// A shift is what happens when the standards are wrong by a small residual, found by simulation
/// with the standards measured anew.
#[test]
fn shifts_are_those_of_a_simulated_calibration() {
    let terms = oracle_c();
    let right = solve(
        Method::Full,
        &measured_by(&terms, &Definitions::IDEAL),
        &Definitions::IDEAL,
    )
    .unwrap();
    for method in [Method::EnhancedResponse, Method::OnePath, Method::Full] {
        for cause in STANDARDS {
            for fixture in Fixture::ALL {
                let part = ohms(70.0, -35.0);
                let moved = |delta: Complex64| {
                    let residuals = Residuals::NONE.with(cause, delta);
                    let truth = Definitions::IDEAL.with_residuals(&residuals);
                    let measured = measured_by(&terms, &truth);
                    let wrong = solve(method, &measured, &Definitions::IDEAL).unwrap();
                    reading(&wrong, &terms, fixture, part)
                };
                const STEP: f64 = 1e-5;
                let simulated = (moved(c(STEP, 0.0)) - moved(c(-STEP, 0.0))) / (2.0 * STEP);
                let at_hand = solve(
                    method,
                    &measured_by(&terms, &Definitions::IDEAL),
                    &Definitions::IDEAL,
                )
                .unwrap();
                let got = shift(&at_hand, &terms, fixture, part, cause);
                assert!(
                    (got - simulated).norm() < 1e-7,
                    "{method} {cause:?} {fixture:?}: {got} for {simulated}"
                );
            }
        }
    }
    let s = of_part(Fixture::ShuntThrough);
    for cause in [Cause::Directivity, Cause::NoiseFloor, Cause::Drift] {
        assert!(right.shift(&terms.raw(&s), cause).is_none());
    }
}

/// The same for the unknown through, of which the tracking, the match left over and the
/// definition do not matter.
#[test]
fn the_unknown_through_does_not_look_at_its_definition() {
    let (analyzer, freq_hz) = (RawAnalyzer::new(seed()), 7e8);
    let measured = analyzer.measure_standards(&Definitions::IDEAL, freq_hz, &[], None);
    let correction = solve(Method::UnknownThrough, &measured, &Definitions::IDEAL).unwrap();
    let raw = analyzer.measure(&of_part(Fixture::SeriesThrough), freq_hz, None);
    for cause in [Cause::ThroughTracking, Cause::LoadMatch] {
        let moved = correction.shift(&raw, cause).unwrap();
        for parameter in [moved.s11, moved.s12, moved.s21, moved.s22] {
            assert!(parameter.norm() < 1e-10, "{cause:?} {moved:?}");
        }
    }
    assert!(correction.shift(&raw, Cause::Load).unwrap().s21.norm() > 0.1);
    assert!(correction.shift(&raw, Cause::Crosstalk).unwrap().s21.norm() > 0.5);
}

/// A through with a known delay and loss is as good as a flush one.
#[test]
fn an_offset_through_is_as_good_as_a_flush_one() {
    let (analyzer, freq_hz) = (RawAnalyzer::new(seed()), 1.7e9);
    let line = OffsetLine {
        delay_s: 115e-12,
        zc_ohm: 47.0,
        loss_ohm_per_s: 2e9,
    };
    let kit = Kit {
        through: jigwise_physics::ThroughStandard { line },
        reflections: Trio {
            open: Standard::open([50e-15, 0.0, 0.0, 0.0]).behind(OffsetLine::of_delay(29e-12)),
            short: Standard::short([2e-12, 0.0, 0.0, 0.0]).behind(OffsetLine::of_delay(31e-12)),
            load: Standard::load(49.0),
        },
    };
    let truth = Definitions::of(&kit, freq_hz, Z0).unwrap();
    let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
    for method in [Method::OnePath, Method::Full, Method::UnknownThrough] {
        let correction = solve(method, &measured, &truth).unwrap();
        for fixture in THROUGH_FIXTURES {
            let s = of_part(fixture);
            let raw = analyzer.measure(&s, freq_hz, None);
            assert!(correction.apply(&raw).distance(&s) < 1e-12, "{method}");
        }
    }
}

/// Open and short a quarter of a wavelength apart are one reflection: the error names both and
/// the frequency. An eighth away they are two again.
#[test]
fn an_open_and_a_short_a_quarter_wave_apart_coincide() {
    let kit = Kit {
        reflections: Trio {
            short: Standard::SHORT.behind(OffsetLine::of_delay(100e-12)),
            ..Kit::IDEAL.reflections
        },
        ..Kit::IDEAL
    };
    let analyzer = RawAnalyzer::new(seed());
    let at = |freq_hz: f64| {
        let truth = Definitions::of(&kit, freq_hz, Z0).unwrap();
        let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
        solve(Method::OnePort, &measured, &truth)
    };
    // A quarter of a wave of 100 ps is 2.5 GHz.
    let error = at(2.5e9).unwrap_err();
    assert!(error.is_coincidence());
    let text = error.to_string();
    for word in [
        "the open on port 1",
        "the short on port 1",
        "2500 MHz",
        "another offset",
    ] {
        assert!(text.contains(word), "no \"{word}\" in: {text}");
    }
    assert!(at(1.25e9).is_ok());
    // The chordal distance of two points of the rim is the sine of half the angle.
    let half_angle = LEAST_SEPARATION.asin();
    let least_hz = 2.5e9 * (1.0 - 2.0 * half_angle / PI);
    assert!(at(least_hz * 0.9999).is_ok());
    assert!(at(least_hz * 1.0001).unwrap_err().is_coincidence());
}

#[test]
fn what_was_not_measured_is_named() {
    let terms = oracle_c();
    let whole = measured_by(&terms, &Definitions::IDEAL);
    let refused = |method, change: &dyn Fn(&mut MeasuredStandards)| {
        let mut measured = whole;
        change(&mut measured);
        solve(method, &measured, &Definitions::IDEAL).unwrap_err()
    };
    let piece = |error: CalibrationError| match error {
        CalibrationError::Missing { piece, .. } => piece,
        other => panic!("{other}"),
    };
    for method in [
        Method::OnePort,
        Method::EnhancedResponse,
        Method::OnePath,
        Method::Full,
        Method::UnknownThrough,
    ] {
        let error = refused(method, &|m| m.reflections[0].short = None);
        assert_eq!(piece(error), Piece::Short(Port::One), "{method}");
        let text = error.to_string();
        assert!(
            text.contains(&method.to_string()) && text.contains("measure it"),
            "{text}"
        );
    }
    for method in [Method::Full, Method::UnknownThrough] {
        let error = refused(method, &|m| m.reflections[1].load = None);
        assert_eq!(piece(error), Piece::Load(Port::Two));
    }
    for method in [
        Method::EnhancedResponse,
        Method::OnePath,
        Method::Full,
        Method::UnknownThrough,
    ] {
        let error = refused(method, &|m| m.through = None);
        assert_eq!(piece(error), Piece::Through);
    }
    let error = refused(Method::Response(Normaliser::Open), &|m| {
        *m = MeasuredStandards::default();
    });
    assert_eq!(piece(error), Piece::Open(Port::One));
    assert!(
        solve(
            Method::None,
            &MeasuredStandards::default(),
            &Definitions::IDEAL
        )
        .is_ok()
    );
}

#[test]
fn wrong_connections_are_refused_or_show() {
    let (analyzer, freq_hz) = (RawAnalyzer::new(seed()), 4e8);
    let network = of_part(Fixture::SeriesThrough);
    let raw = analyzer.measure(&network, freq_hz, None);
    let with = |method, slips: &[Connection]| {
        let measured = analyzer.measure_standards(&Definitions::IDEAL, freq_hz, slips, None);
        solve(method, &measured, &Definitions::IDEAL)
    };
    // The open left on where the short was asked for.
    let twice = Connection::OtherReflection(Piece::Short(Port::One), Complex64::ONE);
    let error = with(Method::OnePort, &[twice]).unwrap_err();
    let text = error.to_string();
    assert!(
        matches!(error, CalibrationError::SameReading { .. }),
        "{text}"
    );
    for word in [
        "the open on port 1",
        "the short on port 1",
        "measure both again",
    ] {
        assert!(text.contains(word), "{text}");
    }
    // Nothing screwed on for the through: nothing passes.
    let apart = Scattering {
        s11: Complex64::ONE,
        s12: Complex64::ZERO,
        s21: Complex64::ZERO,
        s22: Complex64::ONE,
    };
    for method in [Method::OnePath, Method::Full] {
        let slips = [Connection::OtherThrough(apart)];
        let found = with(method, &slips).map(|correction| correction.apply(&raw));
        assert!(found.is_err() || found.unwrap().distance(&network) > 0.5);
    }
    // A load that was never measured leaves the directivity in.
    let skipped = Connection::Skipped(Piece::Load(Port::One));
    let correction = with(Method::OnePort, &[skipped]).unwrap();
    let directivity = analyzer.terms(freq_hz).forward.one_port.directivity;
    assert!(correction.one_port().unwrap().directivity.norm() < 1e-15);
    let read = correction.apply_one_port(directivity);
    assert!((read.norm() / directivity.norm() - 1.0).abs() < 0.5);
    // An isolation that was never measured leaves the crosstalk x in, x·(1 − S21) of it.
    let skipped = Connection::Skipped(Piece::Isolation);
    let correction = with(Method::Full, &[skipped]).unwrap();
    assert_eq!(correction.forward().unwrap().crosstalk, Complex64::ZERO);
    let terms = analyzer.terms(freq_hz).forward;
    let left = terms.crosstalk / terms.through_tracking * (1.0 - network.s21);
    let miss = correction.apply(&raw).s21 - network.s21;
    // But for products with the raw match.
    assert!(
        (miss - left).norm() < 0.5 * left.norm(),
        "{miss} for {left}"
    );
    assert!(
        with(Method::Full, &[])
            .unwrap()
            .apply(&raw)
            .distance(&network)
            < 1e-12
    );
}

#[test]
fn readings_that_fit_nothing_are_refused() {
    let whole = measured_by(&oracle_c(), &Definitions::IDEAL);
    let mut broken = whole;
    broken.reflections[0].open = Some(c(f64::NAN, 0.0));
    let error = solve(Method::Full, &broken, &Definitions::IDEAL).unwrap_err();
    assert!(matches!(
        error,
        CalibrationError::NotFinite {
            piece: Piece::Open(Port::One),
            ..
        }
    ));
    let mut broken = whole;
    broken.through = Some(Scattering {
        s21: c(0.0, f64::INFINITY),
        ..Scattering::THROUGH
    });
    let error = solve(Method::OnePath, &broken, &Definitions::IDEAL).unwrap_err();
    assert!(matches!(
        error,
        CalibrationError::NotFinite {
            piece: Piece::Through,
            ..
        }
    ));
    // A dead receiver.
    let mut dead = whole;
    dead.reflections[0] = Trio {
        open: Some(Complex64::ZERO),
        short: Some(Complex64::ZERO),
        load: Some(Complex64::ZERO),
    };
    assert!(solve(Method::OnePort, &dead, &Definitions::IDEAL).is_err());
    let mut dead = whole;
    dead.through = Some(Scattering {
        s21: oracle_c().forward.crosstalk,
        ..whole.through.unwrap()
    });
    let error = solve(Method::OnePath, &dead, &Definitions::IDEAL).unwrap_err();
    assert!(
        matches!(
            error,
            CalibrationError::Singular {
                term: "through tracking"
            }
        ),
        "{error}"
    );
    // Two raw readings that no passive port gives: Γ = 1 and Γ = −1 both at infinity nearly.
    let error = OnePortTerms::solve(&[
        (c(1.0, 0.0), c(1e300, 0.0)),
        (c(-1.0, 0.0), c(-1e300, 0.0)),
        (c(0.0, 0.0), c(0.0, 0.0)),
    ])
    .unwrap_err();
    assert!(!error.to_string().is_empty());
    let error = OnePortTerms::solve(&[]).unwrap_err();
    assert_eq!(error, CalibrationError::TooFew { found: 0 });
}

/// The sizes the trade knows of a raw instrument (common practice, no source): directivity
/// 25 to 30 dB, source match 15 to 20 dB. Terms run smoothly with frequency.
#[test]
fn the_invented_analyzer_has_the_sizes_of_a_raw_one() {
    let db = |size: Complex64| -20.0 * size.norm().log10();
    for number in 0..40 {
        let analyzer = RawAnalyzer::new(number);
        let mut before: Option<TwelveTerms> = None;
        for step in 0..2000 {
            let freq_hz = 1e6 + 2e6 * f64::from(step);
            let terms = analyzer.terms(freq_hz);
            for direction in [terms.forward, terms.reverse] {
                assert!((24.9..30.2).contains(&db(direction.one_port.directivity)));
                assert!((14.9..20.2).contains(&db(direction.one_port.source_match)));
                assert!((11.0..30.0).contains(&db(direction.load_match)));
                assert!((75.0..95.0).contains(&db(direction.crosstalk)));
                assert!((0.5..1.0).contains(&direction.one_port.reflect_tracking.norm()));
            }
            if let Some(before) = before {
                let moved = terms.forward.through_tracking - before.forward.through_tracking;
                // 2 MHz turn 5 ns by 0.063 rad.
                assert!(moved.norm() < 0.1 * TAU / 6.0, "{moved} at {freq_hz}");
            }
            before = Some(terms);
        }
    }
}

/// Raw readings scatter as the budget says of a reading of that size.
#[test]
fn raw_noise_is_that_of_the_budget() {
    let instrument = Instrument::HANDHELD;
    let budget = Budget::new(&instrument, Z0, 0).unwrap();
    let mut draws = Draws::new(seed());
    let (analyzer, freq_hz) = (RawAnalyzer::new(1), 2e8);
    let network = of_part(Fixture::ShuntThrough);
    let clean = analyzer.measure(&network, freq_hz, None);
    let count = 20_000;
    let mut squares = [0.0; 2];
    for _ in 0..count {
        let noisy = analyzer.measure(&network, freq_hz, Some((&budget, &mut draws)));
        let turned = (noisy.s21 - clean.s21) * clean.s21.conj() / clean.s21.norm();
        squares[0] += turned.re * turned.re;
        squares[1] += turned.im * turned.im;
    }
    let floor = instrument.through_floor.powi(2) * instrument.ifbw_hz
        / instrument.floor_ifbw_hz
        / f64::from(instrument.averages);
    let size = clean.s21.norm_sqr();
    for (square, trace) in squares
        .into_iter()
        .zip([instrument.trace_magnitude, instrument.trace_phase_rad])
    {
        let want = 0.5 * floor + size * trace * trace;
        let got = square / f64::from(count);
        // Four standard errors of a variance from 20 000 draws: 4 %.
        assert!((got / want - 1.0).abs() < 0.04, "{got} for {want}");
    }
}
