//! Formulas: `$…$` in a line and `$$…$$` apart, from LaTeX to MathML.

use jigwise_page::{displayed_formula, inline_formula};

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
        let displayed = page.text()[start..].starts_with("$$");
        let mark = if displayed { "$$" } else { "$" };
        let inside_at = start + mark.len();
        let inside = &page.text()[inside_at..];
        let end = inside
            .find(mark)
            .filter(|end| !inside[..*end].contains("\n\n"))
            .ok_or_else(|| page.error(start, format!("{mark} without its other {mark}")))?;
        let set = if displayed {
            displayed_formula(&inside[..end])
        } else {
            inline_formula(&inside[..end])
        };
        let mathml = set.map_err(|error| {
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
