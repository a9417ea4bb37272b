//! Three invented instruments.

use crate::number::NEPER_PER_DB;
use crate::{Instrument, StandardsResiduals, Systematic};

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
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rms_from_db;

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
}
