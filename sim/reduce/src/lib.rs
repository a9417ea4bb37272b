//! From a measured sweep to ohms.
//!
//! [`reduce`] and [`reduce_with`] give a whole sweep at once. A [`Reducer`] gives any run of its
//! points, computed on all cores, so that a long sweep never stands in memory a second time.
//! [`Ensemble`] does so for one part measured in several fixtures. [`Findings`] says what the
//! sweep tells of the part, and [`mod@report`] makes a page of it all.

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod ahead;
mod beside;
mod blending;
mod calibration_file;
mod column;
mod cores;
mod ensemble;
mod ensemble_error;
mod error;
mod findings;
mod fit_input;
mod frequency;
mod laws;
mod part_point;
mod point;
mod point_reducer;
mod recipe;
mod reducer;
mod reduction;
mod regrid;
mod remark;
pub mod report;
mod smooth;
mod soundness;
mod standards;
mod thin;

pub use self::ahead::SweepsAhead;
pub use self::beside::Beside;
pub use self::calibration_file::{CalibrationFile, ports_of};
pub use self::column::{Column, Columns, Shown, Value, View};
pub use self::cores::{each_on_all_cores, on_all_cores};
pub use self::ensemble::Ensemble;
pub use self::ensemble_error::EnsembleError;
pub use self::error::ReduceError;
pub use self::findings::{
    Findings, MODELS, RESIDUALS_ARE_CONSTANT, Wanted, model_key, not_fitted, not_told, upper_bound,
    value_words,
};
pub use self::fit_input::{FitInput, fit_input};
pub use self::laws::{IDENTITY, Limits, PASSIVITY, RECIPROCITY, ROUNDING};
pub use self::part_point::{PartPoint, Region, RegionBy};
pub use self::point::{PointUncertainty, ReducedPoint, Source};
pub use self::recipe::Recipe;
pub use self::reducer::{Reducer, Survey};
pub use self::reduction::{Reduction, reduce, reduce_with};
pub use self::remark::Remark;
pub use self::soundness::Soundness;
pub use self::standards::StandardSweeps;
pub use self::thin::evenly;

/// The coverage factor k of the expanded uncertainties U = k·u that are shown: about 95 %.
pub const COVERAGE_FACTOR: f64 = 2.0;
