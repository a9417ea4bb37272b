//! The `[instrument]` table, both ways.

use std::path::Path;

use jigwise_physics::{Instrument, InstrumentEntry, ReferenceImpedance, Systematic};
use toml::Table;

use crate::entries::{self, described_otherwise};
use crate::file::{self, Keyed, Place, RawTable, ScenarioError, expected_one_of};
use jigwise_quantity::{MAX_QUOTED, Unit, excerpt};

/// An instrument's error budget with the name it goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedInstrument {
    /// "handheld", "club bench", "laboratory", or what its owner calls it.
    pub name: String,
    /// Its figures.
    pub figures: Instrument,
}

impl Default for NamedInstrument {
    fn default() -> Self {
        Self {
            name: "handheld".to_owned(),
            figures: Instrument::HANDHELD,
        }
    }
}

impl NamedInstrument {
    /// The names of the presets.
    pub fn preset_names() -> [&'static str; 3] {
        Instrument::PRESETS.map(|(name, _)| name)
    }

    /// True for a preset as it is: its figures are those of no instrument on sale.
    pub fn is_invented(&self) -> bool {
        Self::preset(&self.name).is_some_and(|preset| preset.figures == self.figures)
    }

    /// One of the invented presets; a hyphen may stand for the blank.
    pub fn preset(name: &str) -> Option<Self> {
        let name = name.to_lowercase().replace('-', " ");
        Instrument::PRESETS
            .into_iter()
            .find(|(known, _)| *known == name)
            .map(|(known, figures)| Self {
                name: known.to_owned(),
                figures,
            })
    }

    /// A preset by name, or else the `[instrument]` table of a file, which may be a scenario.
    ///
    /// # Errors
    /// [`ScenarioError`] naming the nearest preset, or file, line and value.
    pub fn named_or_read(name_or_file: &str) -> Result<Self, ScenarioError> {
        if let Some(preset) = Self::preset(name_or_file) {
            return Ok(preset);
        }
        let path = Path::new(name_or_file);
        if !path.exists() {
            return Err(ScenarioError::free(format!(
                "\"{}\" is neither a file nor an instrument, {}",
                excerpt(name_or_file, MAX_QUOTED),
                expected_one_of(name_or_file, &Self::preset_names())
            )));
        }
        let (text, name) = file::text_of(path)?;
        let place = Place {
            file: &name,
            text: &text,
        };
        let raw = RawTable::parse(&place)?;
        // The rest of the file, which may be a scenario, is left alone.
        let file = Keyed::document(&place, &raw, "an instrument file", None)?;
        match table(&file)? {
            Some(table) => Ok(named(&table)?.unwrap_or_default()),
            None => Err(file.error(
                "instrument",
                "there is no [instrument] table; an instrument file needs version = 1 and that \
                 table",
            )),
        }
    }
}

/// The keys beside those of the budget's entries.
const KEYS: [&str; 4] = ["name", "preset", "reference", "bound"];

fn table<'a>(file: &Keyed<'a>) -> Result<Option<Keyed<'a>>, ScenarioError> {
    let entries = InstrumentEntry::ALL.iter().map(|entry| entry.key);
    let known: Vec<&str> = KEYS.into_iter().chain(entries).collect();
    file.table("instrument", "instrument", &known)
}

/// The reference of a scenario and its instrument; `None` where the file says nothing but the
/// reference.
pub(super) fn instrument(
    file: &Keyed<'_>,
) -> Result<(ReferenceImpedance, Option<NamedInstrument>), ScenarioError> {
    let Some(keyed) = table(file)? else {
        return Ok((ReferenceImpedance::FIFTY_OHM, None));
    };
    let reference = match keyed.positive("reference", Unit::Ohm)? {
        None => ReferenceImpedance::FIFTY_OHM,
        Some(ohm) => ReferenceImpedance::new(ohm)
            .map_err(|error| keyed.error("reference", error.to_string()))?,
    };
    Ok((reference, named(&keyed)?))
}

fn named(keyed: &Keyed<'_>) -> Result<Option<NamedInstrument>, ScenarioError> {
    let own_name = keyed.text("name")?.map(String::from);
    let preset = keyed.read("preset", |text| {
        NamedInstrument::preset(text).ok_or_else(|| {
            let names = NamedInstrument::preset_names();
            format!(
                "\"{}\" is no preset, {}",
                excerpt(text, MAX_QUOTED),
                expected_one_of(text, &names)
            )
        })
    })?;
    let is_preset = preset.is_some();
    let start = preset.unwrap_or_default();
    let figures = changed(keyed, start.figures)?;
    if !is_preset && own_name.is_none() && figures == start.figures {
        return Ok(None);
    }
    let name = match own_name {
        Some(name) => name,
        None if figures == start.figures => start.name,
        None => format!("{}, changed", start.name),
    };
    Ok(Some(NamedInstrument { name, figures }))
}

/// The figures with the entries that a table names. They are read of any table with the keys of
/// [`InstrumentEntry::ALL`].
fn changed(keyed: &Keyed<'_>, start: Instrument) -> Result<Instrument, ScenarioError> {
    let named = |is_of: fn(&InstrumentEntry) -> bool| {
        InstrumentEntry::ALL
            .iter()
            .find(|entry| is_of(entry) && keyed.has(entry.key))
    };
    let mut figures = start;
    let of_data_sheet = named(InstrumentEntry::is_of_data_sheet);
    if let Some(entry) = of_data_sheet {
        if named(InstrumentEntry::is_of_standards).is_some() {
            return Err(keyed.error(
                entry.key,
                "load, open and short describe what really happens; directivity, \
                 reflect_tracking and source_match are figures of a data sheet. Keep one kind",
            ));
        }
        if matches!(start.systematic, Systematic::Standards(_)) {
            figures = described_otherwise(&figures);
        }
    }
    if let Some(bound) = keyed.flag("bound")? {
        figures.systematic_is_bound = bound;
    }
    for entry in InstrumentEntry::ALL {
        keyed.read(entry.key, |text| entries::read(entry, &mut figures, text))?;
    }
    if let (Some(entry), Systematic::Standards(_)) = (of_data_sheet, start.systematic) {
        check_data_sheet(keyed, entry)?;
    }
    Ok(figures)
}

/// Refuses a data sheet without all the figures of its own kind, of which the table gives
/// `given`: the standards of a preset say nothing of the others.
fn check_data_sheet(keyed: &Keyed<'_>, given: &InstrumentEntry) -> Result<(), ScenarioError> {
    let missing: Vec<&InstrumentEntry> = InstrumentEntry::ALL
        .iter()
        .filter(|entry| entry.is_of_data_sheet() && !keyed.has(entry.key))
        .collect();
    let Some(first) = missing.first() else {
        return Ok(());
    };
    let keys: Vec<&str> = missing.iter().map(|entry| entry.key).collect();
    Err(keyed.error(
        given.key,
        format!(
            "{} is a figure of a data sheet and comes with {}, which the table does not give; add \
             for example {}",
            given.key,
            keys.join(" and "),
            entries::line_of_file(first)
        ),
    ))
}

/// A preset by its name alone; anything else entry by entry.
pub(super) fn instrument_table(named: &NamedInstrument) -> Table {
    let mut table = Table::new();
    if NamedInstrument::preset(&named.name).as_ref() == Some(named) {
        table.insert("preset".into(), named.name.clone().into());
        return table;
    }
    table.insert("name".into(), named.name.clone().into());
    table.insert("bound".into(), named.figures.systematic_is_bound.into());
    write_entries(&mut table, &named.figures);
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
