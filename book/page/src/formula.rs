//! LaTeX to MathML.

use math_core::{LatexToMathML, MathCoreConfig, MathDisplay};

/// What is wrong with a formula, and where in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormulaError {
    /// The byte of the LaTeX at which it is wrong.
    pub offset: usize,
    /// What is wrong.
    pub message: String,
}

/// A formula in a line of text, as one line of MathML.
///
/// # Errors
/// [`FormulaError`] for LaTeX that is wrong or unknown.
pub fn inline_formula(latex: &str) -> Result<String, FormulaError> {
    mathml(latex, MathDisplay::Inline)
}

/// A formula in a paragraph of its own, as one line of MathML.
///
/// # Errors
/// [`FormulaError`] for LaTeX that is wrong or unknown.
pub fn displayed_formula(latex: &str) -> Result<String, FormulaError> {
    mathml(latex, MathDisplay::Block)
}

fn mathml(latex: &str, display: MathDisplay) -> Result<String, FormulaError> {
    let converter =
        LatexToMathML::new(MathCoreConfig::default()).map_err(|(error, ..)| FormulaError {
            offset: 0,
            message: error.to_string(),
        })?;
    converter
        .convert_with_local_state(&typed(latex), display)
        .map(|result| result.mathml.replace('\n', " "))
        .map_err(|error| FormulaError {
            offset: error.0.start.min(latex.len()),
            message: error.to_string(),
        })
}

/// Quoted values as LaTeX wants them: the unit upright after a thin space, a true minus as
/// a plain one.
fn typed(latex: &str) -> String {
    let mut out = String::new();
    let mut rest = latex.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\u{2212}' => out.push('-'),
            '°' => out.push_str("^{\\circ}"),
            '\u{202f}' => {
                out.push_str("\\,\\mathrm{");
                while let Some(unit) = rest.next_if(|c| c.is_alphabetic()) {
                    out.push(unit);
                }
                out.push('}');
            }
            other => out.push(other),
        }
    }
    out
}
