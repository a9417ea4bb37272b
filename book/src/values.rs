//! Numbers in running text: `{{value SCENARIO KEY DIGITS}}`.

use jigwise_bench::quotes::Quote;
use jigwise_exercises::scenario;

use crate::page::{Page, PageError};

/// The page with every quoted number in its place.
pub(crate) fn filled(page: &Page<'_>) -> Result<String, PageError> {
    let code = page.code();
    let mut edits = Vec::new();
    let mut at = 0;
    while let Some(found) = page.text()[at..].find("{{") {
        let start = at + found;
        at = start + 2;
        if let Some(range) = code.iter().find(|range| range.contains(&start)) {
            at = range.end;
            continue;
        }
        let rest = &page.text()[at..];
        // mdBook's own signs begin with #.
        if rest.starts_with('#') {
            continue;
        }
        let close = rest
            .find("}}")
            .ok_or_else(|| page.error(start, "{{ without }}; close it"))?;
        let value = value(&rest[..close]).map_err(|message| page.error(start, message))?;
        at += close + 2;
        edits.push((start..at, value));
    }
    Ok(page.edited(edits))
}

fn value(inside: &str) -> Result<String, String> {
    const FORM: &str = "expected {{value SCENARIO KEY DIGITS}}, as in \
                        {{value bias-resistor reflect.level 2}}";
    let mut words = inside.trim().splitn(3, char::is_whitespace);
    match (words.next(), words.next(), words.next()) {
        (Some("value"), Some(name), Some(quote)) => {
            let scenario = scenario(name).map_err(|error| error.to_string())?;
            let quote: Quote = quote.parse().map_err(|error| format!("{error}"))?;
            quote.of(&scenario).map_err(|error| error.to_string())
        }
        _ => Err(format!("\"{}\" is no value; {FORM}", inside.trim())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_quoted_with_its_unit() {
        let text = "A {{value bias-resistor device 2}} part, `{{value x}}`.";
        let filled = filled(&Page::new("p.md", text)).unwrap();
        assert_eq!(filled, "A 4.7\u{202f}kΩ part, `{{value x}}`.");
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
