//! Pieces of HTML that several blocks use: tables, figures, worked examples.

use jigwise_bench::Bench;
use jigwise_bench::scene::{self, Mark, Scene};
use maud::{Markup, PreEscaped, html};

use crate::grip::Grip;

/// A table with its caption; an empty heading leaves its corner empty.
pub(crate) fn table(caption: &str, head: &[impl AsRef<str>], rows: &[Markup]) -> Markup {
    html! {
        div.jw-table tabindex="0" role="group" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { @for text in head { (heading(text.as_ref())) } } }
                tbody { @for row in rows { (row) } }
            }
        }
    }
}

fn heading(text: &str) -> Markup {
    html! {
        @if text.is_empty() { td {} } @else { th scope="col" { (text) } }
    }
}

/// A row of a table: its heading and the text of its cells.
pub(crate) fn row(heading: &str, cells: &[impl AsRef<str>]) -> Markup {
    row_of(
        heading,
        html! { @for text in cells { td { (text.as_ref()) } } },
    )
}

/// A row of a table: its heading and its `td` elements.
pub(crate) fn row_of(heading: &str, cells: Markup) -> Markup {
    html! { tr { th scope="row" { (heading) } (cells) } }
}

/// The picture with its description in sight: what a screen reader hears, everyone reads.
pub(crate) fn figure(scene: &Scene, id: &str) -> Markup {
    html! {
        figure.jw style=(width(scene.size[0])) {
            (svg(scene, id))
            figcaption { (scene.description) }
        }
    }
}

/// A figure in which the reader may move the part: it says where the part is.
pub(crate) fn moving_figure(scene: &Scene, id: &str, grip: Grip, bench: &Bench) -> Markup {
    gripped(scene, &svg(scene, id), grip, bench)
}

/// The same over a layer that does not follow the part.
pub(crate) fn layered_figure(
    still: &[Mark],
    scene: &Scene,
    id: &str,
    grip: Grip,
    bench: &Bench,
) -> Markup {
    let picture = PreEscaped(scene::layered_svg(still, scene, id));
    gripped(scene, &picture, grip, bench)
}

fn gripped(scene: &Scene, picture: &Markup, grip: Grip, bench: &Bench) -> Markup {
    let [kind, x, y] = grip_attributes(grip, bench);
    html! {
        figure.jw style=(width(scene.size[0])) data-grip=(kind) data-x=(x) data-y=(y) {
            (picture)
            figcaption { (scene.description) }
        }
    }
}

/// What a script is told of a grip: its kind and its place in the picture, with plain minus signs.
pub(crate) fn grip_attributes(grip: Grip, bench: &Bench) -> [String; 3] {
    let [x, y] = grip.place(bench.device(), bench.readout().reference);
    [grip.key().to_owned(), format!("{x:.2}"), format!("{y:.2}")]
}

/// The width of a figure's picture, for the stylesheet.
pub(crate) fn width(px: f64) -> String {
    format!("--jw-width:{px}px")
}

pub(crate) fn svg(scene: &Scene, id: &str) -> Markup {
    PreEscaped(scene::svg(scene, id))
}

/// A worked example: what `label` says of it to a screen reader, and what stands in it.
pub(crate) fn worked(label: &str, inside: Markup) -> Markup {
    html! { section.worked role="group" aria-label=(label) { (inside) } }
}

/// The place of a link to the simulator with this bench on it; the press fills it where there is a
/// simulator.
pub(crate) fn open_bench(fragment: &str) -> Markup {
    html! { p.open-bench hidden data-fragment=(fragment) {} }
}

pub(crate) fn steps(steps: &[Markup]) -> Markup {
    html! { ol { @for step in steps { li { (step) } } } }
}

/// Steps that are text and nothing more.
pub(crate) fn text_steps(texts: &[String]) -> Markup {
    html! { ol { @for text in texts { li { (text) } } } }
}

/// A paragraph that begins with what it is about.
pub(crate) fn paragraph(label: &str, text: &str) -> Markup {
    html! { p { strong { (label) "." } " " (text) } }
}

/// A sum with its numbers.
pub(crate) fn sum(text: &str) -> Markup {
    html! { span.sum { (text) } }
}
