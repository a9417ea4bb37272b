//! Regions wherever the command says that `--json` and `--csv` hold one: with blanks, and in a
//! blend.

use std::f64::consts::{SQRT_2, TAU};

use jigwise_physics::{
    Budget, Complex64, Draws, Fixture, Instrument, LEFT_SHARE, ReferenceImpedance,
    StandardsResiduals, Systematic, Trust,
};
use jigwise_reduce::{Recipe, Reducer};
use jigwise_tests::jig::json;
use jigwise_tests::seed::seed;
use jigwise_tests::workspace;
use jigwise_touchstone::Sweep;

/// Issue 13, line 8: the choke in reflect with its two blanks, where the region was null.
#[test]
fn every_point_that_wants_a_region_has_one() {
    let folder = workspace::root().join("exercises/measurements/choke");
    let file = |name: &str| folder.join(name).to_str().unwrap().to_owned();
    let (calibration, reflect) = (file("cal.toml"), file("choke-reflect.s1p"));
    let blanks = ["empty", "shorted"].map(|name| file(&format!("choke-reflect-{name}.s1p")));
    let (series, gap) = (file("choke.s2p"), file("choke-empty.s2p"));
    let known = ["--calibration", &calibration, "--instrument", "handheld"];
    let of_reflect = ["--blank", &blanks[0], "--blank", &blanks[1]];
    for (files, fixture, blanks) in [
        (vec![reflect.as_str()], "reflect", of_reflect.to_vec()),
        (
            vec![series.as_str()],
            "series-through",
            vec!["--blank", &gap],
        ),
        (
            vec![reflect.as_str(), series.as_str()],
            "reflect,series-through",
            [&of_reflect[..], &["--blank", &gap]].concat(),
        ),
    ] {
        let start = [&["reduce"], &files[..], &["--fixture", fixture]].concat();
        let found = json(&[&start[..], &known, &blanks].concat());
        let mut told = 0;
        for point in found["points"].as_array().unwrap() {
            let is_linear = point["trust"] == "linear";
            let region = &point["region"];
            assert_eq!(region.is_null(), is_linear, "{fixture}: {point}");
            if !is_linear {
                told += 1;
                let is_blend = point["used"].is_array();
                let by = if is_blend {
                    "linear"
                } else {
                    "exact but for the blanks"
                };
                assert_eq!(region["by"], by, "{point}");
            }
        }
        assert!(told >= 3, "{fixture}: {told} points want a region");
    }
}

/// A reading's noise as a floor and nothing else.
fn only_floor(sigma: f64) -> Budget {
    let quiet = Instrument {
        systematic: Systematic::Standards(StandardsResiduals {
            load: 0.0,
            open: 0.0,
            short: 0.0,
            through_tracking: 0.0,
            crosstalk: 0.0,
            load_match: 0.0,
        }),
        through_floor: sigma * SQRT_2,
        trace_magnitude: 0.0,
        trace_phase_rad: 0.0,
        ..Instrument::HANDHELD
    };
    Budget::new(&quiet, ReferenceImpedance::FIFTY_OHM, 0).unwrap()
}

/// Of 1 000 parts read near the pole of the inverse, with blanks read by the same noise, at least
/// 917 lie in their region: by the algebra of design §4, the share of the blank that is in doubt
/// drawn as well. A region is never smaller than 95 % and larger where the doubt has a direction.
#[test]
fn regions_with_blanks_hold_the_part() {
    const RUNS: usize = 1_000;
    let mut draws = Draws::new(seed());
    let hz = 20e6;
    let jw = Complex64::new(0.0, TAU * hz);
    let series = |z: Complex64| 100.0 / (z + 100.0);
    let shunt = |z: Complex64| 2.0 * z / (2.0 * z + 50.0);
    for (fixture, z_ohm, stray, sigma) in [
        (
            Fixture::SeriesThrough,
            Complex64::new(4e3, 2e3),
            0.1e-12,
            2e-3,
        ),
        (
            Fixture::SeriesThrough,
            Complex64::new(2e3, -1e3),
            0.2e-12,
            4e-3,
        ),
        (
            Fixture::SeriesThrough,
            Complex64::new(3e3, -1e3),
            0.5e-12,
            1.5e-3,
        ),
        (
            Fixture::ShuntThrough,
            Complex64::new(300.0, 900.0),
            3e-9,
            3e-3,
        ),
    ] {
        let is_series = fixture == Fixture::SeriesThrough;
        let noise = |draws: &mut Draws| draws.circular(sigma * sigma);
        let (mut part, mut blank) = (Vec::new(), Vec::new());
        for _ in 0..RUNS {
            let size = stray * (1.0 + LEFT_SHARE * draws.normal());
            let (read, empty) = if is_series {
                let all = 1.0 / (1.0 / z_ohm + jw * size);
                (series(all), series(1.0 / (jw * stray)))
            } else {
                (shunt(z_ohm + jw * size), shunt(jw * stray))
            };
            part.push(read + noise(&mut draws));
            blank.push(empty + noise(&mut draws));
        }
        let sweep = |s: Vec<Complex64>| {
            let s = s
                .into_iter()
                .flat_map(|s| [Complex64::ZERO, s, s, Complex64::ZERO]);
            let freq_hz = (0..RUNS).map(|k| hz + k as f64).collect();
            Sweep::new(2, &[50.0], freq_hz, s.collect()).unwrap()
        };
        let recipe = Recipe {
            blanks: vec![sweep(blank)],
            blank_share: LEFT_SHARE,
            budget: Some(only_floor(sigma).into()),
            ..Recipe::default()
        };
        let part = sweep(part);
        let reducer = Reducer::new(&part, fixture, &recipe).unwrap();
        let (mut held, mut untrusted) = (0, 0);
        for point in reducer.run(0..RUNS) {
            let known = point.unwrap().uncertainty.unwrap();
            untrusted += usize::from(known.trust != Trust::Linear);
            held += usize::from(known.region.unwrap().contains(z_ohm) == Some(true));
        }
        let cell = format!("{fixture:?}, {z_ohm} Ω, seed {}", seed());
        assert!(held >= 917, "{cell}: {held}");
        assert!(untrusted > RUNS / 2, "{cell}: {untrusted} want a region");
    }
}
