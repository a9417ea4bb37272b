//! The sheet of a group, to be printed on A4 or Letter.

use jigwise_bench::Fixture;
use jigwise_bench::scene::{circuit, svg};
use jigwise_bench::words::sums::inversion;
use jigwise_bench::words::{CAUTION, fixture_connection, fixture_title};
use maud::{Markup, PreEscaped, html};

use super::card;
use super::group::{Group, Question};
use super::make::TraySet;
use super::page::page;

pub(super) fn sheet(set: &TraySet, group: &Group, names: &[String]) -> String {
    let lab = set.lab;
    let title = format!("{}, group {}", lab.title, group.number);
    let card_of = group
        .parts
        .iter()
        .find(|part| part.key == lab.card_of)
        .or_else(|| group.parts.first());
    let inside = html! {
        header {
            p.from { "Jigwise lab, " (lab.minutes) " minutes, tray " (set.code()) ", group " (group.number) }
            h1 { (lab.title) }
            div.names { span { "Names" } span.line {} }
        }
        @for paragraph in &lab.about { p { (paragraph) } }
        p { "The parts and the instrument are invented, and the files were simulated." }
        h2 { "The three fixtures" }
        div.fixtures { @for fixture in Fixture::ALL { (figure(fixture)) } }
        h2 { "What to do" }
        ol { @for step in &lab.steps { li { (step) } } }
        h2 { "Your files, in the folder data" }
        ul.files { @for name in names { li { (name) } } }
        h2 { "Questions" }
        ol.questions { @for question in &group.questions { li { (asked(question)) } } }
        p {
            "Write the answers into answers.html, or into answers.toml with a text editor, and hand in \
             the file answers.toml. ± always means the interval that holds the value with 95 % \
             probability."
        }
        @if let Some(part) = card_of {
            section.keep {
                h2 { "Bench card of your instrument" }
                p {
                    "Half the width of the 95 % interval, in percent of the value, for one reading in each \
                     fixture. A dash stands where it is more than half of the value."
                }
                (card::tables(&part.scenario))
            }
        }
        p.caution { (CAUTION) }
    };
    page(&title, &inside)
}

fn figure(fixture: Fixture) -> Markup {
    let drawn = svg(&circuit(fixture), &format!("circuit-{}", fixture as usize));
    html! {
        figure {
            (PreEscaped(drawn))
            figcaption {
                (fixture_title(fixture)) ": the part " (fixture_connection(fixture)) br;
                span.formula { (inversion(fixture)) }
            }
        }
    }
}

/// A question with its options and a line to write on.
fn asked(question: &Question) -> Markup {
    let task = &question.task;
    html! {
        p {
            strong { (question.name) ". " (task.title()) "." } " " (task.prompt()) " "
            span.points { "(" (question.points) @if question.points == 1 { " point)" } @else { " points)" } }
        }
        @if !task.options().is_empty() {
            ul.options {
                @for (letter, text) in task.options() { li { (letter) ") " (text) } " " }
            }
        }
        p.from { (question.form()) }
        div.write {}
    }
}
