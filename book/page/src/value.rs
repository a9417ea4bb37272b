//! Numbers in running text: `{{value SCENARIO KEY DIGITS}}`.

use jigwise_bench::quotes::Quote;

use crate::scenarios::Scenarios;

/// A piece of text that holds numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TextPiece<'a> {
    /// Text as it stands.
    Text(&'a str),
    /// What stands between `{{` and `}}`.
    Value(&'a str),
}

/// What is wrong with a number in a text, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValueInTextError {
    /// The byte of the text at which its braces open.
    pub offset: usize,
    /// What is wrong.
    pub message: String,
}

/// A text in pieces, each with the byte at which it begins. mdBook's own braces begin with `#` and
/// stay text.
///
/// # Errors
/// [`ValueInTextError`] for braces that are never closed.
pub fn text_pieces(text: &str) -> Result<Vec<(usize, TextPiece<'_>)>, ValueInTextError> {
    let mut pieces = Vec::new();
    let (mut from, mut at) = (0, 0);
    while let Some(found) = text[at..].find("{{") {
        let start = at + found;
        let inside = &text[start + 2..];
        at = start + 2;
        if inside.starts_with('#') {
            continue;
        }
        let close = inside.find("}}").ok_or_else(|| ValueInTextError {
            offset: start,
            message: "{{ without }}; close it".to_owned(),
        })?;
        if start > from {
            pieces.push((from, TextPiece::Text(&text[from..start])));
        }
        pieces.push((start, TextPiece::Value(&inside[..close])));
        at += close + 2;
        from = at;
    }
    if from < text.len() {
        pieces.push((from, TextPiece::Text(&text[from..])));
    }
    Ok(pieces)
}

/// The number that `inside` asks for, with its unit: `value SCENARIO KEY DIGITS`.
///
/// ```
/// use jigwise_page::{JunkBox, value};
///
/// assert_eq!(value("value bias-resistor device 2", &JunkBox)?, "4.7\u{202f}kΩ");
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
/// A sentence: text of another form, an unknown scenario or key, or a number that the scenario
/// does not have.
pub fn value(inside: &str, scenarios: &dyn Scenarios) -> Result<String, String> {
    const FORM: &str = "expected {{value SCENARIO KEY DIGITS}}, as in \
                        {{value bias-resistor reflect.level 2}}";
    let mut words = inside.trim().splitn(3, char::is_whitespace);
    match (words.next(), words.next(), words.next()) {
        (Some("value"), Some(name), Some(quote)) => {
            let quote: Quote = quote.parse().map_err(|error| format!("{error}"))?;
            let scenario = scenarios
                .scenario(name)
                .map_err(|error| error.to_string())?;
            quote.of(&scenario).map_err(|error| error.to_string())
        }
        _ => Err(format!("\"{}\" is no value; {FORM}", inside.trim())),
    }
}

/// A text with its numbers in their places.
///
/// # Errors
/// [`ValueInTextError`].
pub fn filled(text: &str, scenarios: &dyn Scenarios) -> Result<String, ValueInTextError> {
    let mut out = String::with_capacity(text.len());
    for (offset, piece) in text_pieces(text)? {
        match piece {
            TextPiece::Text(text) => out.push_str(text),
            TextPiece::Value(inside) => {
                let value = value(inside, scenarios);
                out.push_str(&value.map_err(|message| ValueInTextError { offset, message })?);
            }
        }
    }
    Ok(out)
}
