//! The entries of an instrument's budget, one by one, as people read and type them: on the
//! screen and in a file.

use std::fmt::Display;

use jigwise_physics::{
    Instrument, InstrumentEntry, NEPER_PER_DB, StandardsResiduals, Systematic, VendorFigures,
    angle_from_degrees, ratio_from_db, rms_from_db,
};
use toml::Value;

use jigwise_quantity::{
    Expected, Unit, above_zero, engineering, fixed, parse_count, parse_one_of, parse_value,
};

/// One entry of a budget.
#[derive(Debug, Clone, Copy)]
pub struct BudgetEntry {
    /// Its key in the `[instrument]` table of a file.
    pub key: &'static str,
    /// Its name on the screen.
    pub name: &'static str,
    /// What to type.
    pub hint: &'static str,
    kind: Kind,
    entry: InstrumentEntry,
}

/// How an entry is typed and shown.
#[derive(Debug, Clone, Copy)]
enum Kind {
    /// An rms size, shown in decibels.
    Decibels,
    /// An rms size, shown as a percentage.
    Percent,
    /// A small change of magnitude, shown in decibels.
    Step,
    /// A small angle, shown in degrees.
    Angle,
    Hertz,
    Ohm,
    /// A whole number from one.
    Count,
}

macro_rules! entries {
    ($($key:literal, $entry:ident, $kind:ident, $name:literal, $hint:literal;)*) => {
        &[$(BudgetEntry {
            key: $key,
            name: $name,
            hint: $hint,
            kind: Kind::$kind,
            entry: InstrumentEntry::$entry,
        }),*]
    };
}

impl BudgetEntry {
    /// All entries, those of the calibration first.
    #[rustfmt::skip]
    pub const ALL: &[Self] = entries! {
        "load", LOAD, Decibels, "Load", "dB below one, such as -38 dB";
        "open", OPEN, Percent, "Open", "a percentage such as 1.5 %";
        "short", SHORT, Percent, "Short", "a percentage such as 1.5 %";
        "directivity", DIRECTIVITY, Decibels, "Directivity", "dB below one, such as -40 dB";
        "reflect_tracking", REFLECT_TRACKING, Percent, "Reflection tracking",
            "a percentage such as 1 %";
        "source_match", SOURCE_MATCH, Decibels, "Source match", "dB below one, such as -35 dB";
        "through_tracking", THROUGH_TRACKING, Percent, "Through tracking",
            "a percentage such as 1.8 %";
        "crosstalk", CROSSTALK, Decibels, "Crosstalk", "dB below one, such as -62 dB";
        "load_match", LOAD_MATCH, Decibels, "Load match left over",
            "dB below one, such as -34 dB, or 0";
        "raw_match", RAW_MATCH, Decibels, "Raw match", "dB below one, such as -20 dB, or 0";
        "reflect_floor", REFLECT_FLOOR, Decibels, "Reflection floor", "dB, such as -70 dB";
        "through_floor", THROUGH_FLOOR, Decibels, "Through floor", "dB, such as -70 dB";
        "floor_if_bandwidth", FLOOR_IFBW, Hertz, "Floor at IF bandwidth",
            "a bandwidth such as 1 kHz";
        "if_bandwidth", IFBW, Hertz, "IF bandwidth", "a bandwidth such as 1 kHz";
        "averages", AVERAGES, Count, "Averages", "a whole number from 1";
        "trace_magnitude", TRACE_MAGNITUDE, Step, "Trace noise, size", "dB, such as 0.015 dB";
        "trace_phase", TRACE_PHASE, Angle, "Trace noise, angle", "degrees, such as 0.1 deg";
        "display_magnitude", DISPLAY_MAGNITUDE, Step, "Display step, size",
            "dB, such as 0.05 dB";
        "display_phase", DISPLAY_PHASE, Angle, "Display step, angle", "degrees, such as 0.5 deg";
        "reconnect", RECONNECT, Percent, "Reconnecting", "a percentage such as 0.3 %";
        "cable_phase", CABLE_PHASE, Angle, "Cable phase", "degrees, such as 0.2 deg";
        "drift", DRIFT, Percent, "Drift", "a percentage such as 0.1 %";
        "contact", CONTACT, Ohm, "Contact", "ohms, such as 10 m";
        "ground_loop", GROUND_LOOP, Ohm, "Ground loop", "ohms, such as 10 m";
    };

    /// The entries that describe an instrument, those of its calibration first.
    pub fn of(instrument: &Instrument) -> impl Iterator<Item = &'static Self> {
        let is_vendor = matches!(instrument.systematic, Systematic::Vendor(_));
        Self::ALL.iter().filter(move |entry| {
            if is_vendor {
                !entry.is_of_standards()
            } else {
                !entry.is_of_data_sheet()
            }
        })
    }

    /// True for an entry that only a description by standards has.
    pub(crate) fn is_of_standards(&self) -> bool {
        self.entry.is_of_standards()
    }

    /// True for an entry that only a description by data sheet has.
    pub(crate) fn is_of_data_sheet(&self) -> bool {
        self.entry.is_of_data_sheet()
    }

    /// The entry as it is shown, and taken back; a dash where the instrument has none.
    pub fn shown(&self, instrument: &Instrument) -> String {
        let Some(value) = self.entry.get(instrument) else {
            return "–".to_owned();
        };
        match self.kind {
            Kind::Decibels if value == 0.0 => "0".to_owned(),
            Kind::Decibels => format!("{}\u{202f}dB", fixed(20.0 * value.log10(), 2)),
            Kind::Percent => format!("{}\u{202f}%", fixed(100.0 * value, 3)),
            Kind::Step => format!("{}\u{202f}dB", fixed(value / NEPER_PER_DB, 4)),
            Kind::Angle => format!("{}°", fixed(value.to_degrees(), 4)),
            Kind::Hertz => engineering(value, "Hz", 4),
            Kind::Ohm => engineering(value, "Ω", 4),
            Kind::Count => fixed(value, 0),
        }
    }

    /// Changes the entry to what was typed.
    ///
    /// # Errors
    /// A sentence with the entry, the text and the range; the instrument stays as it was.
    pub fn change(&self, instrument: &mut Instrument, text: &str) -> Result<(), String> {
        self.read(instrument, text)
            .map_err(|message| format!("{}: {message}", self.name))
    }

    /// Changes the entry to `text`, with errors that leave out its name.
    pub(crate) fn read(&self, instrument: &mut Instrument, text: &str) -> Result<(), String> {
        let value = self.value(text)?;
        self.entry.set(instrument, value).map_err(told)
    }

    fn value(&self, text: &str) -> Result<f64, String> {
        const RATIO: Expected = Expected {
            what: "ratio",
            example: "\"-38 dB\", \"1.5 %\" or 0.015",
        };
        const STEP: Expected = Expected {
            what: "small change",
            example: "\"0.05 dB\" or \"0.6 %\"",
        };
        const ANGLE: Expected = Expected {
            what: "angle",
            example: "\"0.5 deg\"",
        };
        let ratio_units = [Some(Unit::Decibel), Some(Unit::Percent), None];
        let angle_units = [Some(Unit::Degree), Some(Unit::Radian)];
        let (quantity, from_named_unit): (_, fn(&'static str, f64) -> _) = match self.kind {
            Kind::Decibels | Kind::Percent => {
                (parse_one_of(text, &ratio_units, RATIO), rms_from_db)
            }
            Kind::Step => (parse_one_of(text, &ratio_units, STEP), ratio_from_db),
            Kind::Angle => (parse_one_of(text, &angle_units, ANGLE), angle_from_degrees),
            Kind::Hertz => return above_zero(text, Unit::Hertz).map_err(told),
            Kind::Ohm => return parse_value(text, Unit::Ohm).map_err(told),
            Kind::Count => {
                let (least, most) = (self.entry.least as u64, self.entry.most as u64);
                return parse_count(text, least, most)
                    .map(|count| count as f64)
                    .map_err(told);
            }
        };
        let quantity = quantity.map_err(told)?;
        match quantity.unit {
            Some(Unit::Decibel | Unit::Degree) => {
                from_named_unit(self.entry.words, quantity.value).map_err(told)
            }
            Some(Unit::Percent) => Ok(quantity.value / 100.0),
            _ => Ok(quantity.value),
        }
    }

    /// The entry as a file has it, with every digit.
    pub(crate) fn written(&self, instrument: &Instrument) -> Option<Value> {
        let value = self.entry.get(instrument)?;
        Some(match self.kind {
            Kind::Angle => format!("{value:e} rad").into(),
            Kind::Count => (value as i64).into(),
            _ => value.into(),
        })
    }
}

fn told(error: impl Display) -> String {
    error.to_string()
}

/// The same instrument described the other way: by its standards, or by figures such as a data
/// sheet gives. The two are not the same thing; figures start where a plain calibration with
/// these standards would put them.
pub fn described_otherwise(instrument: &Instrument) -> Instrument {
    let systematic = match instrument.systematic {
        Systematic::Standards(s) => Systematic::Vendor(VendorFigures {
            directivity: s.load,
            reflect_tracking: 0.5 * (s.open + s.short),
            source_match: 0.5 * (s.open + s.short),
            through_tracking: s.through_tracking,
            crosstalk: s.crosstalk,
            load_match: s.load_match,
        }),
        Systematic::Vendor(v) => Systematic::Standards(StandardsResiduals {
            load: v.directivity,
            open: v.source_match,
            short: v.source_match,
            through_tracking: v.through_tracking,
            crosstalk: v.crosstalk,
            load_match: v.load_match,
        }),
    };
    Instrument {
        systematic,
        ..*instrument
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_can_be_typed_again() {
        for (_, start) in Instrument::PRESETS {
            for instrument in [start, described_otherwise(&start)] {
                for entry in BudgetEntry::of(&instrument) {
                    let mut changed = instrument;
                    let shown = entry.shown(&instrument);
                    entry.change(&mut changed, &shown).unwrap();
                    let value = |of: &Instrument| entry.entry.get(of).unwrap();
                    let (before, after) = (value(&instrument), value(&changed));
                    assert!(
                        (after - before).abs() <= 2e-3 * before.abs() + 5e-6,
                        "{}: {shown} for {before}",
                        entry.name
                    );
                }
            }
        }
    }

    #[test]
    fn what_is_out_of_range_changes_nothing() {
        let mut instrument = Instrument::HANDHELD;
        for (name, text) in [
            ("Load", "6 dB"),
            ("Averages", "0"),
            ("Averages", "1.5"),
            ("Trace noise, size", "-0.1 dB"),
            ("Drift", "200 %"),
            ("Contact", "-1"),
        ] {
            let entry = BudgetEntry::of(&instrument)
                .find(|entry| entry.name == name)
                .unwrap();
            assert!(
                entry.change(&mut instrument, text).is_err(),
                "{name}: {text}"
            );
        }
        assert_eq!(instrument, Instrument::HANDHELD);
    }
}
