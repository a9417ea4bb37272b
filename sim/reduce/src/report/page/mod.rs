//! The page itself.

mod asked;
mod checks;
mod method;
mod points;
mod values;

use jigwise_bench::scene::{Palette, Scene, properties, sign, svg};
use jigwise_bench::words::{
    CAUTION, fixture_connection, fixture_title, reading_name, standing_caution,
};
use jigwise_physics::{Fixture, StandingCaution};
use jigwise_quantity::engineering;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{Figure, Report, figures};

const STYLE: &str = include_str!("../report.css");
/// Written out because a reader of XML wants them closed.
const META: &str = "<meta charset=\"utf-8\"/>\n\
     <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n";

/// The report as one page of HTML that asks nothing of a network.
pub fn page(report: &Report) -> String {
    let style = STYLE
        .replace("LIGHT", &properties(&Palette::LIGHT))
        .replace("DARK", &properties(&Palette::DARK));
    let (subject, all) = (&report.subject, &report.gathered);
    let page = html! {
        (DOCTYPE) "\n"
        html lang="en" { "\n"
            head { "\n"
                (PreEscaped(META))
                title { (subject.part) ": impedance" } "\n"
                style { "\n" (PreEscaped(style)) } "\n"
            } "\n"
            body { "\n"
                main { "\n"
                    header { "\n"
                        p class="from" {
                            "Jigwise, a sweep in ohms"
                            @if let Some(made) = &subject.made { ", " (made) }
                        } "\n"
                        h1 { (subject.part) } "\n"
                    } "\n"
                    (question(report))
                    (notes(&subject.provenance.notes))
                    (asked::section(all))
                    (values::section(report))
                    (checks::section(&all.checks()))
                    (plots(&figures(all, report.findings.as_ref().ok())))
                    (points::section(all))
                    (method::section(report))
                    (method::left_out(report))
                    (cautions(report))
                } "\n"
            } "\n"
        } "\n"
    };
    page.into_string()
}

/// A section with its heading.
fn section(id: &str, title: &str, inside: &Markup) -> Markup {
    html! {
        section aria-labelledby=(id) { "\n"
            h2 id=(id) { (title) } "\n"
            (inside)
        } "\n"
    }
}

fn paragraph(text: &str) -> Markup {
    html! { p { (text) } "\n" }
}

fn refused(why: &str) -> Markup {
    html! { p class="refused" { (why) } "\n" }
}

fn list(entries: &[String]) -> Markup {
    html! {
        ul { "\n"
            @for entry in entries { li { (entry) } "\n" }
        } "\n"
    }
}

/// A fixture's name after its sign, the page's number `which`.
fn named(fixture: Fixture, which: usize) -> Markup {
    let scene = Scene {
        size: [16.0, 16.0],
        title: fixture_title(fixture).to_owned(),
        description: format!("The sign of the fixture {}", fixture_connection(fixture)),
        marks: vec![sign(fixture, [8.0, 8.0], 14.0)],
    };
    let drawn = svg(&scene, &format!("sign-{which}"));
    // Beside its name the sign says nothing more to a screen reader.
    let drawn = drawn.replacen(
        "class=\"jw-figure\"",
        "class=\"sign\" aria-hidden=\"true\"",
        1,
    );
    html! { (PreEscaped(drawn)) " " (fixture_title(fixture)) }
}

fn question(report: &Report) -> Markup {
    let (all, subject) = (&report.gathered, &report.subject);
    let hz = |hz| engineering(hz, "Hz", 4);
    let asked = format!(
        "What is the impedance of this part from {} to {}? {} points, read at a reference of {}.",
        hz(all.span_hz.0),
        hz(all.span_hz.1),
        all.points,
        engineering(subject.reference.ohm(), "Ω", 3)
    );
    let inside = html! {
        (paragraph(&asked))
        ul { "\n"
            @for (which, file) in (1..).zip(&subject.files) {
                li {
                    (named(file.fixture, which)) ", the part " (fixture_connection(file.fixture))
                    ": " (reading_name(file.fixture)) " of " (file.name)
                } "\n"
            }
        } "\n"
    };
    section("question", "The question", &inside)
}

/// What the person who made the report wrote; nothing where that is nothing.
fn notes(notes: &[String]) -> Markup {
    html! {
        @if !notes.is_empty() {
            (section("notes", "Notes", &html! { @for note in notes { (paragraph(note)) } }))
        }
    }
}

fn plots(figures: &[Figure]) -> Markup {
    let inside = html! {
        @for figure in figures {
            figure { "\n"
                (PreEscaped(svg(&figure.scene, &format!("figure-{}", figure.name)))) "\n"
                figcaption { (figure.caption) } "\n"
            } "\n"
        }
    };
    section("plots", "Over frequency", &inside)
}

fn cautions(report: &Report) -> Markup {
    let all = &report.gathered;
    let mut entries = vec![
        CAUTION.to_owned(),
        "A capacitor is discharged through a resistor and checked with a meter; an electrolytic \
         recovers some voltage by itself."
            .to_owned(),
        "Crystals, ferrites, class-2 ceramics and diodes depend on level and bias: these ohms are \
         those of a small signal without bias, and say nothing of the part at work."
            .to_owned(),
        "Nothing here tells of a part on the mains: interference capacitors and chokes are \
         measured unplugged and isolated only."
            .to_owned(),
    ];
    if all.blended > 0 {
        entries.push(standing_caution(StandingCaution::CommonStandards));
        entries.push(standing_caution(StandingCaution::Level {
            ratio: all.level_ratio.max(1.0),
        }));
    }
    section("cautions", "Cautions", &list(&entries))
}

/// With a capital and a full stop.
fn sentence(text: &str) -> String {
    let mut text = sentence_start(text);
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    text
}

fn sentence_start(text: &str) -> String {
    let mut rest = text.chars();
    match rest.next() {
        Some(first) if first.is_ascii_lowercase() => {
            first.to_ascii_uppercase().to_string() + rest.as_str()
        }
        _ => text.to_owned(),
    }
}
