//! The `[instrument]` table as it is read.

use jigwise_physics::{Instrument, InstrumentEntry, ReferenceImpedance, Systematic};
use jigwise_quantity::{MAX_QUOTED, Unit, engineering, excerpt};

use super::{Band, NamedInstrument};
use crate::entries::{self, described_otherwise};
use crate::file::{Keyed, ScenarioError, expected_one_of};

/// The keys beside those of the budget's entries.
const KEYS: [&str; 5] = ["name", "preset", "reference", "bound", "band"];

pub(super) fn table<'a>(file: &Keyed<'a>) -> Result<Option<Keyed<'a>>, ScenarioError> {
    let entries = InstrumentEntry::ALL.iter().map(|entry| entry.key);
    let known: Vec<&str> = KEYS.into_iter().chain(entries).collect();
    file.table("instrument", "instrument", &known)
}

/// The reference of a scenario and its instrument; `None` where the file says nothing but the
/// reference.
pub(in crate::scenario) fn instrument(
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

pub(super) fn named(keyed: &Keyed<'_>) -> Result<Option<NamedInstrument>, ScenarioError> {
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
    let bands = bands_of(keyed, &start, is_preset)?;
    let mut found = NamedInstrument {
        name: start.name.clone(),
        figures: bands[0].figures,
        up_to_hz: bands[0].up_to_hz,
        higher: bands[1..].to_vec(),
    };
    if let Some(name) = own_name {
        found.name = name;
    } else if !is_preset && found.higher.is_empty() && found.figures == start.figures {
        return Ok(None);
    } else if found != start {
        found.name = format!("{}, changed", start.name);
    }
    Ok(Some(found))
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

/// The bands of a table: its own where it lists some, else those of the preset, each with the
/// entries that the table names.
///
/// Without a preset an instrument has one band: its own figures are said of no band in particular.
fn bands_of(
    keyed: &Keyed<'_>,
    start: &NamedInstrument,
    is_preset: bool,
) -> Result<Vec<Band>, ScenarioError> {
    let entries = || InstrumentEntry::ALL.iter().map(|entry| entry.key);
    let known: Vec<&str> = ["up_to"].into_iter().chain(entries()).collect();
    let tables = keyed.tables("band", "instrument.band", &known)?;
    if tables.is_empty() {
        if keyed.has("band") {
            return Err(keyed.error(
                "band",
                "band is an empty list; write each band as [[instrument.band]], or leave it out",
            ));
        }
        let all: Vec<Band> = if is_preset {
            start.bands().collect()
        } else {
            vec![Band {
                up_to_hz: f64::INFINITY,
                figures: start.figures,
            }]
        };
        return all
            .into_iter()
            .map(|band| changed(keyed, band.figures).map(|figures| Band { figures, ..band }))
            .collect();
    }
    let named: Vec<&str> = entries()
        .filter(|key| tables.iter().any(|t| t.has(key)))
        .collect();
    let mut bands: Vec<Band> = Vec::new();
    for (at, table) in tables.iter().enumerate() {
        for key in &named {
            if keyed.has(key) {
                return Err(keyed.error(
                    key,
                    format!("{key} is given for all bands and in a band too; keep one of the two"),
                ));
            }
            if !table.has(key) {
                return Err(table.missing(format!(
                    "this band has no {key}, which another band has; give it in every band"
                )));
            }
        }
        let up_to_hz = up_to(table, at + 1 == tables.len(), bands.last())?;
        let at_edge = if up_to_hz.is_finite() {
            Some(up_to_hz)
        } else {
            None
        };
        let figures = match at_edge {
            Some(edge) => start.figures_at(Some(edge))?,
            None => start
                .bands()
                .last()
                .map_or(start.figures, |band| band.figures),
        };
        let figures = changed(keyed, figures)?;
        bands.push(Band {
            up_to_hz,
            figures: changed(table, figures)?,
        });
    }
    Ok(bands)
}

/// The upper edge of a band, above that of the band before.
fn up_to(table: &Keyed<'_>, is_last: bool, before: Option<&Band>) -> Result<f64, ScenarioError> {
    let Some(up_to_hz) = table.positive("up_to", Unit::Hertz)? else {
        if is_last {
            return Ok(f64::INFINITY);
        }
        return Err(table.missing(
            "only the last band may have no up_to: it holds for all higher frequencies; give for \
             example up_to = \"30 MHz\""
                .to_owned(),
        ));
    };
    match before {
        Some(before) if up_to_hz <= before.up_to_hz => Err(table.error(
            "up_to",
            format!(
                "up_to is {}, and the band before ends at {}; list the bands from low to high, \
                 without overlap",
                engineering(up_to_hz, "Hz", 4),
                engineering(before.up_to_hz, "Hz", 4)
            ),
        )),
        _ => Ok(up_to_hz),
    }
}
