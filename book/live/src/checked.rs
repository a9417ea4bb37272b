//! Answers and formulas, checked on the page by the code of `lab check` and `jig roundtrip`.

use jigwise_bench::words::{fixture_key, roundtrip_words};
use jigwise_bench::{Fixture, Formula, ReferenceImpedance, expected_one_of};
use jigwise_exercises::catalogue;

/// Whether an answer to a task is right, and what is said of it.
///
/// # Errors
/// A sentence: no such task, or text that is no answer to it.
pub fn check_answer(key: &str, answer: &str) -> Result<(bool, String), String> {
    let task = catalogue().task(key).map_err(|error| error.to_string())?;
    let verdict = task
        .check(answer)
        .map_err(|error| format!("{error}. {}", task.form()))?;
    Ok((verdict.is_right(), verdict.to_string()))
}

/// What a formula gives back in a fixture, as `jig roundtrip` says it.
///
/// # Errors
/// A sentence: no such fixture, or text that is no formula.
pub fn check_formula(formula: &str, fixture: &str) -> Result<String, String> {
    let formula: Formula = formula.parse().map_err(|error| format!("{error}"))?;
    let named = Fixture::ALL
        .into_iter()
        .find(|one| fixture_key(*one) == fixture);
    let fixture = named.ok_or_else(|| {
        let known = Fixture::ALL.map(fixture_key);
        format!(
            "\"{fixture}\" is no fixture, {}",
            expected_one_of(fixture, &known)
        )
    })?;
    let said = roundtrip_words(&formula, fixture, ReferenceImpedance::FIFTY_OHM);
    Ok(said.join("\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_checked_as_lab_does() {
        let right = check_answer("reflect-level", "-12.3 dB").unwrap();
        assert!(right == (true, "Right.".to_owned()));
        let slip = check_answer("reflect-level", "-6.15").unwrap();
        assert!(!slip.0 && slip.1.starts_with("Not yet: "), "{slip:?}");
        assert!(
            check_answer("reflect-level", "banana")
                .unwrap_err()
                .contains("banana")
        );
        assert!(check_answer("no-such-task", "1").is_err());
    }

    #[test]
    fn a_formula_is_checked_as_jig_does() {
        let said = check_formula("Z0*(1+S)/(1-S)", "reflect").unwrap();
        assert!(said.starts_with("Right: "), "{said}");
        assert!(check_formula("Z0*(", "reflect").is_err());
        assert!(
            check_formula("S", "both")
                .unwrap_err()
                .contains("shunt-through")
        );
    }
}
