//! The entries of an instrument's budget, a row for each: its names, the kind of its value, its
//! range, the cause of error it gives the size of, and where it is kept. Whatever reads, writes,
//! shows or checks an instrument goes by this table.

use std::f64::consts::FRAC_PI_4;

use jigwise_quantity::Unit;

use crate::number::within;
use crate::{Cause, EntryError, Instrument, StandardsResiduals, Systematic, VendorFigures};

/// One entry of an [`Instrument`].
///
/// ```
/// use jigwise_physics::{Instrument, InstrumentEntry};
///
/// let drift = InstrumentEntry::DRIFT;
/// let mut instrument = Instrument::HANDHELD;
/// drift.set(&mut instrument, 0.001)?;
/// assert_eq!(drift.get(&instrument), Some(0.001));
/// assert!(drift.set(&mut instrument, 2.0).is_err());
/// // The handheld is described by its standards, not by figures of a data sheet.
/// assert_eq!(InstrumentEntry::DIRECTIVITY.get(&instrument), None);
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct InstrumentEntry {
    /// Its key in a file.
    pub key: &'static str,
    /// Its name as a label.
    pub name: &'static str,
    /// Its name in a sentence; that of its cause too, where the cause has one entry.
    pub words: &'static str,
    /// The error that it gives the size of; `None` for what only scales others.
    pub cause: Option<Cause>,
    /// What kind of value it has.
    pub kind: EntryKind,
    /// The least value allowed.
    pub least: f64,
    /// The greatest value allowed.
    pub most: f64,
    field: Field,
}

/// The kind of value that an entry has, with the unit that people give it in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryKind {
    /// The size of an error beside a reading of 1, given in decibels.
    Level,
    /// The size of an error beside a reading of 1, given in percent.
    Share,
    /// A small change of magnitude δ|S|/|S|, given in decibels.
    MagnitudeStep,
    /// A small angle in radians, given in degrees.
    Angle,
    /// A bandwidth in hertz.
    Bandwidth,
    /// A resistance in ohms.
    Resistance,
    /// A whole number.
    Count,
}

impl EntryKind {
    /// The unit that values of this kind are kept in.
    pub const fn unit(self) -> Unit {
        match self {
            Self::Level | Self::Share | Self::MagnitudeStep | Self::Count => Unit::One,
            Self::Angle => Unit::Radian,
            Self::Bandwidth => Unit::Hertz,
            Self::Resistance => Unit::Ohm,
        }
    }
}

/// Where an entry is kept.
#[derive(Debug, Clone, Copy)]
enum Field {
    Any(fn(&mut Instrument) -> &mut f64),
    /// Kept whichever way the systematic part is described.
    Both(
        fn(&mut StandardsResiduals) -> &mut f64,
        fn(&mut VendorFigures) -> &mut f64,
    ),
    Standards(fn(&mut StandardsResiduals) -> &mut f64),
    Vendor(fn(&mut VendorFigures) -> &mut f64),
    Averages,
}

/// The least and the greatest value of an entry.
type Range = (f64, f64);

const RATIO: Range = (0.0, 1.0);
const FLOOR: Range = (1e-15, 1.0);
const ANGLE: Range = (0.0, FRAC_PI_4);
const BANDWIDTH: Range = (1e-3, 1e9);
const RESISTANCE: Range = (0.0, 1e3);
const AVERAGES: Range = (1.0, u32::MAX as f64);

macro_rules! entries {
    ($($id:ident: $key:literal, $name:literal, $words:literal;
       $cause:expr, $kind:ident, $range:expr, $field:expr;)*) => {
        impl InstrumentEntry {
            $(
                #[doc = concat!("The ", $words, ".")]
                pub const $id: Self = Self {
                    key: $key,
                    name: $name,
                    words: $words,
                    cause: $cause,
                    kind: EntryKind::$kind,
                    least: $range.0,
                    most: $range.1,
                    field: $field,
                };
            )*
            /// All entries, those of the calibration first.
            pub const ALL: &[Self] = &[$(Self::$id),*];
        }
    };
}

entries! {
    LOAD: "load", "Load", "load standard";
        Some(Cause::Load), Level, RATIO, Field::Standards(|s| &mut s.load);
    OPEN: "open", "Open", "open standard";
        Some(Cause::Open), Share, RATIO, Field::Standards(|s| &mut s.open);
    SHORT: "short", "Short", "short standard";
        Some(Cause::Short), Share, RATIO, Field::Standards(|s| &mut s.short);
    DIRECTIVITY: "directivity", "Directivity", "directivity";
        Some(Cause::Directivity), Level, RATIO, Field::Vendor(|v| &mut v.directivity);
    REFLECT_TRACKING: "reflect_tracking", "Reflection tracking", "reflection tracking";
        Some(Cause::ReflectTracking), Share, RATIO, Field::Vendor(|v| &mut v.reflect_tracking);
    SOURCE_MATCH: "source_match", "Source match", "source match";
        Some(Cause::SourceMatch), Level, RATIO, Field::Vendor(|v| &mut v.source_match);
    THROUGH_TRACKING: "through_tracking", "Through tracking", "through tracking";
        Some(Cause::ThroughTracking), Share, RATIO,
        Field::Both(|s| &mut s.through_tracking, |v| &mut v.through_tracking);
    CROSSTALK: "crosstalk", "Crosstalk", "crosstalk";
        Some(Cause::Crosstalk), Level, RATIO,
        Field::Both(|s| &mut s.crosstalk, |v| &mut v.crosstalk);
    LOAD_MATCH: "load_match", "Load match left over", "load match";
        Some(Cause::LoadMatch), Level, RATIO,
        Field::Both(|s| &mut s.load_match, |v| &mut v.load_match);
    RAW_MATCH: "raw_match", "Raw match", "raw match";
        Some(Cause::RawMatch), Level, RATIO, Field::Any(|i| &mut i.raw_match);
    REFLECT_FLOOR: "reflect_floor", "Reflection floor", "floor of reflection";
        Some(Cause::NoiseFloor), Level, FLOOR, Field::Any(|i| &mut i.reflect_floor);
    THROUGH_FLOOR: "through_floor", "Through floor", "floor of transmission";
        Some(Cause::NoiseFloor), Level, FLOOR, Field::Any(|i| &mut i.through_floor);
    FLOOR_IFBW: "floor_if_bandwidth", "Floor at IF bandwidth", "IF bandwidth of the floor";
        None, Bandwidth, BANDWIDTH, Field::Any(|i| &mut i.floor_ifbw_hz);
    IFBW: "if_bandwidth", "IF bandwidth", "IF bandwidth";
        None, Bandwidth, BANDWIDTH, Field::Any(|i| &mut i.ifbw_hz);
    AVERAGES: "averages", "Averages", "number of averages";
        None, Count, AVERAGES, Field::Averages;
    TRACE_MAGNITUDE: "trace_magnitude", "Trace noise, size", "trace noise of the magnitude";
        Some(Cause::TraceMagnitude), MagnitudeStep, RATIO, Field::Any(|i| &mut i.trace_magnitude);
    TRACE_PHASE: "trace_phase", "Trace noise, angle", "trace noise of the phase";
        Some(Cause::TracePhase), Angle, ANGLE, Field::Any(|i| &mut i.trace_phase_rad);
    DISPLAY_MAGNITUDE: "display_magnitude", "Display step, size", "display step of the magnitude";
        Some(Cause::DisplayMagnitude), MagnitudeStep, RATIO,
        Field::Any(|i| &mut i.display_magnitude);
    DISPLAY_PHASE: "display_phase", "Display step, angle", "display step of the phase";
        Some(Cause::DisplayPhase), Angle, ANGLE, Field::Any(|i| &mut i.display_phase_rad);
    RECONNECT: "reconnect", "Reconnecting", "reconnection of the part";
        Some(Cause::Reconnect), Share, RATIO, Field::Any(|i| &mut i.reconnect);
    CABLE_PHASE: "cable_phase", "Cable phase", "cable phase";
        Some(Cause::CablePhase), Angle, ANGLE, Field::Any(|i| &mut i.cable_phase_rad);
    DRIFT: "drift", "Drift", "drift";
        Some(Cause::Drift), Share, RATIO, Field::Any(|i| &mut i.drift);
    CONTACT: "contact", "Contact", "contact resistance";
        Some(Cause::Contact), Resistance, RESISTANCE, Field::Any(|i| &mut i.contact_ohm);
    GROUND_LOOP: "ground_loop", "Ground loop", "ground loop";
        Some(Cause::GroundLoop), Resistance, RESISTANCE, Field::Any(|i| &mut i.ground_loop_ohm);
}

impl InstrumentEntry {
    /// The entries that describe an instrument, those of its calibration first.
    pub fn of(instrument: &Instrument) -> impl Iterator<Item = &'static Self> {
        let instrument = *instrument;
        Self::ALL
            .iter()
            .filter(move |entry| entry.get(&instrument).is_some())
    }

    /// True for an entry that only standards have.
    pub fn is_of_standards(&self) -> bool {
        matches!(self.field, Field::Standards(_))
    }

    /// True for an entry that only data sheets have.
    pub fn is_of_data_sheet(&self) -> bool {
        matches!(self.field, Field::Vendor(_))
    }

    /// The value; `None` where the instrument is described the other way.
    pub fn get(&self, instrument: &Instrument) -> Option<f64> {
        match self.field {
            Field::Averages => Some(f64::from(instrument.averages)),
            // Copied, so that one accessor serves reading and writing.
            _ => self.place(&mut { *instrument }).copied(),
        }
    }

    /// Changes the value. An instrument that is described the other way has no such entry and
    /// stays as it was.
    ///
    /// # Errors
    /// [`EntryError`] for a value outside the range; nothing is changed then.
    pub fn set(&self, instrument: &mut Instrument, value: f64) -> Result<(), EntryError> {
        self.check(value)?;
        match self.field {
            Field::Averages => instrument.averages = value as u32,
            _ => {
                if let Some(place) = self.place(instrument) {
                    *place = value;
                }
            }
        }
        Ok(())
    }

    /// Checks a value against the range.
    ///
    /// # Errors
    /// [`EntryError`] for a value outside the range, NaN included.
    pub fn check(&self, value: f64) -> Result<(), EntryError> {
        let unit = self.kind.unit().sign();
        within(self.words, value, self.least, self.most, unit).map(drop)
    }

    fn place<'a>(&self, instrument: &'a mut Instrument) -> Option<&'a mut f64> {
        if let Field::Any(field) = self.field {
            return Some(field(instrument));
        }
        match (self.field, &mut instrument.systematic) {
            (Field::Standards(field) | Field::Both(field, _), Systematic::Standards(s)) => {
                Some(field(s))
            }
            (Field::Vendor(field) | Field::Both(_, field), Systematic::Vendor(v)) => Some(field(v)),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cause_has_an_entry_with_its_size() {
        // Strays are of the fixture, not of the instrument.
        for cause in Cause::ALL
            .into_iter()
            .filter(|cause| *cause != Cause::Strays)
        {
            let has_entry = InstrumentEntry::ALL
                .iter()
                .any(|entry| entry.cause == Some(cause));
            assert!(has_entry, "{cause:?}");
        }
    }
}
