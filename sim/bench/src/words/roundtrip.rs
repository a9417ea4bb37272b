//! What is said of a formula of somebody's own.

use jigwise_physics::{Fixture, ReferenceImpedance};
use jigwise_quantity::{complex_ohm, plain_complex};

use super::{fixture_key, reading_name};
use crate::formula::Formula;
use crate::roundtrip::{Roundtrip, Trial, roundtrip};

/// Whether a formula gives back the ohms in a fixture, a sentence a line: right, wrong with the
/// part that it fails for, or right for some parts only.
///
/// ```
/// use jigwise_bench::words::roundtrip_words;
/// use jigwise_bench::{Fixture, ReferenceImpedance};
///
/// let reference = ReferenceImpedance::FIFTY_OHM;
/// let formula = "Z0*(1+S)/(1-S)".parse()?;
/// let said = roundtrip_words(&formula, Fixture::Reflect, reference);
/// assert!(said[0].starts_with("Right: Z = Z0*(1+S)/(1-S) gives back all "));
/// let said = roundtrip_words(&formula, Fixture::SeriesThrough, reference);
/// assert_eq!(said[2], "It is the right formula of the reflect fixture.");
/// # Ok::<(), jigwise_bench::FormulaError>(())
/// ```
pub fn roundtrip_words(
    formula: &Formula,
    fixture: Fixture,
    reference: ReferenceImpedance,
) -> Vec<String> {
    let name = fixture_key(fixture);
    match roundtrip(formula, fixture, reference) {
        Roundtrip::Right { tried } => vec![format!(
            "Right: Z = {} gives back all {tried} parts tried in the {name} fixture.",
            formula.text(),
        )],
        Roundtrip::RightForSome {
            kinds,
            counterexample,
        } => {
            let kinds: Vec<&str> = kinds.into_iter().map(|kind| kind.words()).collect();
            vec![
                format!("Right only {}.", kinds.join(", ")),
                failing(fixture, &counterexample),
            ]
        }
        Roundtrip::Wrong { counterexample } => {
            let mut said = vec![
                format!("Wrong in the {name} fixture."),
                failing(fixture, &counterexample),
            ];
            let others = Fixture::ALL.into_iter().filter(|other| *other != fixture);
            said.extend(
                others
                    .filter(|other| {
                        matches!(
                            roundtrip(formula, *other, reference),
                            Roundtrip::Right { .. }
                        )
                    })
                    .map(|other| {
                        let other = fixture_key(other);
                        format!("It is the right formula of the {other} fixture.")
                    }),
            );
            said
        }
    }
}

fn failing(fixture: Fixture, trial: &Trial) -> String {
    let found = trial
        .found
        .map_or("no value".to_owned(), |ohm| complex_ohm(ohm, 4));
    format!(
        "A part of {} reads {} = {}; the formula makes {found} of it.",
        complex_ohm(trial.ohm, 4),
        reading_name(fixture),
        plain_complex(trial.reading, 5)
    )
}
