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

const fn standards(
    load: f64,
    open_and_short: f64,
    through_tracking: f64,
    load_match: f64,
    crosstalk: f64,
) -> Systematic {
    Systematic::Standards(StandardsResiduals {
        load,
        open: open_and_short,
        short: open_and_short,
        through_tracking,
        crosstalk,
        load_match,
    })
}

const RAD_PER_DEGREE: f64 = std::f64::consts::PI / 180.0;

// Powers of ten written out, since powf is not const: 10^(−dB/20).
const MINUS_26_DB: f64 = 0.050_118_723_362_727_22;
const MINUS_28_DB: f64 = 0.039_810_717_055_349_734;
const MINUS_30_DB: f64 = 0.031_622_776_601_683_79;
const MINUS_34_DB: f64 = 0.019_952_623_149_688_8;
const MINUS_36_DB: f64 = 0.015_848_931_924_611_134;
const MINUS_38_DB: f64 = 0.012_589_254_117_941_675;
const MINUS_40_DB: f64 = 0.01;
const MINUS_44_DB: f64 = 0.006_309_573_444_801_93;
const MINUS_48_DB: f64 = 0.003_981_071_705_534_973;
const MINUS_50_DB: f64 = 0.003_162_277_660_168_379_4;
const MINUS_52_DB: f64 = 0.002_511_886_431_509_579_4;
const MINUS_55_DB: f64 = 0.001_778_279_410_038_922_8;
const MINUS_56_DB: f64 = 0.001_584_893_192_461_114;
const MINUS_58_DB: f64 = 0.001_258_925_411_794_167_5;
const MINUS_62_DB: f64 = 0.000_794_328_234_724_281_3;
const MINUS_64_DB: f64 = 0.000_630_957_344_480_193;
const MINUS_68_DB: f64 = 0.000_398_107_170_553_497_35;
const MINUS_70_DB: f64 = 0.000_316_227_766_016_837_94;
const MINUS_75_DB: f64 = 0.000_177_827_941_003_892_27;
const MINUS_80_DB: f64 = 0.000_1;
const MINUS_84_DB: f64 = 6.309_573_444_801_929e-5;
const MINUS_85_DB: f64 = 5.623_413_251_903_491e-5;
const MINUS_86_DB: f64 = 5.011_872_336_272_725e-5;
const MINUS_88_DB: f64 = 3.981_071_705_534_969_5e-5;
const MINUS_90_DB: f64 = 3.162_277_660_168_379_5e-5;
const MINUS_92_DB: f64 = 2.511_886_431_509_582_2e-5;
const MINUS_100_DB: f64 = 1.0e-5;
const MINUS_104_DB: f64 = 6.309_573_444_801_93e-6;
const MINUS_105_DB: f64 = 5.623_413_251_903_491e-6;
const MINUS_108_DB: f64 = 3.981_071_705_534_969e-6;
const MINUS_110_DB: f64 = 3.162_277_660_168_379e-6;

/// The frequency at which the second band of the presets ends, Hz.
const HIGH_HZ: f64 = 300e6;

impl Instrument {
    /// *Handheld*, invented: a small analyzer with a hobby calibration and a coarse display.
    pub const HANDHELD: Self = Self {
        systematic: standards(MINUS_38_DB, 0.015, 0.018, MINUS_34_DB, MINUS_62_DB),
        systematic_is_bound: false,
        reflect_floor: MINUS_70_DB,
        through_floor: MINUS_70_DB,
        floor_ifbw_hz: 1e3,
        ifbw_hz: 1e3,
        averages: 1,
        trace_magnitude: 0.015 * NEPER_PER_DB,
        trace_phase_rad: 0.10 * RAD_PER_DEGREE,
        display_magnitude: 0.05 * NEPER_PER_DB,
        display_phase_rad: 0.5 * RAD_PER_DEGREE,
        raw_match: 0.18,
        reconnect: 0.003,
        cable_phase_rad: 0.0,
        drift: 0.0,
        contact_ohm: 0.0,
        ground_loop_ohm: 0.0,
    };

    /// *Club bench*, invented: an older bench analyzer with a fair calibration.
    pub const CLUB_BENCH: Self = Self {
        systematic: standards(MINUS_44_DB, 0.008, 0.006, 0.0, MINUS_85_DB),
        reflect_floor: MINUS_90_DB,
        through_floor: MINUS_90_DB,
        trace_magnitude: 0.004 * NEPER_PER_DB,
        trace_phase_rad: 0.025 * RAD_PER_DEGREE,
        display_magnitude: 0.001 * NEPER_PER_DB,
        display_phase_rad: 0.01 * RAD_PER_DEGREE,
        raw_match: 0.10,
        reconnect: 0.001,
        ..Self::HANDHELD
    };

    /// *Laboratory*, invented: a fine analyzer with characterised standards.
    pub const LABORATORY: Self = Self {
        systematic: standards(MINUS_56_DB, 0.0025, 0.0008, 0.0, MINUS_110_DB),
        reflect_floor: MINUS_110_DB,
        through_floor: MINUS_110_DB,
        trace_magnitude: 0.0006 * NEPER_PER_DB,
        trace_phase_rad: 0.004 * RAD_PER_DEGREE,
        display_magnitude: 0.0001 * NEPER_PER_DB,
        display_phase_rad: 0.001 * RAD_PER_DEGREE,
        raw_match: 0.05,
        reconnect: 0.0003,
        ..Self::HANDHELD
    };

    /// The presets with the names they go by, up to [`Instrument::PRESETS_UP_TO_HZ`].
    pub const PRESETS: [(&'static str, Self); 3] = [
        ("handheld", Self::HANDHELD),
        ("club bench", Self::CLUB_BENCH),
        ("laboratory", Self::LABORATORY),
    ];

    /// The presets above [`Instrument::PRESETS_UP_TO_HZ`], in their order: up to the frequency given,
    /// and above it. Invented like the rest: connectors and cables count more, and on the two better
    /// ones the directional receivers lose more than those of the through path.
    pub const PRESETS_ABOVE: [[(f64, Self); 2]; 3] = [
        [
            (
                HIGH_HZ,
                Self {
                    systematic: standards(MINUS_34_DB, 0.025, 0.025, MINUS_30_DB, MINUS_58_DB),
                    reflect_floor: MINUS_64_DB,
                    through_floor: MINUS_64_DB,
                    trace_magnitude: 0.025 * NEPER_PER_DB,
                    trace_phase_rad: 0.20 * RAD_PER_DEGREE,
                    raw_match: 0.20,
                    reconnect: 0.006,
                    ..Self::HANDHELD
                },
            ),
            (
                f64::INFINITY,
                Self {
                    systematic: standards(MINUS_28_DB, 0.05, 0.05, MINUS_26_DB, MINUS_50_DB),
                    reflect_floor: MINUS_55_DB,
                    through_floor: MINUS_55_DB,
                    trace_magnitude: 0.05 * NEPER_PER_DB,
                    trace_phase_rad: 0.5 * RAD_PER_DEGREE,
                    raw_match: 0.25,
                    reconnect: 0.015,
                    ..Self::HANDHELD
                },
            ),
        ],
        [
            (
                HIGH_HZ,
                Self {
                    systematic: standards(MINUS_40_DB, 0.012, 0.010, 0.0, MINUS_80_DB),
                    reflect_floor: MINUS_75_DB,
                    through_floor: MINUS_88_DB,
                    trace_magnitude: 0.006 * NEPER_PER_DB,
                    trace_phase_rad: 0.04 * RAD_PER_DEGREE,
                    raw_match: 0.12,
                    reconnect: 0.002,
                    ..Self::CLUB_BENCH
                },
            ),
            (
                f64::INFINITY,
                Self {
                    systematic: standards(MINUS_36_DB, 0.02, 0.015, 0.0, MINUS_75_DB),
                    reflect_floor: MINUS_68_DB,
                    through_floor: MINUS_84_DB,
                    trace_magnitude: 0.01 * NEPER_PER_DB,
                    trace_phase_rad: 0.08 * RAD_PER_DEGREE,
                    raw_match: 0.15,
                    reconnect: 0.004,
                    ..Self::CLUB_BENCH
                },
            ),
        ],
        [
            (
                HIGH_HZ,
                Self {
                    systematic: standards(MINUS_52_DB, 0.004, 0.0015, 0.0, MINUS_105_DB),
                    reflect_floor: MINUS_92_DB,
                    through_floor: MINUS_108_DB,
                    trace_magnitude: 0.001 * NEPER_PER_DB,
                    trace_phase_rad: 0.008 * RAD_PER_DEGREE,
                    raw_match: 0.06,
                    reconnect: 0.0005,
                    ..Self::LABORATORY
                },
            ),
            (
                f64::INFINITY,
                Self {
                    systematic: standards(MINUS_48_DB, 0.006, 0.003, 0.0, MINUS_100_DB),
                    reflect_floor: MINUS_86_DB,
                    through_floor: MINUS_104_DB,
                    trace_magnitude: 0.0015 * NEPER_PER_DB,
                    trace_phase_rad: 0.015 * RAD_PER_DEGREE,
                    raw_match: 0.08,
                    reconnect: 0.001,
                    ..Self::LABORATORY
                },
            ),
        ],
    ];

    /// The frequency up to which [`Instrument::PRESETS`] hold, Hz.
    pub const PRESETS_UP_TO_HZ: f64 = 30e6;

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
    fn written_out_powers_of_ten_are_right() {
        for (constant, db) in [
            (MINUS_26_DB, -26.0),
            (MINUS_28_DB, -28.0),
            (MINUS_30_DB, -30.0),
            (MINUS_34_DB, -34.0),
            (MINUS_36_DB, -36.0),
            (MINUS_38_DB, -38.0),
            (MINUS_40_DB, -40.0),
            (MINUS_44_DB, -44.0),
            (MINUS_48_DB, -48.0),
            (MINUS_50_DB, -50.0),
            (MINUS_52_DB, -52.0),
            (MINUS_55_DB, -55.0),
            (MINUS_56_DB, -56.0),
            (MINUS_58_DB, -58.0),
            (MINUS_62_DB, -62.0),
            (MINUS_64_DB, -64.0),
            (MINUS_68_DB, -68.0),
            (MINUS_70_DB, -70.0),
            (MINUS_75_DB, -75.0),
            (MINUS_80_DB, -80.0),
            (MINUS_84_DB, -84.0),
            (MINUS_85_DB, -85.0),
            (MINUS_86_DB, -86.0),
            (MINUS_88_DB, -88.0),
            (MINUS_90_DB, -90.0),
            (MINUS_92_DB, -92.0),
            (MINUS_100_DB, -100.0),
            (MINUS_104_DB, -104.0),
            (MINUS_105_DB, -105.0),
            (MINUS_108_DB, -108.0),
            (MINUS_110_DB, -110.0),
        ] {
            let exact = rms_from_db("", db).unwrap();
            assert!((constant / exact - 1.0).abs() < 1e-15, "{db} dB");
        }
    }

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
