//! Formulas: `$…$` in a line and `$$…$$` apart, from LaTeX to MathML.

use math_core::{LatexToMathML, MathCoreConfig, MathDisplay};

use crate::page::{Page, PageError};

/// The page with every formula as MathML.
pub(crate) fn set(page: &Page<'_>) -> Result<String, PageError> {
    let code = page.code();
    let mut edits = Vec::new();
    let mut at = 0;
    while let Some(found) = page.text()[at..].find('$') {
        let start = at + found;
        if let Some(range) = code.iter().find(|range| range.contains(&start)) {
            at = range.end;
            continue;
        }
        let (mark, display) = if page.text()[start..].starts_with("$$") {
            ("$$", MathDisplay::Block)
        } else {
            ("$", MathDisplay::Inline)
        };
        let inside_at = start + mark.len();
        let inside = &page.text()[inside_at..];
        let end = inside
            .find(mark)
            .filter(|end| !inside[..*end].contains("\n\n"))
            .ok_or_else(|| page.error(start, format!("{mark} without its other {mark}")))?;
        let mathml = mathml(&inside[..end], display).map_err(|error| {
            page.error(
                inside_at + error.offset,
                format!("formula: {}", error.message),
            )
        })?;
        at = inside_at + end + mark.len();
        edits.push((start..at, mathml));
    }
    Ok(page.edited(edits))
}

/// What is wrong with a formula, and where in it.
pub(crate) struct FormulaError {
    pub offset: usize,
    pub message: String,
}

/// LaTeX as one line of MathML.
pub(crate) fn mathml(latex: &str, display: MathDisplay) -> Result<String, FormulaError> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_formula_becomes_mathml_on_one_line() {
        let text = "So $S = \\frac{1}{2}$ and\n$$\nZ = 4.7\u{202f}k\u{3a9}\n$$\nend `$`\n";
        let set = set(&Page::new("p.md", text)).unwrap();
        assert!(
            set.contains("<math><mrow>") || set.contains("<math><mi>S</mi>"),
            "{set}"
        );
        assert!(set.contains("display=\"block\""), "{set}");
        assert_eq!(
            set.lines().position(|line| line.starts_with("end")),
            Some(4)
        );
    }

    #[test]
    fn a_wrong_formula_has_its_line() {
        for (text, line) in [
            ("a\n\n$\\frac{1}$\n", 3),
            ("a $x\n\nb$\n", 1),
            ("$$\nx\n\\nosuchcommand\n$$\n", 3),
        ] {
            let error = set(&Page::new("p.md", text)).unwrap_err();
            assert_eq!(error.line(), line, "{error}");
        }
    }
}
