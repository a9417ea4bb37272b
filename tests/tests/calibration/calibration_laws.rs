//! Laws that hold for every calibration, whatever the analyzer.

use std::f64::consts::PI;

use jigwise_physics::{
    Cause, Complex64, Definitions, Fixture, Immittance, Kit, Method, Network, OffsetLine, Port,
    RawAnalyzer, Residuals, Standard, ThroughStandard, Trio, solve,
};
use jigwise_tests::raw_chain::{
    THROUGH_FIXTURES, Z0, c, gamma_of, impedance_of, near_printed, of_part, ohm,
};
use jigwise_tests::seed::{for_all, seed};
use proptest::prelude::*;

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
    let correction = solve(Method::BothDirections, &measured, &Definitions::IDEAL).unwrap();
    for part in [ohm(3.0, 4.0), ohm(120.0, -33.0)] {
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
            near_printed(
                impedance_of(fixture, reading) / z,
                c(50.0 / 51.0, 0.0),
                1e-12,
            );
        }
    }
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
        through: ThroughStandard { line },
        reflections: Trio {
            open: Standard::open([50e-15, 0.0, 0.0, 0.0]).behind(OffsetLine {
                delay_s: 29e-12,
                ..OffsetLine::FLUSH
            }),
            short: Standard::short([2e-12, 0.0, 0.0, 0.0]).behind(OffsetLine {
                delay_s: 31e-12,
                ..OffsetLine::FLUSH
            }),
            load: Standard::load(49.0),
        },
    };
    let truth = Definitions::of(&kit, freq_hz, Z0).unwrap();
    let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
    for method in [
        Method::OneDirection,
        Method::BothDirections,
        Method::UnknownThrough,
    ] {
        let correction = solve(method, &measured, &truth).unwrap();
        for fixture in THROUGH_FIXTURES {
            let s = of_part(fixture);
            let raw = analyzer.measure(&s, freq_hz, None);
            assert!(correction.apply(&raw).distance(&s) < 1e-12, "{method}");
        }
    }
}
