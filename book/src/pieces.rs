//! Pieces of live pages, computed by this program: what a check in a browser holds the page
//! against.

use std::io::{self, Read, Write};

use jigwise_live::{MovedPart, Piece};
use serde_json::{Value, json};

/// Reads a list of pages and writes what their pieces are: each page has `of`, the scenario whose
/// part is moved, `fragment`, the bench of a link, and `pieces`, each with the attributes that it
/// has in the page.
pub(crate) fn run(input: &mut dyn Read, out: &mut dyn Write) -> io::Result<()> {
    let pages: Vec<Value> = serde_json::from_reader(input)?;
    let answers: Vec<Value> = pages.iter().map(page).collect();
    serde_json::to_writer(out, &answers)?;
    Ok(())
}

fn page(asked: &Value) -> Value {
    let text = |key: &str| asked[key].as_str().unwrap_or_default();
    let part = match MovedPart::from_fragment(text("of"), text("fragment")) {
        Ok(part) => part,
        Err(refusal) => return json!({ "refused": refusal.to_string() }),
    };
    let pieces = asked["pieces"].as_array().map_or(&[][..], Vec::as_slice);
    let html: Vec<Value> = pieces
        .iter()
        .map(|asked| match piece(asked).html(&part) {
            Ok(html) => json!({ "html": html }),
            Err(refusal) => json!({ "refused": refusal }),
        })
        .collect();
    json!({ "pieces": html })
}

fn piece(asked: &Value) -> Piece {
    let text = |key: &str| asked[key].as_str().map(str::to_owned);
    if let Some(source) = text("value") {
        return Piece::Value(source);
    }
    if let Some(latex) = text("formula") {
        let displayed = asked["displayed"].as_str().is_some();
        return Piece::Formula { latex, displayed };
    }
    Piece::Block {
        info: text("block").unwrap_or_default(),
        body: text("body").unwrap_or_default(),
        id: text("id").unwrap_or_default(),
    }
}
