//! Formulas as a student types them: `Z0*(1+S)/(1-S)`, `2*Z0*(1-S)/S`, `abs(S)`.
//!
//! The signs `+ - * / ^ ( )`, the functions sqrt, conj and abs, the names S (the reading), Z0
//! (the reference) and j, plain numbers; nothing more. A power binds strongest and from the
//! right, a minus in front binds weaker than a power, so `-S^2` is `-(S^2)`.

use std::fmt;
use std::str::FromStr;

use jigwise_physics::{Complex64, ReferenceImpedance};

use crate::hint;
use jigwise_quantity::plain_characters;

/// Brackets, powers and signs inside each other, at most.
const DEEPEST: usize = 64;
/// Characters, at most.
const LONGEST: usize = 1_000;

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

/// Text that is no formula, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormulaError {
    column: usize,
    fault: Fault,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Fault {
    Empty,
    TooLong,
    TooDeep,
    Character(char),
    Name(String),
    Number(String),
    NoValue(Option<char>),
    NotClosed,
    NotOpened,
    NoSign,
    NoBracket(&'static str),
}

impl FormulaError {
    /// The character of the text where it went wrong, from 1.
    pub fn column(&self) -> usize {
        self.column
    }

    /// True where a name is none that a formula has.
    pub fn is_unknown_name(&self) -> bool {
        matches!(self.fault, Fault::Name(_))
    }
}

impl std::error::Error for FormulaError {}

impl fmt::Display for FormulaError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "formula, column {}: ", self.column)?;
        match &self.fault {
            Fault::Empty => f.write_str("nothing there; write for example Z0*(1+S)/(1-S)"),
            Fault::TooLong => write!(
                f,
                "more than {LONGEST} characters; none of these formulas needs so many"
            ),
            Fault::TooDeep => write!(
                f,
                "more than {DEEPEST} brackets or signs inside each other; simplify it"
            ),
            Fault::Character(c) => write!(
                f,
                "'{c}' has no meaning here; known are + - * / ^ ( ), numbers and {KNOWN}"
            ),
            Fault::Name(name) => {
                write!(f, "\"{name}\" is no name here")?;
                let folded = name.to_ascii_lowercase();
                if folded.starts_with("s1") || folded.starts_with("s2") {
                    return f.write_str("; the reading is S in every fixture");
                }
                f.write_str(&hint(name, &NAMES))
            }
            Fault::Number(text) => write!(
                f,
                "\"{text}\" is no number; write it plain, as 50, 0.5 or 1e-3"
            ),
            Fault::NoValue(None) => {
                f.write_str("it ends where a number, S, Z0, j or ( was expected")
            }
            Fault::NoValue(Some(c)) => {
                write!(f, "'{c}' stands where a number, S, Z0, j or ( was expected")
            }
            Fault::NotClosed => f.write_str("this ( is never closed; add a )"),
            Fault::NotOpened => f.write_str("this ) closes nothing; take it out or add a ("),
            Fault::NoSign => f.write_str(
                "two values beside each other; write the sign between them, as in 2*Z0*(1-S)",
            ),
            Fault::NoBracket(name) => {
                write!(f, "{name} needs its value in brackets, as in {name}(S)")
            }
        }
    }
}

const NAMES: [&str; 6] = ["S", "Z0", "j", "sqrt", "conj", "abs"];
const KNOWN: &str = "S, Z0, j, sqrt, conj, abs";

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

impl FromStr for Formula {
    type Err = FormulaError;

    fn from_str(text: &str) -> Result<Self, FormulaError> {
        let characters: Vec<char> = text.chars().map(plain_sign).collect();
        let error = |at: usize, fault| {
            Err(FormulaError {
                column: at + 1,
                fault,
            })
        };
        if characters.len() > LONGEST {
            return error(LONGEST, Fault::TooLong);
        }
        if characters.iter().all(|c| c.is_whitespace()) {
            return error(0, Fault::Empty);
        }
        let mut reader = Reader {
            characters,
            at: 0,
            depth: 0,
            steps: Vec::new(),
        };
        reader.sum()?;
        match reader.peek() {
            None => Ok(Self {
                text: plain_characters(text),
                steps: reader.steps,
            }),
            Some(')') => error(reader.at, Fault::NotOpened),
            Some(c) if starts_value(c) => error(reader.at, Fault::NoSign),
            Some(c) => error(reader.at, Fault::Character(c)),
        }
    }
}

/// Typographic signs as a keyboard has them, one for one so that columns stay.
fn plain_sign(c: char) -> char {
    match c {
        '\u{2212}' | '–' => '-',
        '×' | '·' | '\u{22c5}' => '*',
        '÷' => '/',
        '[' | '{' => '(',
        ']' | '}' => ')',
        '\u{2009}' | '\u{202f}' | '\u{a0}' => ' ',
        other => other,
    }
}

fn starts_value(c: char) -> bool {
    c == '(' || c == '.' || c == '_' || c.is_alphanumeric()
}

struct Reader {
    characters: Vec<char>,
    at: usize,
    depth: usize,
    steps: Vec<Step>,
}

impl Reader {
    fn peek(&mut self) -> Option<char> {
        while self
            .characters
            .get(self.at)
            .is_some_and(|c| c.is_whitespace())
        {
            self.at += 1;
        }
        self.characters.get(self.at).copied()
    }

    fn fail<T>(&self, at: usize, fault: Fault) -> Result<T, FormulaError> {
        Err(FormulaError {
            column: at + 1,
            fault,
        })
    }

    fn deeper<T>(
        &mut self,
        inside: impl FnOnce(&mut Self) -> Result<T, FormulaError>,
    ) -> Result<T, FormulaError> {
        if self.depth == DEEPEST {
            return self.fail(self.at, Fault::TooDeep);
        }
        self.depth += 1;
        let result = inside(self);
        self.depth -= 1;
        result
    }

    fn sum(&mut self) -> Result<(), FormulaError> {
        self.product()?;
        while let Some(sign @ ('+' | '-')) = self.peek() {
            self.at += 1;
            self.product()?;
            self.steps.push(if sign == '+' {
                Step::Add
            } else {
                Step::Subtract
            });
        }
        Ok(())
    }

    fn product(&mut self) -> Result<(), FormulaError> {
        self.signed()?;
        while let Some(sign @ ('*' | '/')) = self.peek() {
            self.at += 1;
            self.signed()?;
            self.steps.push(if sign == '*' {
                Step::Multiply
            } else {
                Step::Divide
            });
        }
        Ok(())
    }

    fn signed(&mut self) -> Result<(), FormulaError> {
        match self.peek() {
            Some('-') => {
                self.at += 1;
                self.deeper(Self::signed)?;
                self.steps.push(Step::Negate);
                Ok(())
            }
            Some('+') => {
                self.at += 1;
                self.deeper(Self::signed)
            }
            _ => self.power(),
        }
    }

    fn power(&mut self) -> Result<(), FormulaError> {
        self.value()?;
        if self.peek() == Some('^') {
            self.at += 1;
            self.deeper(Self::signed)?;
            self.steps.push(Step::Power);
        }
        Ok(())
    }

    fn value(&mut self) -> Result<(), FormulaError> {
        match self.peek() {
            Some('(') => self.bracket(),
            Some(c) if c.is_ascii_digit() || c == '.' => self.number(),
            Some(c) if c.is_alphabetic() => self.name(),
            Some(c @ ('+' | '-' | '*' | '/' | '^' | ')')) => {
                self.fail(self.at, Fault::NoValue(Some(c)))
            }
            Some(c) => self.fail(self.at, Fault::Character(c)),
            None => self.fail(self.at, Fault::NoValue(None)),
        }
    }

    fn bracket(&mut self) -> Result<(), FormulaError> {
        let opened_at = self.at;
        self.at += 1;
        self.deeper(Self::sum)?;
        match self.peek() {
            Some(')') => {
                self.at += 1;
                Ok(())
            }
            None => self.fail(opened_at, Fault::NotClosed),
            Some(c) if starts_value(c) => self.fail(self.at, Fault::NoSign),
            Some(c) => self.fail(self.at, Fault::Character(c)),
        }
    }

    fn number(&mut self) -> Result<(), FormulaError> {
        let start = self.at;
        let is_number = |c: &char| c.is_ascii_digit() || *c == '.';
        self.skip_while(is_number);
        if matches!(self.characters.get(self.at), Some('e' | 'E')) {
            let mut end = self.at + 1;
            if matches!(self.characters.get(end), Some('+' | '-')) {
                end += 1;
            }
            if self.characters.get(end).is_some_and(char::is_ascii_digit) {
                self.at = end;
                self.skip_while(char::is_ascii_digit);
            }
        }
        let text: String = self.characters[start..self.at].iter().collect();
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() => {
                self.steps.push(Step::Number(value));
                Ok(())
            }
            _ => self.fail(start, Fault::Number(text)),
        }
    }

    fn name(&mut self) -> Result<(), FormulaError> {
        let start = self.at;
        self.skip_while(|c| c.is_alphanumeric() || *c == '_');
        let name: String = self.characters[start..self.at].iter().collect();
        let (function, known) = match name.as_str() {
            "S" => return self.leaf(Step::Reading),
            "Z0" | "Z₀" => return self.leaf(Step::Reference),
            "j" => return self.leaf(Step::ImaginaryUnit),
            "sqrt" => (Function::SquareRoot, "sqrt"),
            "conj" => (Function::Conjugate, "conj"),
            "abs" => (Function::Magnitude, "abs"),
            _ => return self.fail(start, Fault::Name(name)),
        };
        if self.peek() != Some('(') {
            return self.fail(self.at, Fault::NoBracket(known));
        }
        self.bracket()?;
        self.leaf(Step::Call(function))
    }

    fn leaf(&mut self, step: Step) -> Result<(), FormulaError> {
        self.steps.push(step);
        Ok(())
    }

    fn skip_while(&mut self, wanted: impl Fn(&char) -> bool) {
        while self.characters.get(self.at).is_some_and(&wanted) {
            self.at += 1;
        }
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
