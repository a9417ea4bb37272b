//! Formulas: `$…$` in a line and `$$…$$` apart, from LaTeX to MathML.

use std::ops::Range;

use jigwise_page::{displayed_formula, filled, inline_formula};

use crate::live_piece::{self, Asked};
use crate::page::{Page, PageError};

/// A formula in a page.
struct Formula {
    /// With its signs.
    range: Range<usize>,
    /// Between its signs.
    inside: Range<usize>,
    displayed: bool,
}

/// Where formulas stand, with their signs.
pub(crate) fn ranges(page: &Page<'_>) -> Result<Vec<Range<usize>>, PageError> {
    Ok(found(page)?.into_iter().map(|one| one.range).collect())
}

fn found(page: &Page<'_>) -> Result<Vec<Formula>, PageError> {
    let code = page.code();
    let mut formulas = Vec::new();
    let mut at = 0;
    while let Some(found) = page.text()[at..].find('$') {
        let start = at + found;
        if let Some(range) = code.iter().find(|range| range.contains(&start)) {
            at = range.end;
            continue;
        }
        let displayed = page.text()[start..].starts_with("$$");
        let mark = if displayed { "$$" } else { "$" };
        let inside_at = start + mark.len();
        let inside = &page.text()[inside_at..];
        let end = inside
            .find(mark)
            .filter(|end| !inside[..*end].contains("\n\n"))
            .ok_or_else(|| page.error(start, format!("{mark} without its other {mark}")))?;
        at = inside_at + end + mark.len();
        formulas.push(Formula {
            range: start..at,
            inside: inside_at..inside_at + end,
            displayed,
        });
    }
    Ok(formulas)
}

/// The page with every formula as MathML.
pub(crate) fn set(page: &Page<'_>) -> Result<String, PageError> {
    let mut edits = Vec::new();
    for formula in found(page)? {
        let source = &page.text()[formula.inside.clone()];
        let asked = Asked::default();
        let latex = filled(source, &asked)
            .map_err(|error| page.error(formula.inside.start + error.offset, error.message))?;
        let mathml = if formula.displayed {
            displayed_formula(&latex)
        } else {
            inline_formula(&latex)
        };
        let mathml = mathml.map_err(|error| {
            // Numbers that were filled in are longer or shorter than their sources.
            let offset = error.offset.min(source.len());
            let message = format!("formula: {}", error.message);
            page.error(formula.inside.start + offset, message)
        })?;
        let piece = live_piece::formula(source, formula.displayed, mathml, asked);
        edits.push((formula.range, piece));
    }
    Ok(page.edited(edits))
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
