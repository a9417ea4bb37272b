//! The `[instrument]` table as it is written.

use jigwise_physics::{Instrument, InstrumentEntry};
use jigwise_quantity::Unit;
use toml::Table;

use super::NamedInstrument;
use crate::entries;

/// A preset by its name alone; anything else entry by entry.
pub(in crate::scenario) fn instrument_table(named: &NamedInstrument) -> Table {
    let mut table = Table::new();
    if NamedInstrument::preset(&named.name).as_ref() == Some(named) {
        table.insert("preset".into(), named.name.clone().into());
        return table;
    }
    table.insert("name".into(), named.name.clone().into());
    table.insert("bound".into(), named.figures.systematic_is_bound.into());
    if !named.has_bands() {
        write_entries(&mut table, &named.figures);
        return table;
    }
    let bands = named.bands().map(|band| {
        let mut table = Table::new();
        if band.up_to_hz.is_finite() {
            let edge = format!("{:e} {}", band.up_to_hz, Unit::Hertz.typed());
            table.insert("up_to".into(), edge.into());
        }
        write_entries(&mut table, &band.figures);
        toml::Value::from(table)
    });
    table.insert("band".into(), bands.collect::<Vec<_>>().into());
    table
}

/// Puts the entries of a budget into a table, from which [`changed`] reads them.
fn write_entries(table: &mut Table, figures: &Instrument) {
    for entry in InstrumentEntry::ALL {
        if let Some(value) = entries::written(entry, figures) {
            table.insert(entry.key.into(), value);
        }
    }
}
