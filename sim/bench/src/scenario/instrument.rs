//! The `[instrument]` table, both ways.

use std::path::Path;

use jigwise_physics::{Bands, Budget, Instrument, InstrumentEntry, ReferenceImpedance, Systematic};
use toml::Table;

use crate::entries::{self, described_otherwise};
use crate::file::{self, Keyed, Place, RawTable, ScenarioError, expected_one_of};
use crate::scenario::INSTRUMENT;
use jigwise_quantity::{MAX_QUOTED, Unit, engineering, excerpt};

/// An instrument's error budget with the name it goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedInstrument {
    /// "handheld", "club bench", "laboratory", or what its owner calls it.
    pub name: String,
    /// Its figures, in its first band where it has several.
    pub figures: Instrument,
    /// The frequency up to which they hold, Hz; infinite where they hold at any.
    pub up_to_hz: f64,
    /// The bands above, rising.
    pub higher: Vec<Band>,
}

/// What an instrument is between the end of the band before and a frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The frequency up to which the figures hold, Hz; infinite for all above.
    pub up_to_hz: f64,
    /// The figures.
    pub figures: Instrument,
}

impl Default for NamedInstrument {
    fn default() -> Self {
        Self::of_preset(0)
    }
}

impl NamedInstrument {
    /// An instrument with the same figures at every frequency.
    pub fn at_any_frequency(name: String, figures: Instrument) -> Self {
        Self {
            name,
            figures,
            up_to_hz: f64::INFINITY,
            higher: Vec::new(),
        }
    }

    fn of_preset(index: usize) -> Self {
        let (name, figures) = Instrument::PRESETS[index];
        let higher = Instrument::PRESETS_ABOVE[index];
        Self {
            name: name.to_owned(),
            figures,
            up_to_hz: Instrument::PRESETS_UP_TO_HZ,
            higher: higher
                .map(|(up_to_hz, figures)| Band { up_to_hz, figures })
                .to_vec(),
        }
    }

    /// All bands, the first one too.
    pub fn bands(&self) -> impl Iterator<Item = Band> + '_ {
        let first = Band {
            up_to_hz: self.up_to_hz,
            figures: self.figures,
        };
        [first].into_iter().chain(self.higher.iter().copied())
    }

    /// True where the figures differ by frequency.
    pub fn has_bands(&self) -> bool {
        self.up_to_hz.is_finite()
    }

    /// The figures at a frequency; those of the first band where none is given.
    ///
    /// # Errors
    /// [`ScenarioError`] above the last band.
    pub fn figures_at(&self, freq_hz: Option<f64>) -> Result<Instrument, ScenarioError> {
        let Some(freq_hz) = freq_hz else {
            return Ok(self.figures);
        };
        let mut end_hz = 0.0;
        for band in self.bands() {
            if freq_hz <= band.up_to_hz {
                return Ok(band.figures);
            }
            end_hz = band.up_to_hz;
        }
        Err(ScenarioError::free(format!(
            "{} has figures up to {} only, and {} is above; add a band without up_to for all \
             higher frequencies, or ask below",
            self.name,
            engineering(end_hz, "Hz", 4),
            engineering(freq_hz, "Hz", 4)
        ))
        .about(vec![INSTRUMENT.into()]))
    }

    /// The figures in use at a frequency, to be changed. Above the last band those of the last.
    pub fn figures_at_mut(&mut self, freq_hz: Option<f64>) -> &mut Instrument {
        let freq_hz = freq_hz.unwrap_or(0.0);
        if freq_hz <= self.up_to_hz {
            return &mut self.figures;
        }
        let last = self.higher.len().saturating_sub(1);
        let at = self
            .higher
            .iter()
            .position(|band| freq_hz <= band.up_to_hz)
            .unwrap_or(last);
        match self.higher.get_mut(at) {
            Some(band) => &mut band.figures,
            None => &mut self.figures,
        }
    }

    /// The budgets of all bands, for a part connected `connections` times after the calibration.
    ///
    /// # Errors
    /// [`ScenarioError`] naming the instrument where an entry is out of range.
    pub fn budgets(
        &self,
        reference: ReferenceImpedance,
        connections: u32,
    ) -> Result<Bands, ScenarioError> {
        let of = |band: Band| {
            Budget::new(&band.figures, reference, connections)
                .map(|budget| (band.up_to_hz, budget))
                .map_err(|error| ScenarioError::of_instrument(&self.name, error))
        };
        self.bands()
            .map(of)
            .collect::<Result<_, _>>()
            .map(Bands::new)
    }

    /// Its name, with the frequency that its figures were asked at. Where they differ by band and
    /// no frequency is named, it is the first band.
    ///
    /// ```
    /// use jigwise_bench::NamedInstrument;
    ///
    /// let handheld = NamedInstrument::default();
    /// assert_eq!(handheld.words_at(None), "handheld (first band, up to 30.00\u{202f}MHz)");
    /// assert_eq!(handheld.words_at(Some(1e8)), "handheld at 100.0\u{202f}MHz");
    /// ```
    pub fn words_at(&self, freq_hz: Option<f64>) -> String {
        match freq_hz {
            _ if !self.has_bands() => self.name.clone(),
            Some(freq_hz) => format!("{} at {}", self.name, engineering(freq_hz, "Hz", 4)),
            None => format!(
                "{} (first band, up to {})",
                self.name,
                engineering(self.up_to_hz, "Hz", 4)
            ),
        }
    }

    /// The names of the presets.
    pub fn preset_names() -> [&'static str; 3] {
        Instrument::PRESETS.map(|(name, _)| name)
    }

    /// True for a preset as it is: its figures are those of no instrument on sale.
    pub fn is_invented(&self) -> bool {
        Self::preset(&self.name).is_some_and(|preset| preset == *self)
    }

    /// One of the invented presets; a hyphen may stand for the blank.
    pub fn preset(name: &str) -> Option<Self> {
        let name = name.to_lowercase().replace('-', " ");
        Instrument::PRESETS
            .iter()
            .position(|(known, _)| *known == name)
            .map(Self::of_preset)
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
const KEYS: [&str; 5] = ["name", "preset", "reference", "bound", "band"];

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
    let bands = bands(keyed, &start, is_preset)?;
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

/// The bands of a table: its own where it lists some, else those of the preset, each with the
/// entries that the table names.
///
/// Without a preset an instrument has one band: its own figures are said of no band in particular.
fn bands(
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
