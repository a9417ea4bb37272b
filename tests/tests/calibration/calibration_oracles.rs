//! Calibration against check values and laws.
//!
//! Sources of the models: Rumiantsev and Ridler, IEEE Microwave Magazine 9(3), 86–99, 2008
//! (one-port, twelve terms); Ferrero and Pisani, IEEE MGWL 2(12), 505–507, 1992 (unknown
//! through). The numbers were computed outside the project with numpy, the twelve-term ones
//! the same in scikit-rf 2.2.0 to 1e-16, and rounded to the digits shown.

use jigwise_physics::{
    Complex64, Definitions, DirectionTerms, Fixture, Immittance, Kit, MeasuredStandards, Method,
    Network, Normaliser, OffsetLine, OnePortTerms, RawAnalyzer, Scattering, Standard, SwitchTerms,
    Termination, Trio, TwelveTerms, solve,
};
use jigwise_tests::raw_chain::{
    THROUGH_FIXTURES, Z0, c, gamma_of, impedance_of, measured_by, near_printed, of_part, ohm,
    oracle_a, oracle_c, polar,
};
use jigwise_tests::seed::seed;

#[track_caller]
fn same_terms(found: &OnePortTerms, want: &OnePortTerms, tolerance: f64) {
    near_printed(found.directivity, want.directivity, tolerance);
    near_printed(found.source_match, want.source_match, tolerance);
    near_printed(found.reflect_tracking, want.reflect_tracking, tolerance);
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
        (ohm(50.0, 0.0), c(0.05, -0.03)),
        (ohm(75.0, 25.0), c(0.307046335, -0.049554560)),
        (ohm(5.0, -30.0), c(-0.725178230, -0.251901754)),
        (ohm(1e3, 0.0), c(0.793179447, -0.559125375)),
    ];
    for (part, raw) in printed {
        near_printed(terms.raw(gamma_of(part)), raw, NINE_DECIMALS);
    }
    // From the printed readings, as far as their digits go.
    let standards: Vec<_> = printed[..3]
        .iter()
        .map(|&(part, raw)| (gamma_of(part), raw))
        .collect();
    let rounded = OnePortTerms::solve(&standards).unwrap();
    same_terms(&rounded.terms, &terms, 3e-9);
    for (part, raw) in printed {
        near_printed(rounded.terms.correct(raw), gamma_of(part), 5e-9);
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
        near_printed(fit.terms.correct(terms.raw(gamma)), gamma, 1e-12);
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
    near_printed(known.open, c(0.99950664, -0.03140818), EIGHT_DECIMALS);
    near_printed(known.short, c(-0.99998737, 0.00502652), EIGHT_DECIMALS);
    near_printed(known.load, c(-0.00498505, 0.00634624), EIGHT_DECIMALS);

    let terms = oracle_a();
    let raw = [known.open, known.short, known.load].map(|gamma| terms.raw(gamma));
    near_printed(raw[0], c(0.86662888, -0.64331744), EIGHT_DECIMALS);
    near_printed(raw[1], c(-0.54558444, 0.55364768), EIGHT_DECIMALS);
    near_printed(raw[2], c(0.05023768, -0.02258684), EIGHT_DECIMALS);

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
        (ohm(75.0, 25.0), c(75.2245, 24.7547), 8e-5),
        (ohm(5.0, -30.0), c(4.3575, -30.8417), 8e-5),
        (ohm(1e3, 0.0), c(926.76, 265.06), 8e-3),
    ] {
        let gamma = wrong.apply_one_port(terms.raw(gamma_of(part)));
        near_printed(impedance_of(Fixture::Reflect, gamma), printed, tolerance);
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
    let full = solve(Method::BothDirections, &measured, &Definitions::IDEAL).unwrap();
    let found = full.twelve_terms().unwrap();
    for (found, want) in [
        (found.forward, terms.forward),
        (found.reverse, terms.reverse),
    ] {
        same_terms(&found.one_port, &want.one_port, 1e-12);
        near_printed(found.load_match, want.load_match, 1e-12);
        near_printed(found.through_tracking, want.through_tracking, 1e-12);
        near_printed(found.crosstalk, want.crosstalk, 1e-12);
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
fn open_and_through_leaves_the_matches_and_one_port_and_through_the_load_match() {
    const FOUR_DECIMALS: f64 = 8e-5;
    let [shunt, series] = ohms_by(Method::Scaled(Normaliser::OpenAndThrough));
    near_printed(shunt, c(16.5917, -13.1115), FOUR_DECIMALS);
    near_printed(series, c(16.7114, -13.4923), FOUR_DECIMALS);
    let [shunt, series] = ohms_by(Method::OnePortAndThrough);
    near_printed(shunt, c(19.4921, -13.2315), FOUR_DECIMALS);
    near_printed(series, c(19.5500, -13.1000), FOUR_DECIMALS);
    let [shunt, series] = ohms_by(Method::Raw);
    assert!((shunt - c(20.0, -15.0)).norm() > 10.0);
    assert!((series - c(20.0, -15.0)).norm() > 10.0);
}

#[test]
fn one_direction_and_both_are_exact() {
    for method in [Method::OneDirection, Method::BothDirections] {
        for z in ohms_by(method) {
            near_printed(z, c(20.0, -15.0), 1e-12 * 25.0);
        }
    }
}

/// After open and through the ohms of both fixtures are wrong by a factor that does not
/// depend on the part: (Z0/2)/(Zs ∥ Zl) and 2·Z0/(Zs + Zl) with the source and load impedances.
#[test]
fn open_and_through_is_a_constant_factor() {
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
        let by_through = Method::Scaled(Normaliser::ShortAndThrough);
        let correction = solve(by_through, &measured, &Definitions::IDEAL).unwrap();
        for part in [ohm(1.0, 3.0), ohm(20.0, -15.0), ohm(3e3, 1e3)] {
            let z = part.impedance().unwrap();
            let read = |network: Network, fixture| {
                let s = network.scattering(Z0).unwrap();
                impedance_of(fixture, correction.apply(&terms.raw(&s)).s21) / z
            };
            let factor = read(Network::shunt(part), Fixture::ShuntThrough);
            near_printed(factor, c(shunt, 0.0), 1e-6);
            let factor = read(Network::series(part), Fixture::SeriesThrough);
            near_printed(factor, c(series, 0.0), 1e-6);
        }
    }
}

/// Reflection divided by a standard: the standard itself reads right, a match reads the directivity.
#[test]
fn a_division_is_right_at_its_standard_only() {
    let terms = oracle_c();
    let measured = measured_by(&terms, &Definitions::IDEAL);
    for (by, gamma) in [(Normaliser::Open, 1.0), (Normaliser::Short, -1.0)] {
        let correction = solve(Method::Scaled(by), &measured, &Definitions::IDEAL).unwrap();
        let read = |gamma: f64| correction.apply_one_port(oracle_a().raw(c(gamma, 0.0)));
        near_printed(read(gamma), c(gamma, 0.0), 1e-15);
        assert!((read(-gamma) - c(-gamma, 0.0)).norm() > 0.1);
        let scale = oracle_a().raw(c(gamma, 0.0)) * gamma;
        near_printed(read(0.0), c(0.05, -0.03) / scale, 1e-15);
    }
}

/// What the name of a division leaves out stays raw, to the last bit.
#[test]
fn a_division_touches_what_it_names_and_nothing_else() {
    let terms = oracle_c();
    let measured = measured_by(&terms, &Definitions::IDEAL);
    let raw = terms.raw(&Network::series(ohm(20.0, -15.0)).scattering(Z0).unwrap());
    for (by, reflects, passes) in [
        (Normaliser::Open, true, false),
        (Normaliser::Short, true, false),
        (Normaliser::Through, false, true),
        (Normaliser::OpenAndThrough, true, true),
        (Normaliser::ShortAndThrough, true, true),
    ] {
        let correction = solve(Method::Scaled(by), &measured, &Definitions::IDEAL).unwrap();
        let found = correction.apply(&raw);
        assert_eq!(found.s11 != raw.s11, reflects, "{by:?}");
        assert_eq!(found.s21 != raw.s21, passes, "{by:?}");
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
    near_printed(z, c(-8.5366, 1.8293), 8e-5);

    // Taken for flush the same readings mislead the method that knows its through, and without the switch terms
    // the unknown through.
    let full = solve(Method::BothDirections, &measured, &Definitions::IDEAL).unwrap();
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
