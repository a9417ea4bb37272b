//! `jig blend`: one estimate from several fixtures, its agreement and what it can't reveal.
//!
//! The law of imperfect standards (a load of 51 Ω taken for 50 Ω: Z' = Z·50/51 in every
//! fixture) is the oracle: all readings agree and all are wrong alike.

use std::process::ExitCode;

use jigwise_bench::{Complex64, Fixture, Immittance, ReferenceImpedance};
use jigwise_tests::jig::{jig, json, refuses};

const FLAGS: [&str; 3] = ["--reflect", "--shunt-through", "--series-through"];

fn readings(ohm: Complex64) -> Vec<String> {
    let part = Immittance::from_impedance(ohm).unwrap();
    Fixture::ALL
        .into_iter()
        .zip(FLAGS)
        .map(|(fixture, flag)| {
            let s = fixture
                .reading(part, ReferenceImpedance::FIFTY_OHM)
                .value()
                .unwrap();
            let sign = if s.im < 0.0 { '-' } else { '+' };
            format!("{flag}={:e} {sign} j{:e}", s.re, s.im.abs())
        })
        .collect()
}

fn arguments<'a>(readings: &'a [String], more: &[&'a str]) -> Vec<&'a str> {
    let mut all = vec!["blend"];
    all.extend(readings.iter().map(String::as_str));
    all.extend(more);
    all
}

#[test]
fn a_wrong_load_is_agreed_on_by_all() {
    let wrong = Complex64::new(100.0, 40.0) * (50.0 / 51.0);
    let texts = readings(wrong);
    let found = json(&arguments(&texts, &["--instrument", "laboratory"]));
    let z = &found["impedance"];
    let back = Complex64::new(z["r_ohm"].as_f64().unwrap(), z["x_ohm"].as_f64().unwrap());
    assert!((back / wrong - 1.0).norm() < 1e-9, "{back}");
    assert!(found["agreement"]["p"].as_f64().unwrap() > 0.999);
    assert_eq!(found["used"].as_array().unwrap().len(), 3);
    assert_eq!(found["agreement"]["degrees_of_freedom"], 4);
    // −2δL is common to all: no blend is better than the load, −56 dB rms, half a component.
    let load_term = 2.0 * 10f64.powf(-56.0 / 20.0) / 2f64.sqrt() * wrong.norm();
    assert!(found["u_r_ohm"].as_f64().unwrap() >= load_term);
    let said = jig(&arguments(&texts, &[])).out;
    assert!(
        said.contains("1.96") && said.contains("levels up to"),
        "{said}"
    );
}

#[test]
fn contradictions_and_blind_fixtures_are_refused() {
    let mut texts = readings(Complex64::new(100.0, 0.0));
    texts[2] = readings(Complex64::new(180.0, 0.0))[2].clone();
    let found = jig(&arguments(&texts, &["--instrument", "laboratory"]));
    assert_eq!(found.code, ExitCode::FAILURE, "{}", found.err);
    for words in ["No blend", "contradict", "χ²"] {
        assert!(found.out.contains(words), "{}", found.out);
    }
    let far = readings(Complex64::new(1e6, 0.0));
    refuses(&arguments(&far, &[]), &["two fixtures"]);
    refuses(&["blend", "--reflect", "half"], &["half", "no number"]);
    refuses(&["blend"], &["two fixtures"]);
}
