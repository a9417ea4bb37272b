//! What an instrument's errors do to a reading, to the ohms got back, and to the smallest change
//! that shows.

mod amplitudes;
mod appraisal;
mod blend;
pub(crate) mod budget;
mod chi_square;
mod choice;
mod covariance;
pub(crate) mod coverage;
mod draws;
mod entry;
pub(crate) mod instrument;
mod map;
mod merit;
mod monte_carlo;
mod path;
mod polynomial;
mod residuals;
mod resolve;
mod scatter;
mod view;

pub use appraisal::{Appraisal, FixtureAppraisal, OhmUncertainty, Verdict};
pub use blend::{Blend, BlendError, DOUBTFUL_P, LEAST_T0_IN_SIGMA, REFUSED_P, StandingCaution};
pub use budget::{Budget, Cause};
pub use chi_square::chance_of_more;
pub use choice::{
    Crossover, Reach, WantedChange, absolute_error_ratio_for_crossover,
    relative_error_ratio_for_crossover,
};
pub use covariance::Covariance;
pub use coverage::{Coverage, Trust, coverage_region, distance_from_pole};
pub use draws::Draws;
pub use entry::InstrumentEntry;
pub use instrument::{
    Instrument, StandardsResiduals, Systematic, VendorFigures, angle_from_degrees, ratio_from_db,
    rms_from_db,
};
pub use map::{BufferSizeError, ChartArea, OhmArea};
pub use merit::{Merits, ReadingError};
pub use monte_carlo::{Deviation, Drawn, MonteCarlo, MonteCarloResult};
pub use residuals::Residuals;
pub use resolve::{
    AveragesNeeded, Direction, Limit, Nudge, Resolvable, ResolvableChange, SEEN_SIGMA,
};
