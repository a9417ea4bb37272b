//! Formulas checked by what they give: two that agree on every part are the same formula.

use std::fmt;

use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Complex64, EXACT, Fixture, Formula, ReferenceImpedance, Trial, complex_ohm, engineering, fixed,
    plain_complex, trials,
};

use crate::slip::Slip;

/// Where a formula fails, and why if that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormulaVerdict {
    /// The part for which it fails first.
    pub part: Trial,
    /// The slip that explains every part, if there is one.
    pub slip: Option<Slip>,
    agrees_elsewhere: usize,
    tried: usize,
    fixture: Fixture,
}

impl fmt::Display for FormulaVerdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Trial {
            ohm,
            reading,
            found,
        } = self.part;
        write!(
            f,
            "Not yet: a part of {} reads S = {} in the {} fixture, and from that your formula ",
            ohms(ohm),
            plain_complex(reading, 4),
            fixture_key(self.fixture),
        )?;
        match found {
            Some(found) => write!(f, "makes {}.", ohms(found))?,
            None => f.write_str("makes nothing: it divides by zero.")?,
        }
        if let Some(slip) = self.slip {
            write!(f, " For every part, {slip}.")?;
        } else if self.agrees_elsewhere > 0 {
            let share = 100.0 * self.agrees_elsewhere as f64 / self.tried as f64;
            write!(f, " It holds for {} % of the parts tried.", fixed(share, 0))?;
        }
        Ok(())
    }
}

/// `None` where the formula gives the impedance of every part tried.
pub(crate) fn check_formula(
    formula: &Formula,
    fixture: Fixture,
    reference: ReferenceImpedance,
) -> Option<FormulaVerdict> {
    let z0 = reference.ohm();
    let trials = trials(formula, fixture, reference);
    let agrees = |wanted: &dyn Fn(Complex64, Complex64) -> Option<Complex64>| {
        trials
            .iter()
            .filter(
                |trial| match (wanted(trial.ohm, trial.reading), trial.found) {
                    (Some(a), Some(b)) => close(a, b),
                    // An open, which both say by having no value.
                    (None, None) => true,
                    _ => false,
                },
            )
            .count()
    };
    let right = |ohm, _| Some(ohm);
    let part = *trials.iter().find(|trial| trial.error() > EXACT)?;
    let by_other =
        |other: Fixture| move |_, reading| other.immittance(reading, reference).ok()?.impedance();
    let all = |count| count == trials.len();
    let slip = Slip::ALL.into_iter().find(|slip| match *slip {
        Slip::OtherFixture(other) => other != fixture && all(agrees(&by_other(other))),
        Slip::ReactanceSign => all(agrees(&|ohm, _| Some(ohm.conj()))),
        Slip::SwappedParts => all(agrees(&|ohm, _| Some(Complex64::new(ohm.im, ohm.re)))),
        Slip::Normalised => all(agrees(&|ohm, _| Some(ohm / z0))),
        _ => false,
    });
    Some(FormulaVerdict {
        part,
        slip,
        agrees_elsewhere: agrees(&right),
        tried: trials.len(),
        fixture,
    })
}

/// A resistance without its zero reactance.
fn ohms(z: Complex64) -> String {
    if z.im == 0.0 {
        engineering(z.re, "Ω", 4)
    } else {
        complex_ohm(z, 4)
    }
}

fn close(a: Complex64, b: Complex64) -> bool {
    (a - b).norm() <= EXACT * b.norm()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn verdict(text: &str, fixture: Fixture) -> Option<FormulaVerdict> {
        check_formula(
            &text.parse().unwrap(),
            fixture,
            ReferenceImpedance::FIFTY_OHM,
        )
    }

    #[test]
    fn the_same_formula_in_other_words_is_right() {
        for (fixture, texts) in [
            (
                Fixture::Reflect,
                ["Z0*(1+S)/(1-S)", "-Z0*(S+1)/(S-1)", "Z0*(2/(1-S) - 1)"],
            ),
            (
                Fixture::ShuntThrough,
                ["Z0/2*S/(1-S)", "Z0/(2*(1/S-1))", "Z0*S/(2-2*S)"],
            ),
            (
                Fixture::SeriesThrough,
                ["2*Z0*(1-S)/S", "2*Z0*(S^-1 - 1)", "100*(1-S)/S"],
            ),
        ] {
            for text in texts {
                assert_eq!(verdict(text, fixture), None, "{text}");
            }
        }
    }

    #[test]
    fn a_known_slip_is_named_and_the_first_part_shown() {
        let shunt = "Z0/2*S/(1-S)";
        for (text, slip) in [
            (shunt, Some(Slip::OtherFixture(Fixture::ShuntThrough))),
            ("(1+S)/(1-S)", Some(Slip::Normalised)),
            ("Z0*(1+conj(S))/(1-conj(S))", Some(Slip::ReactanceSign)),
            ("j*conj(Z0*(1+S)/(1-S))", Some(Slip::SwappedParts)),
            ("Z0*S", None),
        ] {
            let verdict = verdict(text, Fixture::Reflect).unwrap();
            assert_eq!(verdict.slip, slip, "{text}");
        }
        let said = verdict(shunt, Fixture::Reflect).unwrap().to_string();
        assert!(
            said.contains("10.00\u{202f}Ω") || said.contains("10.00 + j0.00"),
            "{said}"
        );
        assert!(said.contains("shunt-through"), "{said}");
    }

    #[test]
    fn a_formula_for_resistors_alone_fails_at_the_first_reactance() {
        let verdict = verdict("Z0*(1+abs(S))/(1-abs(S))", Fixture::Reflect).unwrap();
        assert_eq!(verdict.part.ohm, Complex64::new(10.0, 0.0));
        let verdict = self::verdict("2*Z0*(1-abs(S))/abs(S)", Fixture::SeriesThrough).unwrap();
        assert_eq!(verdict.part.ohm, Complex64::new(0.0, 50.0));
        assert!(verdict.to_string().contains("% of the parts"), "{verdict}");
    }
}
