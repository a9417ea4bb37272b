use std::path::Path;

use jigwise_physics::{
    EntryError, Instrument, ReferenceImpedance, StandardsResiduals, Systematic, VendorFigures,
    angle_from_degrees, ratio_from_db, rms_from_db,
};
use serde::Deserialize;
use toml::Spanned;

use super::error::{self, Place, ScenarioError, nearest};
use super::typed::{Typed, positive, typed, whole_number};
use jigwise_quantity::{Quantity, Unit, parse_quantity};

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
            let hint = nearest(name_or_file, &Self::preset_names())
                .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
            return Err(ScenarioError::free(format!(
                "\"{name_or_file}\" is neither a file nor one of the instruments {}{hint}",
                Self::preset_names().join(", ")
            )));
        }
        let (text, name) = error::text_of(path)?;
        let place = Place {
            file: &name,
            text: &text,
        };
        let file: InstrumentFile =
            toml::from_str(&text).map_err(|error| error::syntax_error(&place, &error))?;
        error::check_version(&place, &file.version)?;
        Ok(file.instrument.named(&place)?.unwrap_or_default())
    }
}

/// The part of a scenario file that is about the instrument; the rest is left alone.
#[derive(Deserialize)]
struct InstrumentFile {
    version: Spanned<i64>,
    instrument: InstrumentTable,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct InstrumentTable {
    name: Option<String>,
    preset: Option<Spanned<String>>,
    reference: Option<Spanned<Typed>>,
    load: Option<Spanned<Typed>>,
    open: Option<Spanned<Typed>>,
    short: Option<Spanned<Typed>>,
    directivity: Option<Spanned<Typed>>,
    reflect_tracking: Option<Spanned<Typed>>,
    source_match: Option<Spanned<Typed>>,
    through_tracking: Option<Spanned<Typed>>,
    crosstalk: Option<Spanned<Typed>>,
    load_match: Option<Spanned<Typed>>,
    bound: Option<bool>,
    reflect_floor: Option<Spanned<Typed>>,
    through_floor: Option<Spanned<Typed>>,
    floor_if_bandwidth: Option<Spanned<Typed>>,
    if_bandwidth: Option<Spanned<Typed>>,
    averages: Option<Spanned<i64>>,
    trace_magnitude: Option<Spanned<Typed>>,
    trace_phase: Option<Spanned<Typed>>,
    display_magnitude: Option<Spanned<Typed>>,
    display_phase: Option<Spanned<Typed>>,
    reconnect: Option<Spanned<Typed>>,
    cable_phase: Option<Spanned<Typed>>,
    drift: Option<Spanned<Typed>>,
    contact: Option<Spanned<Typed>>,
    ground_loop: Option<Spanned<Typed>>,
}

type Entry = Option<Spanned<Typed>>;

impl InstrumentTable {
    pub(super) fn reference(&self, place: &Place<'_>) -> Result<ReferenceImpedance, ScenarioError> {
        let Some(value) = &self.reference else {
            return Ok(ReferenceImpedance::FIFTY_OHM);
        };
        let ohm = positive(place, "reference", value, Unit::Ohm)?;
        ReferenceImpedance::new(ohm)
            .map_err(|error| ScenarioError::at(place, Some(value.span().start), error.to_string()))
    }

    /// The instrument; `None` where the table says nothing but the reference.
    pub(super) fn named(
        &self,
        place: &Place<'_>,
    ) -> Result<Option<NamedInstrument>, ScenarioError> {
        let start = match &self.preset {
            None => NamedInstrument::default(),
            Some(preset) => NamedInstrument::preset(preset.get_ref()).ok_or_else(|| {
                let names = NamedInstrument::preset_names();
                let hint = nearest(preset.get_ref(), &names)
                    .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
                ScenarioError::at(
                    place,
                    Some(preset.span().start),
                    format!(
                        "preset is \"{}\", expected one of {}{hint}",
                        preset.get_ref(),
                        names.join(", ")
                    ),
                )
            })?,
        };
        let figures = self.changed(place, start.figures)?;
        if self.preset.is_none() && self.name.is_none() && figures == start.figures {
            return Ok(None);
        }
        figures
            .validate()
            .map_err(|error| ScenarioError::at(place, None, format!("[instrument]: {error}")))?;
        let name = match &self.name {
            Some(name) => name.clone(),
            None if figures == start.figures => start.name,
            None => format!("{}, changed", start.name),
        };
        Ok(Some(NamedInstrument { name, figures }))
    }

    fn changed(&self, place: &Place<'_>, start: Instrument) -> Result<Instrument, ScenarioError> {
        let mut figures = start;
        let set = |target: &mut f64, entry: &Entry, key, reader: Reader| {
            if let Some(value) = entry {
                *target = read(place, key, value, reader)?;
            }
            Ok(())
        };
        let hertz = |target: &mut f64, entry: &Entry, key| {
            if let Some(value) = entry {
                *target = positive(place, key, value, Unit::Hertz)?;
            }
            Ok::<(), ScenarioError>(())
        };
        let ohm = |target: &mut f64, entry: &Entry, key| {
            if let Some(value) = entry {
                *target = typed(place, key, value, Unit::Ohm)?;
            }
            Ok::<(), ScenarioError>(())
        };
        figures.systematic = self.systematic(place, start.systematic)?;
        if let Some(bound) = self.bound {
            figures.systematic_is_bound = bound;
        }
        set(
            &mut figures.reflect_floor,
            &self.reflect_floor,
            "reflect_floor",
            Reader::Size,
        )?;
        set(
            &mut figures.through_floor,
            &self.through_floor,
            "through_floor",
            Reader::Size,
        )?;
        hertz(
            &mut figures.floor_ifbw_hz,
            &self.floor_if_bandwidth,
            "floor_if_bandwidth",
        )?;
        hertz(&mut figures.ifbw_hz, &self.if_bandwidth, "if_bandwidth")?;
        if let Some(averages) = &self.averages {
            figures.averages = whole_number(place, "averages", averages, 1)?;
        }
        set(
            &mut figures.trace_magnitude,
            &self.trace_magnitude,
            "trace_magnitude",
            Reader::Step,
        )?;
        set(
            &mut figures.trace_phase_rad,
            &self.trace_phase,
            "trace_phase",
            Reader::Angle,
        )?;
        set(
            &mut figures.display_magnitude,
            &self.display_magnitude,
            "display_magnitude",
            Reader::Step,
        )?;
        set(
            &mut figures.display_phase_rad,
            &self.display_phase,
            "display_phase",
            Reader::Angle,
        )?;
        set(
            &mut figures.reconnect,
            &self.reconnect,
            "reconnect",
            Reader::Size,
        )?;
        set(
            &mut figures.cable_phase_rad,
            &self.cable_phase,
            "cable_phase",
            Reader::Angle,
        )?;
        set(&mut figures.drift, &self.drift, "drift", Reader::Size)?;
        ohm(&mut figures.contact_ohm, &self.contact, "contact")?;
        ohm(
            &mut figures.ground_loop_ohm,
            &self.ground_loop,
            "ground_loop",
        )?;
        Ok(figures)
    }

    fn systematic(
        &self,
        place: &Place<'_>,
        start: Systematic,
    ) -> Result<Systematic, ScenarioError> {
        let vendor_entry = [
            &self.directivity,
            &self.reflect_tracking,
            &self.source_match,
        ]
        .into_iter()
        .flatten()
        .next();
        let standards_entry = [&self.load, &self.open, &self.short]
            .into_iter()
            .flatten()
            .next();
        if let (Some(vendor), Some(_)) = (vendor_entry, standards_entry) {
            return Err(ScenarioError::at(
                place,
                Some(vendor.span().start),
                "load, open and short describe what really happens; directivity, \
                 reflect_tracking and source_match are figures of a data sheet. Keep one kind"
                    .to_owned(),
            ));
        }
        let get = |entry: &Entry, key, otherwise| match entry {
            Some(value) => read(place, key, value, Reader::Size),
            None => Ok(otherwise),
        };
        let (through_tracking, crosstalk, load_match) = match start {
            Systematic::Standards(s) => (s.through_tracking, s.crosstalk, s.load_match),
            Systematic::Vendor(v) => (v.through_tracking, v.crosstalk, v.load_match),
        };
        let through_tracking = get(&self.through_tracking, "through_tracking", through_tracking)?;
        let crosstalk = get(&self.crosstalk, "crosstalk", crosstalk)?;
        let load_match = get(&self.load_match, "load_match", load_match)?;
        Ok(match (vendor_entry, start) {
            (None, Systematic::Standards(s)) => Systematic::Standards(StandardsResiduals {
                load: get(&self.load, "load", s.load)?,
                open: get(&self.open, "open", s.open)?,
                short: get(&self.short, "short", s.short)?,
                through_tracking,
                crosstalk,
                load_match,
            }),
            // What a data sheet leaves out it leaves out: zero.
            (_, _) => Systematic::Vendor(VendorFigures {
                directivity: get(&self.directivity, "directivity", 0.0)?,
                reflect_tracking: get(&self.reflect_tracking, "reflect_tracking", 0.0)?,
                source_match: get(&self.source_match, "source_match", 0.0)?,
                through_tracking,
                crosstalk,
                load_match,
            }),
        })
    }
}

/// How a dimensionless entry is read.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Reader {
    /// An rms size: decibels below one, percent, or a plain ratio.
    Size,
    /// A small change of magnitude: decibels, percent, or a plain ratio.
    Step,
    /// A small angle: degrees, or radians where it says rad.
    Angle,
}

/// Reads one entry as typed.
pub(crate) fn read_entry(key: &'static str, text: &str, reader: Reader) -> Result<f64, String> {
    let ranged = |value: Result<f64, EntryError>| value.map_err(|error| error.to_string());
    let quantity = parse_quantity(text).unwrap_or(Quantity {
        value: f64::NAN,
        // No entry is in hertz: what can't be read gets the sentence with the example.
        unit: Some(Unit::Hertz),
        prefix: None,
    });
    match (reader, quantity.unit) {
        (Reader::Size, Some(Unit::Decibel)) => ranged(rms_from_db(key, quantity.value)),
        (Reader::Step, Some(Unit::Decibel)) => ranged(ratio_from_db(key, quantity.value)),
        (Reader::Size | Reader::Step, Some(Unit::Percent)) => Ok(quantity.value / 100.0),
        (Reader::Angle, Some(Unit::Degree)) => ranged(angle_from_degrees(key, quantity.value)),
        (Reader::Angle, Some(Unit::Radian)) | (Reader::Size | Reader::Step, None) => {
            Ok(quantity.value)
        }
        (Reader::Size, _) => Err(format!(
            "{key} is \"{text}\", expected a ratio such as \"-38 dB\", \"1.5 %\" or 0.015"
        )),
        (Reader::Step, _) => Err(format!(
            "{key} is \"{text}\", expected a small change such as \"0.05 dB\" or \"0.6 %\""
        )),
        (Reader::Angle, _) => Err(format!(
            "{key} is \"{text}\", expected an angle with its unit such as \"0.5 deg\""
        )),
    }
}

fn read(
    place: &Place<'_>,
    key: &'static str,
    value: &Spanned<Typed>,
    reader: Reader,
) -> Result<f64, ScenarioError> {
    read_entry(key, &value.get_ref().0, reader)
        .map_err(|message| ScenarioError::at(place, Some(value.span().start), message))
}
