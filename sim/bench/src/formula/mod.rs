//! Formulas as a student types them: `Z0*(1+S)/(1-S)`, `2*Z0*(1-S)/S`, `abs(S)`.
//!
//! The signs `+ - * / ^ ( )`, the functions sqrt, conj and abs, the names S (the reading), Z0
//! (the reference) and j, plain numbers; nothing more. A power binds strongest and from the
//! right, a minus in front binds weaker than a power, so `-S^2` is `-(S^2)`.

mod error;
mod read;

use std::fmt;

use jigwise_physics::{Complex64, ReferenceImpedance};

pub use error::FormulaError;

/// A formula of the reading.
///
/// ```
/// use jigwise_bench::{Complex64, Formula, ReferenceImpedance};
///
/// let series: Formula = "2*Z0*(1 − S)/S".parse()?;
/// let z = series.evaluate(Complex64::new(0.5, 0.0), ReferenceImpedance::FIFTY_OHM);
/// assert_eq!(z, Some(Complex64::new(100.0, 0.0)));
///
/// let error = "2 Z0 (1 - S)/S".parse::<Formula>().unwrap_err();
/// assert_eq!(error.column(), 3);
/// # Ok::<(), jigwise_bench::FormulaError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    text: String,
    steps: Vec<Step>,
}

/// One step on a stack of values.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Step {
    Number(f64),
    Reading,
    Reference,
    ImaginaryUnit,
    Negate,
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
    Call(Function),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Function {
    SquareRoot,
    Conjugate,
    Magnitude,
}

impl Formula {
    /// The formula as it was typed.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Its value for a reading; `None` where it is infinite or undefined, as in 1/(1 − S)
    /// at S = 1.
    pub fn evaluate(&self, reading: Complex64, reference: ReferenceImpedance) -> Option<Complex64> {
        let mut stack: Vec<Complex64> = Vec::new();
        for step in &self.steps {
            let value = match *step {
                Step::Number(value) => Complex64::new(value, 0.0),
                Step::Reading => reading,
                Step::Reference => Complex64::new(reference.ohm(), 0.0),
                Step::ImaginaryUnit => Complex64::I,
                // Zero less the value: a minus in front of a real number leaves no −0 for sqrt.
                Step::Negate => Complex64::ZERO - stack.pop()?,
                Step::Call(function) => function.of(stack.pop()?),
                Step::Add | Step::Subtract | Step::Multiply | Step::Divide | Step::Power => {
                    let right = stack.pop()?;
                    let left = stack.pop()?;
                    match step {
                        Step::Add => left + right,
                        Step::Subtract => left - right,
                        Step::Multiply => left * right,
                        Step::Divide => left / right,
                        _ => power(left, right),
                    }
                }
            };
            stack.push(value);
        }
        stack
            .pop()
            .filter(|value| value.re.is_finite() && value.im.is_finite())
    }
}

impl Function {
    fn of(self, value: Complex64) -> Complex64 {
        match self {
            Self::SquareRoot => value.sqrt(),
            Self::Conjugate => value.conj(),
            Self::Magnitude => Complex64::new(value.norm(), 0.0),
        }
    }
}

/// Small whole powers by multiplication, which keeps (−2)^2 exactly 4 + j0.
fn power(base: Complex64, exponent: Complex64) -> Complex64 {
    const LARGEST_WHOLE: f64 = 64.0;
    let whole =
        exponent.im == 0.0 && exponent.re.fract() == 0.0 && exponent.re.abs() <= LARGEST_WHOLE;
    if whole {
        base.powi(exponent.re as i32)
    } else {
        base.powc(exponent)
    }
}

impl fmt::Display for Formula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str) -> Option<Complex64> {
        let formula: Formula = text
            .parse()
            .unwrap_or_else(|error| panic!("{text}: {error}"));
        formula.evaluate(Complex64::new(0.6, 0.2), ReferenceImpedance::FIFTY_OHM)
    }

    #[test]
    fn precedence_is_that_of_paper() {
        for (text, re, im) in [
            ("1+2*3", 7.0, 0.0),
            ("-2^2", -4.0, 0.0),
            ("(-2)^2", 4.0, 0.0),
            ("2^3^2", 512.0, 0.0),
            ("2^-1", 0.5, 0.0),
            ("8/4/2", 1.0, 0.0),
            ("8-4-2", 2.0, 0.0),
            ("--S", 0.6, 0.2),
            ("conj(S)", 0.6, -0.2),
            ("abs(3+4*j)", 5.0, 0.0),
            ("sqrt(-Z0*2)", 0.0, 10.0),
            ("1.5e1 − 1E-1×10", 14.0, 0.0),
            (".5", 0.5, 0.0),
        ] {
            let found = value(text).unwrap();
            assert!(
                (found - Complex64::new(re, im)).norm() < 1e-14,
                "{text} is {found}"
            );
        }
    }

    #[test]
    fn what_has_no_value_is_none() {
        assert_eq!(value("1/(S-S)"), None);
        assert_eq!(value("1e200*1e200*1e200"), None);
        assert_eq!(value("0^-1"), None);
    }

    #[test]
    fn errors_have_a_column_and_a_remedy() {
        for (text, column, reason) in [
            ("", 1, "nothing"),
            ("2 Z0", 3, "sign between"),
            ("(1+S", 1, "never closed"),
            ("1+S)", 4, "closes nothing"),
            ("1+*S", 3, "expected"),
            ("1+", 3, "it ends"),
            ("1.2.3", 1, "no number"),
            ("S11", 1, "the reading is S"),
            ("z0", 1, "did you mean \"Z0\""),
            ("sqroot(S)", 1, "did you mean \"sqrt\""),
            ("sin(S)", 1, "known here"),
            ("abs S", 5, "brackets"),
            ("1%S", 2, "no meaning"),
            ("1e999", 1, "no number"),
            ("(1 S)", 4, "sign between"),
        ] {
            let error = text.parse::<Formula>().unwrap_err();
            assert_eq!(error.column(), column, "{text}: {error}");
            assert!(error.to_string().contains(reason), "{text}: {error}");
        }
    }

    #[test]
    fn depth_and_length_have_an_end() {
        let deep = |open: &str, count| open.repeat(count) + "S";
        for text in [
            deep("(", 100),
            deep("-", 900),
            deep("S^", 450),
            "1+".repeat(600),
            deep("abs(", 100),
        ] {
            assert!(text.parse::<Formula>().is_err());
        }
        assert!(("1+".repeat(400) + "S").parse::<Formula>().is_ok());
    }
}
