//! The entries of an instrument's budget as people read and type them, on the screen and in a
//! file. What entries there are is the table [`InstrumentEntry::ALL`].

use std::fmt::Display;

use jigwise_physics::{
    EntryError, EntryKind, Instrument, InstrumentEntry, NEPER_PER_DB, StandardsResiduals,
    Systematic, VendorFigures, angle_from_degrees, ratio_from_db, rms_from_db,
};
use toml::Value;

use jigwise_quantity::{
    Expected, Unit, above_zero, engineering, fixed, parse_count, parse_one_of, parse_value,
};

/// An entry as it is shown, and taken back; a dash where the instrument has none.
///
/// ```
/// use jigwise_bench::{Instrument, InstrumentEntry, entries};
///
/// let mut instrument = Instrument::HANDHELD;
/// entries::change(&InstrumentEntry::DRIFT, &mut instrument, "0.1 %")?;
/// assert_eq!(entries::shown(&InstrumentEntry::DRIFT, &instrument), "0.100\u{202f}%");
/// # Ok::<(), String>(())
/// ```
pub fn shown(entry: &InstrumentEntry, instrument: &Instrument) -> String {
    let Some(value) = entry.get(instrument) else {
        return "–".to_owned();
    };
    match entry.kind {
        EntryKind::Level if value == 0.0 => "0".to_owned(),
        EntryKind::Level => format!("{}\u{202f}dB", fixed(20.0 * value.log10(), 2)),
        EntryKind::Share => format!("{}\u{202f}%", fixed(100.0 * value, 3)),
        EntryKind::MagnitudeStep => format!("{}\u{202f}dB", fixed(value / NEPER_PER_DB, 4)),
        EntryKind::Angle => format!("{}°", fixed(value.to_degrees(), 4)),
        EntryKind::Bandwidth | EntryKind::Resistance => {
            engineering(value, entry.kind.unit().sign(), 4)
        }
        EntryKind::Count => fixed(value, 0),
    }
}

/// What to type into a field of the entry.
pub fn hint(entry: &InstrumentEntry) -> String {
    let what = match entry.kind {
        EntryKind::Level => "dB below one,",
        EntryKind::Share => "a percentage",
        EntryKind::MagnitudeStep => "dB,",
        EntryKind::Angle => "degrees,",
        EntryKind::Bandwidth => "a bandwidth",
        EntryKind::Resistance => "ohms,",
        EntryKind::Count => return format!("a whole number from {}", fixed(entry.least, 0)),
    };
    let or_none = if entry.kind == EntryKind::Level && entry.least == 0.0 {
        ", or 0"
    } else {
        ""
    };
    format!("{what} such as {}{or_none}", example(entry.kind))
}

/// A value as it can be typed.
fn example(kind: EntryKind) -> &'static str {
    match kind {
        EntryKind::Level => "-38 dB",
        EntryKind::Share => "1.5 %",
        EntryKind::MagnitudeStep => "0.05 dB",
        EntryKind::Angle => "0.5 deg",
        EntryKind::Bandwidth => "1 kHz",
        EntryKind::Resistance => "10 m",
        EntryKind::Count => "16",
    }
}

/// The entry with a value as a file has it.
pub(crate) fn line_of_file(entry: &InstrumentEntry) -> String {
    format!("{} = \"{}\"", entry.key, example(entry.kind))
}

/// Changes an entry to what was typed.
///
/// # Errors
/// A sentence with the entry, the text and the range; the instrument stays as it was.
pub fn change(
    entry: &InstrumentEntry,
    instrument: &mut Instrument,
    text: &str,
) -> Result<(), String> {
    set(entry, instrument, text, example(entry.kind).to_owned())
        .map_err(|message| format!("{}: {message}", entry.name))
}

/// Changes an entry to the text that stands behind its key in a file. Errors leave out the key
/// before the sentence.
pub(crate) fn read(
    entry: &InstrumentEntry,
    instrument: &mut Instrument,
    text: &str,
) -> Result<(), String> {
    set(entry, instrument, text, line_of_file(entry))
}

fn set(
    entry: &InstrumentEntry,
    instrument: &mut Instrument,
    text: &str,
    example: String,
) -> Result<(), String> {
    let value = value(entry, text, example)?;
    entry.set(instrument, value).map_err(told)
}

/// The value of a text in the unit of the entry, or what was expected, with an example.
fn value(entry: &InstrumentEntry, text: &str, example: String) -> Result<f64, String> {
    const RATIO: [Option<Unit>; 3] = [Some(Unit::Decibel), Some(Unit::Percent), None];
    const ANGLE: [Option<Unit>; 2] = [Some(Unit::Degree), Some(Unit::Radian)];
    type FromNamedUnit = fn(&'static str, f64) -> Result<f64, EntryError>;
    let one_of = |units: &[Option<Unit>], what| {
        let example = example.into();
        parse_one_of(text, units, Expected { what, example }).map_err(told)
    };
    let (quantity, from_named_unit): (_, FromNamedUnit) = match entry.kind {
        EntryKind::Level | EntryKind::Share => (one_of(&RATIO, "ratio")?, rms_from_db),
        EntryKind::MagnitudeStep => (one_of(&RATIO, "small change")?, ratio_from_db),
        EntryKind::Angle => (one_of(&ANGLE, "angle")?, angle_from_degrees),
        EntryKind::Bandwidth => return above_zero(text, Unit::Hertz).map_err(told),
        EntryKind::Resistance => return parse_value(text, Unit::Ohm).map_err(told),
        EntryKind::Count => {
            return parse_count(text, entry.least as u64, entry.most as u64)
                .map(|count| count as f64)
                .map_err(told);
        }
    };
    match quantity.unit {
        Some(Unit::Decibel | Unit::Degree) => {
            from_named_unit(entry.words, quantity.value).map_err(told)
        }
        Some(Unit::Percent) => Ok(quantity.value / 100.0),
        _ => Ok(quantity.value),
    }
}

/// The entry as a file has it, with every digit.
pub(crate) fn written(entry: &InstrumentEntry, instrument: &Instrument) -> Option<Value> {
    let value = entry.get(instrument)?;
    Some(match entry.kind {
        EntryKind::Angle => format!("{value:e} rad").into(),
        EntryKind::Count => (value as i64).into(),
        _ => value.into(),
    })
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
                for entry in InstrumentEntry::of(&instrument) {
                    let mut changed = instrument;
                    let shown = shown(entry, &instrument);
                    change(entry, &mut changed, &shown).unwrap();
                    let value = |of: &Instrument| entry.get(of).unwrap();
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
            let entry = InstrumentEntry::of(&instrument)
                .find(|entry| entry.name == name)
                .unwrap();
            assert!(
                change(entry, &mut instrument, text).is_err(),
                "{name}: {text}"
            );
        }
        assert_eq!(instrument, Instrument::HANDHELD);
    }
}
