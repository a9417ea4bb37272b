//! The entries of an instrument's budget: what each is called, what range it has, and where it is
//! kept. Whatever reads, writes, shows or checks an instrument goes by this table.

use std::f64::consts::FRAC_PI_4;

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
    /// The entry in words, as errors and remarks name it.
    pub words: &'static str,
    /// The error that it gives the size of; `None` for what only scales others.
    pub cause: Option<Cause>,
    /// The least value allowed.
    pub least: f64,
    /// The greatest value allowed.
    pub most: f64,
    /// The unit of the value: empty for a ratio or a count, rad, Hz or Ω.
    pub unit: &'static str,
    field: Field,
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

/// The range of an entry, in its unit.
type Range = (f64, f64, &'static str);

const RATIO: Range = (0.0, 1.0, "");
const FLOOR: Range = (1e-15, 1.0, "");
const ANGLE: Range = (0.0, FRAC_PI_4, "rad");
const BANDWIDTH: Range = (1e-3, 1e9, "Hz");
const RESISTANCE: Range = (0.0, 1e3, "Ω");

const fn entry(
    words: &'static str,
    cause: Option<Cause>,
    (least, most, unit): Range,
    field: Field,
) -> InstrumentEntry {
    InstrumentEntry {
        words,
        cause,
        least,
        most,
        unit,
        field,
    }
}

macro_rules! entries {
    ($($name:ident: $words:literal, $cause:expr, $range:expr, $field:expr;)*) => {
        impl InstrumentEntry {
            $(
                #[doc = concat!("The ", $words, ".")]
                pub const $name: Self = entry($words, $cause, $range, $field);
            )*
            /// All entries, those of the calibration first.
            pub const ALL: &[Self] = &[$(Self::$name),*];
        }
    };
}

entries! {
    LOAD: "load residual", Some(Cause::Load), RATIO, Field::Standards(|s| &mut s.load);
    OPEN: "open residual", Some(Cause::Open), RATIO, Field::Standards(|s| &mut s.open);
    SHORT: "short residual", Some(Cause::Short), RATIO, Field::Standards(|s| &mut s.short);
    DIRECTIVITY: "directivity", Some(Cause::Directivity), RATIO,
        Field::Vendor(|v| &mut v.directivity);
    REFLECT_TRACKING: "reflection tracking", Some(Cause::ReflectTracking), RATIO,
        Field::Vendor(|v| &mut v.reflect_tracking);
    SOURCE_MATCH: "source match", Some(Cause::SourceMatch), RATIO,
        Field::Vendor(|v| &mut v.source_match);
    THROUGH_TRACKING: "through tracking", Some(Cause::ThroughTracking), RATIO,
        Field::Both(|s| &mut s.through_tracking, |v| &mut v.through_tracking);
    CROSSTALK: "crosstalk", Some(Cause::Crosstalk), RATIO,
        Field::Both(|s| &mut s.crosstalk, |v| &mut v.crosstalk);
    LOAD_MATCH: "load match", Some(Cause::LoadMatch), RATIO,
        Field::Both(|s| &mut s.load_match, |v| &mut v.load_match);
    RAW_MATCH: "raw match", Some(Cause::RawMatch), RATIO, Field::Any(|i| &mut i.raw_match);
    REFLECT_FLOOR: "floor of reflection", Some(Cause::NoiseFloor), FLOOR,
        Field::Any(|i| &mut i.reflect_floor);
    THROUGH_FLOOR: "floor of transmission", Some(Cause::NoiseFloor), FLOOR,
        Field::Any(|i| &mut i.through_floor);
    FLOOR_IFBW: "IF bandwidth of the floor", None, BANDWIDTH, Field::Any(|i| &mut i.floor_ifbw_hz);
    IFBW: "IF bandwidth", None, BANDWIDTH, Field::Any(|i| &mut i.ifbw_hz);
    AVERAGES: "number of averages", None, (1.0, u32::MAX as f64, ""), Field::Averages;
    TRACE_MAGNITUDE: "trace noise of the magnitude", Some(Cause::TraceMagnitude), RATIO,
        Field::Any(|i| &mut i.trace_magnitude);
    TRACE_PHASE: "trace noise of the phase", Some(Cause::TracePhase), ANGLE,
        Field::Any(|i| &mut i.trace_phase_rad);
    DISPLAY_MAGNITUDE: "display step of the magnitude", Some(Cause::DisplayMagnitude), RATIO,
        Field::Any(|i| &mut i.display_magnitude);
    DISPLAY_PHASE: "display step of the phase", Some(Cause::DisplayPhase), ANGLE,
        Field::Any(|i| &mut i.display_phase_rad);
    RECONNECT: "reconnection", Some(Cause::Reconnect), RATIO, Field::Any(|i| &mut i.reconnect);
    CABLE_PHASE: "cable phase", Some(Cause::CablePhase), ANGLE,
        Field::Any(|i| &mut i.cable_phase_rad);
    DRIFT: "drift", Some(Cause::Drift), RATIO, Field::Any(|i| &mut i.drift);
    CONTACT: "contact resistance", Some(Cause::Contact), RESISTANCE,
        Field::Any(|i| &mut i.contact_ohm);
    GROUND_LOOP: "ground loop", Some(Cause::GroundLoop), RESISTANCE,
        Field::Any(|i| &mut i.ground_loop_ohm);
}

impl InstrumentEntry {
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
        within(self.words, value, self.least, self.most, self.unit).map(drop)
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
        for cause in Cause::ALL {
            let has_entry = InstrumentEntry::ALL
                .iter()
                .any(|entry| entry.cause == Some(cause));
            assert!(has_entry, "{cause:?}");
        }
    }
}
