//! A page for each form, and one for the class.

use maud::{Markup, html};

use super::book::{Gradebook, Row};
use crate::tray::page;

/// A page with its file name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GradePage {
    /// The file's name.
    pub name: String,
    /// What is in it.
    pub html: String,
}

impl Gradebook {
    /// The page of the class, then one for each form that was graded.
    pub fn pages(&self) -> Vec<GradePage> {
        let mut pages = vec![GradePage {
            name: "class.html".to_owned(),
            html: self.class_page(),
        }];
        let mut again: std::collections::HashMap<u32, u32> = std::collections::HashMap::new();
        for row in self.rows.iter().filter(|row| !row.marked.is_empty()) {
            let group = row.group.unwrap_or(0);
            let nth = again.entry(group).or_insert(0);
            *nth += 1;
            let name = match nth {
                1 => format!("group-{group:02}.html"),
                nth => format!("group-{group:02}-{nth}.html"),
            };
            pages.push(GradePage {
                name,
                html: self.page_of(row),
            });
        }
        pages
    }

    fn page_of(&self, row: &Row) -> String {
        let group = row.group.unwrap_or(0);
        let title = format!("{}, group {group}", self.title);
        let inside = html! {
            header {
                p.from { "Jigwise lab, tray " (self.code) ", group " (group) ", " (row.status.word()) }
                h1 { (self.title) }
                @if !row.names.is_empty() { p { (row.names) } }
            }
            p { strong { (row.points()) " of " (self.out_of()) " points" } }
            @if !row.remarks.is_empty() { ul { @for remark in &row.remarks { li { (remark) } } } }
            ol.questions {
                @for marked in &row.marked {
                    li {
                        p {
                            strong { (marked.name) ". " (marked.title) } ", "
                            (marked.points) " of " (marked.out_of)
                        }
                        @if !marked.answer.is_empty() { p { "You wrote: " (marked.answer) } }
                        p { (marked.said) }
                    }
                }
            }
        };
        page(&title, &inside)
    }

    fn class_page(&self) -> String {
        let title = format!("{}, the class", self.title);
        let inside = html! {
            header { p.from { "Jigwise lab, tray " (self.code) } h1 { (title) } }
            (self.class())
        };
        page(&title, &inside)
    }

    /// What the page of the class says, as a piece of HTML.
    pub fn class(&self) -> Markup {
        let slips = self.slips();
        html! {
            p { (self.counts()) "." }
            h2 { "The slips made most" }
            @if slips.is_empty() { p { "No slip was recognised." } } @else {
                ol { @for (slip, count) in slips.iter().take(10) {
                    li { (times(*count)) ": " (slip) "." }
                } }
            }
            h2 { "Question by question" }
            (self.by_question())
            h2 { "All forms" }
            (self.all_forms())
        }
    }

    fn by_question(&self) -> Markup {
        let counted: Vec<&Row> = self.rows.iter().filter(|row| row.status.counts()).collect();
        html! {
            table {
                thead { tr {
                    th.text { "Question" } th { "Mean" } th { "Out of" } th { "Full marks" } th { "Blank" }
                } }
                tbody {
                    @for (at, (name, out_of)) in self.questions.iter().enumerate() {
                        tr {
                            th scope="row" { (name) }
                            td { (mean(&counted, at)) }
                            td { (out_of) }
                            td { (counted.iter().filter(|row| row.marked[at].points >= f64::from(*out_of)).count()) }
                            td { (counted.iter().filter(|row| row.marked[at].answer.is_empty()).count()) }
                        }
                    }
                }
            }
        }
    }

    fn all_forms(&self) -> Markup {
        html! {
            table {
                thead { tr {
                    th { "Group" } th.text { "Names" } th.text { "Form" } th.text { "Status" }
                    th { "Points" } th.text { "Remarks" }
                } }
                tbody {
                    @for row in &self.rows {
                        tr {
                            td { @if let Some(group) = row.group { (group) } }
                            td.text { (row.names) }
                            td.text { (row.form) }
                            td.text { (row.status.word()) }
                            td { @if !row.marked.is_empty() { (row.points()) } }
                            td.text { (row.remarks.join("; ")) }
                        }
                    }
                }
            }
        }
    }
}

/// How often, in words.
pub(crate) fn times(count: usize) -> String {
    match count {
        1 => "1 time".to_owned(),
        count => format!("{count} times"),
    }
}

fn mean(counted: &[&Row], at: usize) -> String {
    let sum: f64 = counted.iter().map(|row| row.marked[at].points).sum();
    match counted.len() {
        0 => String::new(),
        count => jigwise_bench::fixed(sum / count as f64, 2),
    }
}
