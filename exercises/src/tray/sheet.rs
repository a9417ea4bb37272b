//! The sheet of a group, to be printed on A4 or Letter.

use jigwise_bench::scene::{circuit, svg};
use jigwise_bench::words::sums::inversion;
use jigwise_bench::words::{CAUTION, fixture_connection, fixture_title};
use jigwise_bench::{Fixture, engineering};
use maud::{Markup, PreEscaped, html};

use super::group::{Group, Question};
use super::make::TraySet;
use super::page::page;
use super::{card, form};

pub(super) fn sheet(set: &TraySet, group: &Group) -> String {
    let title = format!("{}, group {}", set.lab.title, group.number);
    page(&title, &inside(set, group))
}

/// The sheets of all groups, each from a new page on.
pub(super) fn sheets(set: &TraySet, groups: &[Group]) -> String {
    let title = format!("{}, all sheets", set.lab.title);
    let all = html! {
        @for group in groups { section.sheet { (inside(set, group)) } }
    };
    page(&title, &all)
}

fn inside(set: &TraySet, group: &Group) -> Markup {
    let lab = set.lab;
    let card_of = group
        .parts
        .iter()
        .find(|part| part.key == lab.card_of)
        .or_else(|| group.parts.first());
    html! {
        header {
            p.from { "Jigwise lab, " (lab.minutes) " minutes, tray " (set.code()) ", group " (group.number) }
            h1 { (lab.title) }
            div.names { span { "Names" } span.line {} }
        }
        @for paragraph in &lab.about { p { (paragraph) } }
        p { "The parts and the instrument are invented, and the files were simulated." }
        h2 { "The three fixtures" }
        div.fixtures { @for fixture in Fixture::ALL { (figure(fixture, group.number)) } }
        h2 { "What to do" }
        ol { @for step in &lab.steps { li { (step) } } }
        h2 { "Your files, in the folder data" }
        p {
            "Each line of numbers is one frequency: hertz, then the real and the imaginary part of S11. In a \
             file that ends in .s2p those of S21, S12 and S22 follow, in this order."
            @if let Some(ohm) = group.parts.first().map(|part| part.scenario().reference.ohm()) {
                " Z0 is " (engineering(ohm, "Ω", 2)) "."
            }
        }
        ul.files {
            @for (part, fixture) in group.measured() { li { (part.file_name(fixture)) } }
        }
        h2 { "Questions" }
        ol.questions { @for question in &group.questions { li { (asked(question)) } } }
        p {
            "Write the answers into answers.html and hand in the file that it saves, "
            (form::file_name(set, group.number)) ". ± always means the interval that holds the value \
            with 95 % probability."
        }
        @if let Some(part) = card_of {
            section.keep {
                h2 { "Bench card of your instrument" }
                p {
                    "Half the width of the 95 % interval, in percent of the value, for one reading in each \
                     fixture. Between two rows take a percentage between. A dash stands where it is more \
                     than half of the value; so it is in all rows that would follow."
                }
                (card::tables(part.scenario()))
                p.caution { (CAUTION) }
            }
        } @else {
            p.caution { (CAUTION) }
        }
    }
}

fn figure(fixture: Fixture, group: u32) -> Markup {
    let id = format!("circuit-{group}-{}", fixture as usize);
    let drawn = svg(&circuit(fixture), &id);
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
