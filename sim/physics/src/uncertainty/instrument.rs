//! The error budget of a vector network analyzer.
//!
//! Every complex entry is the rms magnitude √E|δ|² of a circular Gaussian, so its variance
//! per component is |δ|²/2. Where [`Instrument::systematic_is_bound`] is set, the systematic
//! entries are uniform in the disc of that radius instead: variance |δ|²/4 per component.
//!
//! Lengths are plain ratios, angles radians. People speak of decibels and degrees:
//! [`rms_from_db`], [`ratio_from_db`] and [`angle_from_degrees`] take those in and say what
//! range is allowed, in the unit that was given.

use crate::EntryError;
use crate::number::{NEPER_PER_DB, within};
use crate::uncertainty::entry::InstrumentEntry;

/// rms magnitude from decibels: 10^(dB/20).
///
/// # Errors
/// [`EntryError`] unless −300 ≤ dB ≤ 0: an error larger than the signal is no budget.
///
/// ```
/// use jigwise_physics::rms_from_db;
/// assert!((rms_from_db("load residual", -40.0).unwrap() - 0.01).abs() < 1e-15);
/// let wrong = rms_from_db("load residual", 6.0).unwrap_err();
/// assert_eq!(wrong.to_string(), "load residual is 6 dB: give a value from -300 to 0 dB");
/// ```
pub fn rms_from_db(entry: &'static str, db: f64) -> Result<f64, EntryError> {
    within(entry, db, -300.0, 0.0, "dB").map(|db| 10f64.powf(db / 20.0))
}

/// A small change of magnitude in decibels as the ratio δ|S|/|S| = dB·ln10/20.
///
/// # Errors
/// [`EntryError`] unless 0 ≤ dB ≤ 8.
pub fn ratio_from_db(entry: &'static str, db: f64) -> Result<f64, EntryError> {
    within(entry, db, 0.0, 8.0, "dB").map(|db| db * NEPER_PER_DB)
}

/// A small angle in degrees as radians.
///
/// # Errors
/// [`EntryError`] unless 0 ≤ angle ≤ 45°.
pub fn angle_from_degrees(entry: &'static str, degrees: f64) -> Result<f64, EntryError> {
    within(entry, degrees, 0.0, 45.0, "°").map(f64::to_radians)
}

/// The residual errors of the standards that a calibration leaves, each independent of the
/// others. This is what really happens; compare [`VendorFigures`].
///
/// | entry | meaning |
/// | --- | --- |
/// | δL | reflection of the load that was taken for zero |
/// | δO, δS | what open and short differ from +1 and −1 |
/// | δT | through tracking |
/// | δX | crosstalk |
/// | λ | match of the receiving port left over |
///
/// All dimensionless, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardsResiduals {
    /// δL. Every impedance comes out wrong by −2·δL, in every fixture.
    pub load: f64,
    /// δO. Limits reflect at high impedance.
    pub open: f64,
    /// δS. Limits reflect at low impedance.
    pub short: f64,
    /// δT, relative to S21.
    pub through_tracking: f64,
    /// δX, added to S21.
    pub crosstalk: f64,
    /// λ, match of the receiving port left over after correction.
    pub load_match: f64,
}

/// What data sheets quote after calibration: each figure independent of the others.
///
/// Reflect δΓ = δD + δT·Γ + δM·Γ². Through δS21 = δT·S21 + δX + (δM + λ)·S11·S21. Not the same
/// thing as [`StandardsResiduals`]: a real calibration ties directivity, tracking and source
/// match together, and these forget the tie. All dimensionless, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VendorFigures {
    /// δD, added to S11.
    pub directivity: f64,
    /// δT of reflection, relative to S11.
    pub reflect_tracking: f64,
    /// δM, source match.
    pub source_match: f64,
    /// δT of transmission, relative to S21.
    pub through_tracking: f64,
    /// δX, added to S21.
    pub crosstalk: f64,
    /// λ, match of the receiving port left over after correction.
    pub load_match: f64,
}

/// How the systematic part of a budget is described.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Systematic {
    /// By the standards the calibration was made with.
    Standards(StandardsResiduals),
    /// By independent figures of a data sheet.
    Vendor(VendorFigures),
}

/// The budget of one analyzer with its calibration and cables.
///
/// ```
/// use jigwise_physics::{Budget, Instrument, ReferenceImpedance};
///
/// let quiet = Instrument { averages: 100, ..Instrument::HANDHELD };
/// quiet.validate()?;
/// let wrong = Instrument { trace_magnitude: -0.1, ..quiet };
/// assert_eq!(wrong.validate().unwrap_err().entry, "trace noise of the magnitude");
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instrument {
    /// The errors that the calibration leaves.
    pub systematic: Systematic,
    /// True where the figures of `systematic` are bounds (uniform in a disc), not rms values.
    pub systematic_is_bound: bool,
    /// rms |S11| with the port terminated, at `floor_ifbw_hz`; 1e-15 to 1.
    pub reflect_floor: f64,
    /// rms |S21| with both ports terminated, at `floor_ifbw_hz`; 1e-15 to 1.
    pub through_floor: f64,
    /// IF bandwidth at which the floors hold, Hz; 1e-3 to 1e9.
    pub floor_ifbw_hz: f64,
    /// IF bandwidth in use, Hz; 1e-3 to 1e9. Floors scale with √(IF bandwidth).
    pub ifbw_hz: f64,
    /// Averages taken, 1 or more. Floor and trace noise fall with √averages.
    pub averages: u32,
    /// Trace noise of the magnitude, σ of δ|S|/|S|; 0 to 1. Does not depend on IF bandwidth.
    pub trace_magnitude: f64,
    /// Trace noise of the phase, σ in radians; 0 to π/4.
    pub trace_phase_rad: f64,
    /// Display step of the magnitude as δ|S|/|S|; 0 to 1.
    pub display_magnitude: f64,
    /// Display step of the phase, radians; 0 to π/4.
    pub display_phase_rad: f64,
    /// Raw source and load match of the ports before any correction, rms |Γ|; 0 to 1. It counts
    /// where the front end is not known and the calibration is described by its standards.
    pub raw_match: f64,
    /// rms |δS| when a part is taken out and put back; 0 to 1.
    pub reconnect: f64,
    /// Phase error of a flexed cable, σ in radians, of the reading; 0 to π/4.
    pub cable_phase_rad: f64,
    /// Drift since the calibration, rms |δS|/|S|; 0 to 1.
    pub drift: f64,
    /// Resistance of one contact, rms Ω; 0 to 1000. How many there are:
    /// [`crate::Fixture::contacts`].
    pub contact_ohm: f64,
    /// What the cable braids add to a part in the shunt fixture at low frequency, rms Ω; 0 to
    /// 1000. A short then reads about this over Z0/2.
    pub ground_loop_ohm: f64,
}

impl Instrument {
    /// Checks every entry against the range in its documentation.
    ///
    /// # Errors
    /// [`EntryError`] for the first entry outside its range, NaN included.
    pub fn validate(&self) -> Result<(), EntryError> {
        InstrumentEntry::ALL
            .iter()
            .filter_map(|entry| Some((entry, entry.get(self)?)))
            .try_for_each(|(entry, value)| entry.check(value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn presets_are_valid_and_slips_are_named_with_their_range() {
        for (name, preset) in Instrument::PRESETS {
            assert_eq!(preset.validate(), Ok(()), "{name}");
        }
        for (_, preset) in Instrument::PRESETS_ABOVE.as_flattened() {
            assert_eq!(preset.validate(), Ok(()));
        }
        let of = |change: fn(&mut Instrument)| {
            let mut instrument = Instrument::HANDHELD;
            change(&mut instrument);
            instrument.validate().unwrap_err()
        };
        let negative = of(|i| i.drift = -0.01);
        assert_eq!((negative.entry, negative.min), ("drift", 0.0));
        assert_eq!(of(|i| i.ifbw_hz = f64::NAN).entry, "IF bandwidth");
        assert_eq!(of(|i| i.averages = 0).min, 1.0);
        let directivity = of(|i| {
            i.systematic = Systematic::Vendor(VendorFigures {
                directivity: 1.5,
                reflect_tracking: 0.0,
                source_match: 0.0,
                through_tracking: 0.0,
                crosstalk: 0.0,
                load_match: 0.0,
            });
        });
        assert_eq!(
            directivity.to_string(),
            "directivity is 1.5: give a value from 0 to 1"
        );
        let huge = rms_from_db("load residual", 1e300).unwrap_err().to_string();
        assert!(huge.contains("is 1e300 dB"), "{huge}");
    }
}
