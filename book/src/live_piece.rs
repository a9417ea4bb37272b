//! What makes a computed piece of a page live: its source beside what was computed from it, so
//! that the page's module computes it again for a part that the reader moves.

use std::cell::RefCell;

use jigwise_bench::Scenario;
use jigwise_exercises::UnknownScenario;
use jigwise_page::{JunkBox, Scenarios};
use maud::{PreEscaped, html};

/// The junk box, with a note of what was asked of it.
#[derive(Default)]
pub(crate) struct Asked(RefCell<Vec<String>>);

impl Scenarios for Asked {
    fn scenario(&self, name: &str) -> Result<Scenario, UnknownScenario> {
        let mut names = self.0.borrow_mut();
        if !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
        JunkBox.scenario(name)
    }
}

impl Asked {
    /// True where no scenario was asked for.
    pub(crate) fn is_empty(&self) -> bool {
        self.0.borrow().is_empty()
    }

    /// The scenarios that were asked for, in order.
    fn names(self) -> String {
        self.0.into_inner().join(" ")
    }
}

/// A number in running text with its source: what stands between its braces.
pub(crate) fn number(source: &str, shown: &str, asked: Asked) -> String {
    let html = html! {
        span.jw-live data-of=(asked.names()) data-value=(source.trim()) { (shown) }
    };
    html.into_string()
}

/// A formula with its source, if a number of the junk box is in it.
pub(crate) fn formula(source: &str, displayed: bool, mathml: String, asked: Asked) -> String {
    let of = asked.names();
    if of.is_empty() {
        return mathml;
    }
    let html = html! {
        span.jw-live data-of=(of) data-formula=(one_line(source)) data-displayed[displayed] {
            (PreEscaped(mathml))
        }
    };
    html.into_string()
}

/// A block with its source, if it is of a part of the junk box.
pub(crate) fn block(info: &str, body: &str, id: &str, computed: String, asked: Asked) -> String {
    let of = asked.names();
    if of.is_empty() {
        return computed;
    }
    let body = PreEscaped(jigwise_bench::scene::escaped(body).replace('\n', "&#10;"));
    let html = html! {
        div.jw-live data-of=(of) data-block=(info) data-body=(body) data-id=(id) {
            (PreEscaped(computed))
        }
    };
    html.into_string()
}

/// A formula as an attribute. A line break would end the paragraph for mdBook, and LaTeX takes a
/// space for the same; braces in pairs are signs of its own.
fn one_line(text: &str) -> PreEscaped<String> {
    let text = jigwise_bench::scene::escaped(text).replace('\n', " ");
    PreEscaped(
        text.replace("{{", "&#123;&#123;")
            .replace("}}", "&#125;&#125;"),
    )
}
