//! What the pages of a tray have in common.

use jigwise_bench::scene::{Palette, properties};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("tray.css");

/// A page that asks nothing of a network.
pub(crate) fn page(title: &str, inside: &Markup) -> String {
    let style = STYLE.replace("LIGHT", &properties(&Palette::LIGHT));
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { main { (inside) } }
        }
    }
    .into_string()
}
