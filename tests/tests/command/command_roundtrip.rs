//! `jig roundtrip`: is a published formula the inverse of a fixture? Verdicts are checked
//! against the three inverses of the textbook circuits, Z = Z0·(1 + S)/(1 − S),
//! (Z0/2)·S/(1 − S), 2·Z0·(1 − S)/S, and counterexamples by working them out again from the
//! printed numbers.

use std::process::ExitCode;

use jigwise_tests::answers::KEYS;
use jigwise_tests::expected::near_by_share;
use jigwise_tests::jig::{jig, refuses};
use jigwise_tests::seed::for_all;
use jigwise_tests::shown::complex;
use num_complex::Complex64;
use proptest::prelude::*;

const INVERSES: [&str; 3] = ["Z0*(1+S)/(1-S)", "Z0/2*S/(1-S)", "2*Z0*(1-S)/S"];

fn ask(fixture: &str, formula: &str, reference: &str) -> Vec<String> {
    let found = jig(&[
        "roundtrip",
        "--fixture",
        fixture,
        "--formula",
        formula,
        "--reference",
        reference,
    ]);
    let expected = match found.out.starts_with("Wrong") {
        true => ExitCode::FAILURE,
        false => ExitCode::SUCCESS,
    };
    assert_eq!(found.code, expected, "{formula}: {}", found.err);
    assert_eq!(found.err, "");
    found.out.lines().map(str::to_owned).collect()
}

struct Counterexample {
    ohm: Complex64,
    reading: Complex64,
    found: Option<Complex64>,
}

/// "A part of Z reads S11 = S; the formula makes Z of it."
fn counterexample(line: &str) -> Counterexample {
    let rest = line
        .strip_prefix("A part of ")
        .unwrap_or_else(|| panic!("{line}"));
    let (part, rest) = rest.split_once(" reads S").unwrap();
    let (reading, rest) = rest.split_once("; the formula makes ").unwrap();
    let found = rest.strip_suffix(" of it.").unwrap();
    Counterexample {
        ohm: complex(part),
        reading: complex(reading.split_once(" = ").unwrap().1),
        found: (found != "no value").then(|| complex(found)),
    }
}

fn reading(fixture: &str, ohm: Complex64, z0: f64) -> Complex64 {
    match fixture {
        "reflect" => (ohm - z0) / (ohm + z0),
        "shunt-through" => 2.0 * ohm / (2.0 * ohm + z0),
        _ => 2.0 * z0 / (ohm + 2.0 * z0),
    }
}

fn inverse(k: usize, s: Complex64, z0: f64) -> Complex64 {
    match k {
        0 => z0 * (1.0 + s) / (1.0 - s),
        1 => z0 / 2.0 * s / (1.0 - s),
        _ => 2.0 * z0 * (1.0 - s) / s,
    }
}

#[test]
fn each_inverse_is_right_in_its_own_fixture_and_named_in_the_others() {
    for reference in ["50", "75"] {
        let z0: f64 = reference.parse().unwrap();
        for (k, formula) in INVERSES.into_iter().enumerate() {
            for (j, fixture) in KEYS.into_iter().enumerate() {
                let lines = ask(fixture, formula, reference);
                if j == k {
                    assert_eq!(lines.len(), 1, "{lines:?}");
                    let start = format!("Right: Z = {formula} gives back all ");
                    let rest = lines[0].strip_prefix(&start).unwrap();
                    let tried: usize = rest.split(' ').next().unwrap().parse().unwrap();
                    assert!(tried >= 100, "{lines:?}");
                    assert!(
                        rest.ends_with(&format!("in the {fixture} fixture.")),
                        "{lines:?}"
                    );
                    continue;
                }
                assert_eq!(lines.len(), 3, "{lines:?}");
                assert_eq!(lines[0], format!("Wrong in the {fixture} fixture."));
                let shown = counterexample(&lines[1]);
                near_by_share(shown.reading, reading(fixture, shown.ohm, z0), 1e-4);
                let made = shown.found.unwrap();
                near_by_share(made, inverse(k, shown.reading, z0), 1e-3);
                assert!((made / shown.ohm - 1.0).norm() > 0.1, "{lines:?}");
                let hint = format!("It is the right formula of the {} fixture.", KEYS[k]);
                assert_eq!(lines[2], hint);
            }
        }
    }
}

/// Ways to write the same formula are all right; a slip of sign or factor is not.
#[test]
fn other_spellings_and_common_slips() {
    for (fixture, formula) in [
        ("reflect", "Z0*(1 + S)/(1 − S)"),
        ("reflect", "-Z0*(S+1)/(S-1)"),
        ("reflect", "Z0*(2/(1-S) - 1)"),
        ("shunt-through", "Z0/(2*(1/S - 1))"),
        ("shunt-through", "25*Z0/50*S*(1-S)^-1"),
        ("series-through", "2×Z0·(1/S − 1)"),
        ("series-through", "sqrt(4*Z0^2)*(1-S)/S"),
    ] {
        let lines = ask(fixture, formula, "75");
        assert!(lines[0].starts_with("Right: "), "{formula}: {lines:?}");
    }
    for (fixture, formula) in [
        ("reflect", "Z0*(1-S)/(1+S)"),
        ("shunt-through", "2*Z0*S/(1-S)"),
        ("shunt-through", "Z0*S/(1-S)"),
        ("series-through", "Z0*(1-S)/S"),
        ("series-through", "2*50*(1-S)/S"),
        ("series-through", "-2*Z0*(1-S)/S"),
        ("reflect", "S"),
        ("reflect", "Z0"),
    ] {
        let lines = ask(fixture, formula, "75");
        assert_eq!(
            lines[0],
            format!("Wrong in the {fixture} fixture."),
            "{formula}"
        );
        assert_eq!(lines.len(), 2, "{formula}: {lines:?}");
        let shown = counterexample(&lines[1]);
        near_by_share(shown.reading, reading(fixture, shown.ohm, 75.0), 1e-4);
    }
}

/// |S| in place of S holds for resistors; 1/S̄ in place of S where |S| = 1; the first terms of
/// the series in z far from Z0.
#[test]
fn half_truths_say_for_which_parts() {
    type Twin = fn(Complex64) -> Complex64;
    for (fixture, formula, kinds, twin) in [
        (
            "shunt-through",
            "Z0/2*abs(S)/(1-abs(S))",
            "for resistors",
            (|s| inverse(1, s.norm().into(), 50.0)) as Twin,
        ),
        (
            "reflect",
            "Z0*(1+conj(S))/(1-conj(S))",
            "for resistors",
            |s| inverse(0, s.conj(), 50.0),
        ),
        (
            "reflect",
            "Z0*(1+1/conj(S))/(1-1/conj(S))",
            "for pure reactances",
            |s| inverse(0, 1.0 / s.conj(), 50.0),
        ),
        (
            "shunt-through",
            "Z0/2*S",
            "to a few percent far below Z0",
            |s| 25.0 * s,
        ),
        (
            "series-through",
            "2*Z0/S",
            "to a few percent far above Z0",
            |s| 100.0 / s,
        ),
        (
            "reflect",
            "Z0/2*(1+S)",
            "to a few percent far below Z0",
            |s| 25.0 * (1.0 + s),
        ),
    ] {
        let lines = ask(fixture, formula, "50");
        assert_eq!(lines.len(), 2, "{formula}: {lines:?}");
        assert_eq!(lines[0], format!("Right only {kinds}."), "{formula}");
        let shown = counterexample(&lines[1]);
        near_by_share(shown.reading, reading(fixture, shown.ohm, 50.0), 1e-4);
        let made = shown.found.unwrap();
        near_by_share(made, twin(shown.reading), 1e-3);
        assert!((made / shown.ohm - 1.0).norm() > 0.025, "{lines:?}");
        // The part that fails is none of those it is right for.
        let far = shown.ohm.norm() / 50.0;
        let holds = match kinds {
            "for resistors" => shown.ohm.im == 0.0,
            "for pure reactances" => shown.ohm.re == 0.0,
            "to a few percent far below Z0" => far <= 0.01,
            _ => far >= 100.0,
        };
        assert!(!holds, "{lines:?}");
    }
}

#[test]
fn a_division_by_zero_is_no_value() {
    for formula in [
        "1/0",
        "Z0/(S-S)",
        "S/(1-1)",
        "0/0",
        "Z0*1e300*1e300",
        "0^-1",
    ] {
        for fixture in KEYS {
            let lines = ask(fixture, formula, "50");
            assert_eq!(
                lines[0],
                format!("Wrong in the {fixture} fixture."),
                "{formula}"
            );
            assert!(
                lines[1].ends_with("the formula makes no value of it."),
                "{lines:?}"
            );
            assert!(counterexample(&lines[1]).found.is_none());
        }
    }
}

#[test]
fn what_is_no_formula_says_where_and_why() {
    let deep = format!("{}S{}", "(".repeat(100), ")".repeat(100));
    let signs = format!("{}S", "-".repeat(100));
    let long = vec!["S"; 501].join("+");
    for (formula, column, words) in [
        ("2*Z0*(1-T)/S", 9, ["\"T\"", "S, Z0, j"]),
        ("2*z0*(1-S)/S", 3, ["\"z0\"", "did you mean \"Z0\""]),
        ("2*Z0*(1-S21)/S21", 9, ["S21", "the reading is S"]),
        ("absolute(S)", 1, ["absolute", "did you mean \"abs\""]),
        ("2 Z0*(1-S)/S", 3, ["sign between them", "2*Z0"]),
        ("Z0*(1+S", 4, ["never closed", ")"]),
        ("Z0*(1+S))", 9, ["closes nothing", "("]),
        ("Z0*(1+S)/", 10, ["ends where", "number"]),
        ("Z0**S", 4, ["'*'", "was expected"]),
        ("Z0*(1+S)/(1-S)!", 15, ["'!'", "no meaning"]),
        ("1.2.3*S", 1, ["1.2.3", "no number"]),
        ("1e999*S", 1, ["1e999", "no number"]),
        ("abs S", 5, ["abs", "brackets"]),
        ("", 1, ["nothing there", "Z0*(1+S)/(1-S)"]),
        ("   ", 1, ["nothing there", "Z0*(1+S)/(1-S)"]),
        (&deep, 66, ["more than 64", "simplify"]),
        (&signs, 66, ["more than 64", "simplify"]),
        (&long, 1001, ["more than 1000", "characters"]),
    ] {
        let message = refuses(
            &["roundtrip", "--fixture", "reflect", "--formula", formula],
            &words,
        );
        assert_eq!(message.lines().count(), 1, "{message}");
        let place = format!("formula, column {column}: ");
        assert!(message.contains(&place), "no \"{place}\" in {message}");
    }
    let unknown = ["roundtrip", "--fixture", "serie-through", "--formula", "S"];
    refuses(&unknown, &["serie-through", "series-through"]);
    let zero = [
        "roundtrip",
        "--fixture",
        "reflect",
        "--formula",
        "S",
        "--reference",
        "0",
    ];
    refuses(&zero, &["0", "above zero"]);
    refuses(&["roundtrip", "--fixture", "reflect"], &["--formula"]);
    refuses(&["roundtrip", "--formula", "S"], &["--fixture"]);
}

/// Any heap of signs is a formula or an error with its column.
#[test]
fn random_tokens_never_panic() {
    let token = prop::sample::select(vec![
        "S", "Z0", "Z₀", "j", "sqrt", "conj", "abs", "(", ")", "[", "}", "+", "-", "−", "*", "×",
        "/", "^", "1", "2", "0", "0.5", "50", "1e3", "1e-308", "1e308", "9e999", ".", ",", " ",
        "\u{202f}", "T", "S21", "ß", "∞", "!", "\u{0}", "\n", "e", "E", "_", "64", "-1",
    ]);
    let text = prop::collection::vec(token, 0..24).prop_map(|tokens| tokens.concat());
    // Mostly balanced ones, of which many are formulas.
    let leaf = prop::sample::select(vec!["S", "Z0", "j", "1", "2", "0", "1e200", "3.5"])
        .prop_map(str::to_owned);
    let tree = leaf.prop_recursive(5, 32, 2, |inner| {
        prop_oneof![
            (
                inner.clone(),
                prop::sample::select(vec!["+", "-", "*", "/", "^"]),
                inner.clone()
            )
                .prop_map(|(a, sign, b)| format!("({a}){sign}({b})")),
            (
                prop::sample::select(vec!["sqrt", "conj", "abs", "-"]),
                inner
            )
                .prop_map(|(name, a)| format!("{name}({a})")),
        ]
    });
    let case = (prop_oneof![text, tree], prop::sample::select(KEYS.to_vec()));
    for_all(&case, |(formula, fixture)| {
        let option = format!("--formula={formula}");
        let found = jig(&["roundtrip", "--fixture", fixture, &option]);
        if found.code != ExitCode::from(2) {
            prop_assert_eq!(&found.err, "");
            let known = ["Right: ", "Right only ", "Wrong in "];
            prop_assert!(
                known.iter().any(|start| found.out.starts_with(start)),
                "{}",
                found.out
            );
            prop_assert!(
                !found.out.contains("NaN") && !found.out.contains("inf"),
                "{}",
                found.out
            );
        } else {
            prop_assert_eq!(found.code, ExitCode::from(2));
            prop_assert_eq!(&found.out, "");
            prop_assert!(found.err.contains("column "), "{}", found.err);
        }
        Ok(())
    });
}
