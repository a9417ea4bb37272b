//! The entries of an instrument's budget, one by one, as a person reads and types them.

use jigwise_physics::{Instrument, NEPER_PER_DB, StandardsResiduals, Systematic, VendorFigures};

use crate::scenario::{Reader, read_entry};
use jigwise_quantity::{Unit, parse_value};
use jigwise_quantity::{engineering, fixed};

/// One entry of a budget.
#[derive(Debug, Clone, Copy)]
pub struct BudgetEntry {
    /// Its name on the screen.
    pub name: &'static str,
    /// What to type.
    pub hint: &'static str,
    kind: Kind,
    get: fn(&Instrument) -> f64,
    set: fn(&mut Instrument, f64),
}

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

macro_rules! entry {
    ($name:literal, $kind:ident, $hint:literal, $($field:ident).+) => {
        BudgetEntry {
            name: $name,
            hint: $hint,
            kind: Kind::$kind,
            get: |instrument| f64::from(instrument.$($field).+),
            set: |instrument, value| instrument.$($field).+ = value,
        }
    };
}

macro_rules! systematic_entry {
    ($model:ident, $name:literal, $kind:ident, $hint:literal, $field:ident) => {
        BudgetEntry {
            name: $name,
            hint: $hint,
            kind: Kind::$kind,
            get: |instrument| match instrument.systematic {
                Systematic::$model(figures) => figures.$field,
                _ => 0.0,
            },
            set: |instrument, value| {
                if let Systematic::$model(figures) = &mut instrument.systematic {
                    figures.$field = value;
                }
            },
        }
    };
}

const STANDARDS: &[BudgetEntry] = &[
    systematic_entry!(
        Standards,
        "Load",
        Decibels,
        "dB below one, such as -38 dB",
        load
    ),
    systematic_entry!(
        Standards,
        "Open",
        Percent,
        "a percentage such as 1.5 %",
        open
    ),
    systematic_entry!(
        Standards,
        "Short",
        Percent,
        "a percentage such as 1.5 %",
        short
    ),
    systematic_entry!(
        Standards,
        "Through tracking",
        Percent,
        "a percentage such as 1.8 %",
        through_tracking
    ),
    systematic_entry!(
        Standards,
        "Crosstalk",
        Decibels,
        "dB below one, such as -62 dB",
        crosstalk
    ),
    systematic_entry!(
        Standards,
        "Load match left over",
        Decibels,
        "dB below one, such as -34 dB, or 0",
        load_match
    ),
];

const VENDOR: &[BudgetEntry] = &[
    systematic_entry!(
        Vendor,
        "Directivity",
        Decibels,
        "dB below one, such as -40 dB",
        directivity
    ),
    systematic_entry!(
        Vendor,
        "Reflection tracking",
        Percent,
        "a percentage such as 1 %",
        reflect_tracking
    ),
    systematic_entry!(
        Vendor,
        "Source match",
        Decibels,
        "dB below one, such as -35 dB",
        source_match
    ),
    systematic_entry!(
        Vendor,
        "Through tracking",
        Percent,
        "a percentage such as 1.8 %",
        through_tracking
    ),
    systematic_entry!(
        Vendor,
        "Crosstalk",
        Decibels,
        "dB below one, such as -62 dB",
        crosstalk
    ),
    systematic_entry!(
        Vendor,
        "Load match",
        Decibels,
        "dB below one, such as -34 dB, or 0",
        load_match
    ),
];

const OTHERS: &[BudgetEntry] = &[
    entry!(
        "Reflection floor",
        Decibels,
        "dB, such as -70 dB",
        reflect_floor
    ),
    entry!(
        "Through floor",
        Decibels,
        "dB, such as -70 dB",
        through_floor
    ),
    entry!(
        "Floor at IF bandwidth",
        Hertz,
        "a bandwidth such as 1 kHz",
        floor_ifbw_hz
    ),
    entry!("IF bandwidth", Hertz, "a bandwidth such as 1 kHz", ifbw_hz),
    BudgetEntry {
        name: "Averages",
        hint: "a whole number from 1",
        kind: Kind::Count,
        get: |instrument| f64::from(instrument.averages),
        set: |instrument, value| instrument.averages = value as u32,
    },
    entry!(
        "Trace noise, size",
        Step,
        "dB, such as 0.015 dB",
        trace_magnitude
    ),
    entry!(
        "Trace noise, angle",
        Angle,
        "degrees, such as 0.1 deg",
        trace_phase_rad
    ),
    entry!(
        "Display step, size",
        Step,
        "dB, such as 0.05 dB",
        display_magnitude
    ),
    entry!(
        "Display step, angle",
        Angle,
        "degrees, such as 0.5 deg",
        display_phase_rad
    ),
    entry!(
        "Reconnecting",
        Percent,
        "a percentage such as 0.3 %",
        reconnect
    ),
    entry!(
        "Cable phase",
        Angle,
        "degrees, such as 0.2 deg",
        cable_phase_rad
    ),
    entry!("Drift", Percent, "a percentage such as 0.1 %", drift),
    entry!("Contact", Ohm, "ohms, such as 10 m", contact_ohm),
    entry!("Ground loop", Ohm, "ohms, such as 10 m", ground_loop_ohm),
];

impl BudgetEntry {
    /// The entries that describe an instrument, those of its calibration first.
    pub fn of(instrument: &Instrument) -> impl Iterator<Item = &'static Self> {
        let systematic = match instrument.systematic {
            Systematic::Standards(_) => STANDARDS,
            Systematic::Vendor(_) => VENDOR,
        };
        systematic.iter().chain(OTHERS)
    }

    /// The entry as it is shown, and taken back.
    pub fn shown(&self, instrument: &Instrument) -> String {
        let value = (self.get)(instrument);
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
        let value = match self.kind {
            Kind::Decibels | Kind::Percent => read_entry(self.name, text, Reader::Size)?,
            Kind::Step => read_entry(self.name, text, Reader::Step)?,
            Kind::Angle => read_entry(self.name, text, Reader::Angle)?,
            Kind::Hertz => typed(self.name, text, Unit::Hertz)?,
            Kind::Ohm => typed(self.name, text, Unit::Ohm)?,
            Kind::Count => typed(self.name, text, Unit::One)
                .ok()
                .filter(|count| count.fract() == 0.0 && (1.0..=4e9).contains(count))
                .ok_or_else(|| format!("{}: \"{text}\" is no whole number from 1", self.name))?,
        };
        let mut changed = *instrument;
        (self.set)(&mut changed, value);
        changed.validate().map_err(|error| error.to_string())?;
        *instrument = changed;
        Ok(())
    }
}

fn typed(name: &str, text: &str, unit: Unit) -> Result<f64, String> {
    parse_value(text, unit).map_err(|error| format!("{name}: {error}"))
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
                    let (before, after) = ((entry.get)(&instrument), (entry.get)(&changed));
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
