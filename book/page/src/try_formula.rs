use jigwise_bench::Fixture;
use jigwise_bench::words::{fixture_key, fixture_title};
use maud::{Markup, html};

use crate::block::{Block, BlockError};

/// `try-formula`: a formula of the reader's own, and in which fixture it gives back the ohms. A
/// page that can't compute names the command instead.
pub(crate) fn try_formula(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected try-formula and nothing more")?;
    let id = &block.id;
    let fixtures = Fixture::ALL.map(|fixture| [fixture_key(fixture), fixture_title(fixture)]);
    Ok(html! {
        section.task aria-labelledby=(id) data-formula-task {
            h2 id=(id) { "A formula of your own" }
            p.prompt {
                "Type a formula that gives Z from the reading S. It may use + − * / ^ ( ), sqrt, \
                 conj, abs, Z0 and j. The answer says whether it gives back the ohms of every part, \
                 or names a part for which it fails."
            }
            template {
                @for [key, title] in fixtures { option value=(key) { (title) } }
            }
            p.check {
                "Check: "
                code { "cargo jig roundtrip --fixture reflect --formula \"your formula\"" }
            }
        }
    })
}
