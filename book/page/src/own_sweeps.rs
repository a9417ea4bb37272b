use jigwise_bench::words::{CAUTION, fixture_key};
use jigwise_bench::{Fixture, NamedInstrument};
use maud::{Markup, html};

use crate::block::{Block, BlockError};

/// `own-sweeps`: the reader's own files, reduced on the page. A page that can't compute names the
/// command instead.
pub(crate) fn own_sweeps(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected own-sweeps and nothing more")?;
    let id = &block.id;
    let presets = ["handheld", "club-bench", "laboratory"]
        .into_iter()
        .filter(|name| NamedInstrument::preset(name).is_some());
    Ok(html! {
        section.task aria-labelledby=(id) data-own-sweeps {
            h2 id=(id) { "Your files" }
            p.prompt { (CAUTION) }
            template.jw-fixtures {
                @for fixture in Fixture::ALL {
                    option value=(fixture_key(fixture)) { "the part in " (fixture_key(fixture)) }
                }
            }
            template.jw-instruments {
                option value="" { "none named" }
                @for name in presets { option value=(name) { (name) " (invented)" } }
            }
            p.check {
                "The same as a command: "
                code { "cargo jig reduce --fixture series-through --out report part.s2p" }
            }
        }
    })
}
