//! The bench: scenarios and files on one side, physics on the other, and what people see
//! made once in between.
//!
//! A [`Scenario`] is the physical question. [`Bench::new`] turns it into numbers,
//! [`Bench::readout`] into what the analyzer shows in each of the three fixtures and the ohms
//! got back.
//!
//! ```
//! use jigwise_bench::{Bench, Fixture, Scenario};
//!
//! let scenario = Scenario::from_toml(
//!     r#"
//!     version = 1
//!     [device]
//!     kind = "resistor"
//!     resistance = "4.7k"
//!     "#,
//!     "junk-box.toml",
//! )?;
//! let readout = Bench::new(&scenario)?.readout();
//! let series = readout.of(Fixture::SeriesThrough);
//! assert!((series.reading.unwrap().re - 100.0 / 4_800.0).abs() < 1e-15);
//! # Ok::<(), jigwise_bench::ScenarioError>(())
//! ```

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod blank;
mod budget;
mod chain;
pub mod change;
mod clouds;
mod device;
pub mod entries;
pub mod file;
mod fixture_entries;
mod formula;
mod fragment;
mod front_end;
mod noise;
mod one_reading;
pub mod quotes;
mod readout;
mod roundtrip;
mod scenario;
pub mod scene;
mod session;
#[cfg(feature = "shell")]
pub mod shell;
mod simulate;
mod spectrum;
pub mod steer;
mod trials;
pub mod words;

pub use blank::Blank;
pub use clouds::{Clouds, POINTS};
pub use device::{Device, DeviceError, ImpedanceTable, parse_reading};
pub use entries::described_otherwise;
pub use file::{ScenarioError, expected_one_of, hint};
pub use fixture_entries::StrayEntry;
pub use formula::{Formula, FormulaError};
pub use fragment::{FragmentError, MAX_FRAGMENT_BYTES};
pub use jigwise_physics::Quantity as PartQuantity;
pub use jigwise_physics::{
    Appraisal, AveragesNeeded, Bands, Blend, BlendError, Budget, CalibrationStep, Cause, Complex64,
    Covariance, Coverage, Crossover, DOUBTFUL_P, Direction, DiscImage, Draws, EntryError,
    Equivalents, Fixture, FixtureAppraisal, Immittance, Instrument, InstrumentEntry, Limit, Line,
    LineEnd, Merits, ModulusInterval, MonteCarlo, Nudge, NumberError, Part, REFUSED_P, Reach,
    ReadingError, ReferenceImpedance, Reflection, Residuals, ResolvableChange, SEEN_SIGMA,
    Standard, Strays, Termination, Trust, Verdict, WantedChange, coverage_region,
    distance_from_pole, magnitude_from_swr, p_value,
};
pub use jigwise_physics::{
    BlankError, Deembedded, Extracted, Goodness, LEFT_SHARE, OpenShort, PlaneBlank, PortExtension,
    SPEED_OF_LIGHT_M_PER_S, without_empty_gap, without_shorted_branch,
};
pub use jigwise_quantity::{
    MAX_QUOTED, Quantity, Unit, ValueError, above_zero, angle, complex_ohm, engineering, excerpt,
    fixed, grouped, parse_count, parse_quantity, parse_share, parse_value, percent, plain_complex,
    plus_minus, range, significant, unsigned_percent, with_spread, without_zeros,
};
pub use jigwise_touchstone::{Sweep, TouchstoneError, read_file};
pub use readout::{Bench, FixtureReadout, Readout};
pub use roundtrip::{EXACT, PartKind, Roundtrip, Trial, roundtrip, trials};
pub use scenario::{
    Band, CalibrationPlan, DraftDevice, FixtureStrays, METHODS, NamedInstrument, NamedStrays,
    Scenario, Skipped, Spacing, SweepPlan, direction_key, ideal_kit, make_nudge, parse_direction,
};
pub use session::{Session, Wanted};
pub use simulate::{MeasuredPoint, Measurement};
pub use trials::Trials;
pub use words::{bench_story, left_by, plan, sums};

/// The version of what was built, and its commit where the build was told one by
/// `JIGWISE_COMMIT`: "0.1.0 (a1b2c3d)".
///
/// ```
/// assert!(jigwise_bench::version().starts_with("0."));
/// ```
pub fn version() -> String {
    let version = env!("CARGO_PKG_VERSION");
    option_env!("JIGWISE_COMMIT")
        .map_or(version.to_owned(), |commit| format!("{version} ({commit})"))
}
