//! Formulas read from text.

use std::str::FromStr;

use jigwise_quantity::plain_characters;

use super::error::{DEEPEST, Fault, FormulaError, LONGEST};
use super::{Formula, Function, Step};

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
