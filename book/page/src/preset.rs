use jigwise_bench::{InstrumentEntry, NamedInstrument, engineering, entries, expected_one_of};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};

/// `preset`: the entries of an invented instrument, a column for each of its bands.
pub(crate) fn preset(block: &Block<'_>) -> Result<Markup, BlockError> {
    let names = NamedInstrument::preset_names();
    let name = block.words.join(" ");
    let Some(named) = NamedInstrument::preset(&name) else {
        return Err(block.error(format!(
            "\"{name}\" is no preset, {}",
            expected_one_of(&name, &names)
        )));
    };
    let edge = |hz| engineering(hz, "Hz", 2);
    let mut below_hz = None;
    let mut titles = vec!["Entry".to_owned()];
    for band in named.bands() {
        titles.push(match (below_hz, band.up_to_hz.is_finite()) {
            (_, true) => format!("up to {}", edge(band.up_to_hz)),
            (Some(below_hz), false) => format!("above {}", edge(below_hz)),
            (None, false) => "at any frequency".to_owned(),
        });
        below_hz = Some(band.up_to_hz);
    }
    let rows: Vec<_> = InstrumentEntry::of(&named.figures)
        .map(|entry| {
            let cells: Vec<String> = named
                .bands()
                .map(|band| entries::shown(entry, &band.figures))
                .collect();
            row(entry.name, &cells)
        })
        .collect();
    let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
    Ok(table(
        &format!("The {}, an invented instrument", named.name),
        &titles,
        &rows,
    ))
}
