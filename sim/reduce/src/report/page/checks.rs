//! The table of checks.

use maud::{Markup, html};

use super::{sentence, sentence_start};
use crate::report::{Check, Outcome};

pub(super) fn section(checks: &[Check]) -> Markup {
    let inside = html! {
        table class="checks" { "\n"
            caption { "What must hold for one passive part at the reference plane." } "\n"
            thead {
                tr {
                    @for heading in ["Should hold", "Outcome", "Found, and what it means", "What to do"] {
                        th scope="col" class="text" { (heading) }
                    }
                }
            } "\n"
            tbody { "\n"
                @for check in checks { (row(check)) "\n" }
            } "\n"
        } "\n"
    };
    super::section("checks", "Checks", &inside)
}

fn row(check: &Check) -> Markup {
    let (word, mark) = check.outcome.face();
    let class = match check.outcome {
        Outcome::Yes => "holds yes",
        Outcome::Nearly => "holds nearly",
        Outcome::No => "holds no",
        Outcome::Unknown => "holds unknown",
    };
    html! {
        tr {
            th scope="row" { (check.of) span class="law" { (check.what) } }
            td class="text" {
                span class=(class) { span aria-hidden="true" { (mark) } " " (word) }
            }
            td class="text" { (sentence_start(&check.found)) ". " (sentence(check.means)) }
            td class="text" { (check.next) }
        }
    }
}
