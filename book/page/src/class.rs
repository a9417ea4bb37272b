use jigwise_exercises::tray::{MOST_GROUPS, labs};
use maud::{Markup, html};

use crate::block::{Block, BlockError};

/// `class`: trays made and forms graded on the page. A page that can't compute names the commands
/// instead.
pub(crate) fn class(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected class and nothing more")?;
    let trays = format!("{}-trays", block.id);
    let grades = format!("{}-grades", block.id);
    Ok(html! {
        div {
            section.task aria-labelledby=(trays) data-desk="trays" data-most=(MOST_GROUPS) {
                h2 id=(trays) { "Make the trays" }
                template {
                    @for lab in labs() {
                        option value=(lab.key()) { (lab.title()) ", " (lab.minutes()) " minutes" }
                    }
                }
                p.check {
                    "The same as a command: "
                    code { "cargo lab tray --lab junk-box --class 10 --out trays" }
                }
            }
            section.task aria-labelledby=(grades) data-desk="grades" {
                h2 id=(grades) { "Grade the forms" }
                p.check {
                    "The same as a command: "
                    code { "cargo lab grade trays --answers forms --out grades.csv" }
                }
            }
        }
    })
}
