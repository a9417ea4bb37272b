//! Numbers in running text: `{{value SCENARIO KEY DIGITS}}`. Those in formulas are left to the
//! pass over formulas.

use jigwise_page::{TextPiece, text_pieces, value};

use crate::formulas;
use crate::live_piece::{self, Asked};
use crate::page::{Page, PageError};

/// The page with every quoted number in its place.
pub(crate) fn filled(page: &Page<'_>) -> Result<String, PageError> {
    let mut apart = page.code();
    apart.extend(formulas::ranges(page)?);
    apart.sort_by_key(|range| range.start);
    let mut edits = Vec::new();
    let mut at = 0;
    let end = page.text().len();
    for range in apart.into_iter().chain(std::iter::once(end..end)) {
        // Code may hold what looks like a formula.
        if range.start < at {
            continue;
        }
        let pieces = text_pieces(&page.text()[at..range.start])
            .map_err(|error| page.error(at + error.offset, error.message))?;
        for (offset, piece) in pieces {
            let TextPiece::Value(inside) = piece else {
                continue;
            };
            let start = at + offset;
            let asked = Asked::default();
            let shown = value(inside, &asked).map_err(|message| page.error(start, message))?;
            let number = live_piece::number(inside, &shown, asked);
            edits.push((start..start + inside.len() + 4, number));
        }
        at = range.end;
    }
    Ok(page.edited(edits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_quoted_with_its_unit_and_its_source() {
        let text = "A {{value bias-resistor device 2}} part, `{{value x}}`.";
        let filled = filled(&Page::new("p.md", text)).unwrap();
        assert_eq!(
            filled,
            "A <span class=\"jw-live\" data-of=\"bias-resistor\" \
             data-value=\"value bias-resistor device 2\">4.7\u{202f}kΩ</span> part, `{{value x}}`."
        );
    }

    #[test]
    fn a_value_in_a_formula_waits_for_its_formula() {
        let text = "$R = {{value bias-resistor device 2}}$ and `$` {{value match device 2}}\n";
        let filled = filled(&Page::new("p.md", text)).unwrap();
        assert!(filled.starts_with("$R = {{value bias-resistor device 2}}$ and `$` <span"));
    }

    #[test]
    fn a_wrong_value_has_its_line() {
        for (text, reason) in [
            ("a\nb {{value bias-resistr device}}", "did you mean"),
            ("a\n{{value match levl}}", "nothing that can be quoted"),
            ("a\n{{value match}}", "is no value"),
            ("a\n{{valu match reference}}", "is no value"),
            ("a\n{{value match reference", "close it"),
        ] {
            let error = filled(&Page::new("p.md", text)).unwrap_err();
            assert_eq!(error.line(), 2, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
