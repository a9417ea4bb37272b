//! Calibrations that can't be solved, or that went wrong at the bench.

use std::f64::consts::PI;

use jigwise_physics::{
    CalibrationError, Complex64, Connection, Definitions, Fixture, Kit, MIN_SEPARATION,
    MeasuredStandards, Method, Normaliser, OffsetLine, OnePortTerms, Piece, Port, RawAnalyzer,
    ReflectionStandard, Scattering, Standard, Trio, solve,
};
use jigwise_tests::raw_chain::{Z0, c, measured_by, of_part, oracle_c};
use jigwise_tests::seed::seed;

/// Open and short a quarter of a wavelength apart are one reflection: the error names both and
/// the frequency. An eighth away they are two again.
#[test]
fn an_open_and_a_short_a_quarter_wave_apart_coincide() {
    let kit = Kit {
        reflections: Trio {
            short: Standard::SHORT.behind(OffsetLine {
                delay_s: 100e-12,
                ..OffsetLine::FLUSH
            }),
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
    let half_angle = MIN_SEPARATION.asin();
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
        Method::OnePortAndThrough,
        Method::OneDirection,
        Method::BothDirections,
        Method::UnknownThrough,
    ] {
        let error = refused(method, &|m| m.reflections[0].short = None);
        assert_eq!(
            piece(error),
            Piece::Reflection(ReflectionStandard::Short, Port::One),
            "{method}"
        );
        let text = error.to_string();
        assert!(
            text.contains(&method.to_string()) && text.contains("measure it"),
            "{text}"
        );
    }
    for method in [Method::BothDirections, Method::UnknownThrough] {
        let error = refused(method, &|m| m.reflections[1].load = None);
        assert_eq!(
            piece(error),
            Piece::Reflection(ReflectionStandard::Load, Port::Two)
        );
    }
    for method in [
        Method::OnePortAndThrough,
        Method::OneDirection,
        Method::BothDirections,
        Method::UnknownThrough,
    ] {
        let error = refused(method, &|m| m.through = None);
        assert_eq!(piece(error), Piece::Through);
    }
    for by in [Normaliser::Open, Normaliser::OpenAndThrough] {
        let error = refused(Method::Scaled(by), &|m| m.reflections[0].open = None);
        assert_eq!(
            piece(error),
            Piece::Reflection(ReflectionStandard::Open, Port::One)
        );
    }
    for by in [Normaliser::Through, Normaliser::ShortAndThrough] {
        let error = refused(Method::Scaled(by), &|m| m.through = None);
        assert_eq!(piece(error), Piece::Through);
    }
    assert!(
        solve(
            Method::Raw,
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
    let twice = Connection::OtherReflection(
        Piece::Reflection(ReflectionStandard::Short, Port::One),
        Complex64::ONE,
    );
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
    for method in [Method::OneDirection, Method::BothDirections] {
        let slips = [Connection::OtherThrough(apart)];
        let found = with(method, &slips).map(|correction| correction.apply(&raw));
        assert!(found.is_err() || found.unwrap().distance(&network) > 0.5);
    }
    // A load that was never measured leaves the directivity in.
    let skipped = Connection::Skipped(Piece::Reflection(ReflectionStandard::Load, Port::One));
    let correction = with(Method::OnePort, &[skipped]).unwrap();
    let directivity = analyzer.terms(freq_hz).forward.one_port.directivity;
    assert!(correction.one_port().unwrap().directivity.norm() < 1e-15);
    let read = correction.apply_one_port(directivity);
    assert!((read.norm() / directivity.norm() - 1.0).abs() < 0.5);
    // An isolation that was never measured leaves the crosstalk x in, x·(1 − S21) of it.
    let skipped = Connection::Skipped(Piece::Isolation);
    let correction = with(Method::BothDirections, &[skipped]).unwrap();
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
        with(Method::BothDirections, &[])
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
    let error = solve(Method::BothDirections, &broken, &Definitions::IDEAL).unwrap_err();
    assert!(matches!(
        error,
        CalibrationError::NotFinite {
            piece: Piece::Reflection(ReflectionStandard::Open, Port::One),
            ..
        }
    ));
    let mut broken = whole;
    broken.through = Some(Scattering {
        s21: c(0.0, f64::INFINITY),
        ..Scattering::THROUGH
    });
    let error = solve(Method::OneDirection, &broken, &Definitions::IDEAL).unwrap_err();
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
    let error = solve(Method::OneDirection, &dead, &Definitions::IDEAL).unwrap_err();
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
