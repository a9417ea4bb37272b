//! What an instrument's errors do to a reading, to the ohms got back, and to the smallest change
//! that shows.

mod agreement;
mod appraisal;
mod bands;
mod blend;
mod budget;
mod cause;
mod chi_square;
mod choice;
mod covariance;
pub(crate) mod coverage;
mod draws;
mod entry;
pub(crate) mod instrument;
mod left_out;
mod linear;
mod lines;
mod map;
mod merit;
mod modulus_interval;
mod monte_carlo;
mod noise;
mod noise_scale;
mod nudge;
mod observation;
mod on_bench;
mod path;
mod polynomial;
mod port_match;
mod presets;
mod raw_match;
mod residuals;
mod resolve;
mod sensitivities;
mod standards_noise;
mod view;

pub use agreement::{Agreement, AgreementTally};
pub use appraisal::{Appraisal, FixtureAppraisal, OhmUncertainty, Verdict};
pub use bands::Bands;
pub use blend::{Blend, BlendError, DOUBTFUL_P, REFUSED_P, StandingCaution};
pub use budget::Budget;
pub use cause::Cause;
pub use chi_square::p_value;
pub(crate) use chi_square::p_words;
pub use choice::{
    Crossover, Reach, WantedChange, absolute_error_ratio_for_crossover,
    relative_error_ratio_for_crossover,
};
pub use covariance::{CholeskyFactor, Covariance};
pub use coverage::{
    Coverage, MIN_LINEAR_T0_IN_SIGMA, MIN_T0_IN_SIGMA, Trust, coverage_region,
    coverage_region_through, distance_from_pole, is_bent,
};
pub use draws::Draws;
pub use entry::{EntryKind, InstrumentEntry};
pub use instrument::{
    Instrument, StandardsResiduals, Systematic, VendorFigures, angle_from_degrees, ratio_from_db,
    rms_from_db,
};
pub use left_out::CalibrationMade;
pub use map::{BufferSizeError, ChartArea, OhmArea};
pub use merit::{Merits, ReadingError};
pub use modulus_interval::{ModulusInterval, modulus_interval};
pub use monte_carlo::{Deviation, MonteCarlo, MonteCarloResult, OutputQuantity};
pub use noise_scale::{NoisePoint, NoiseScale};
pub use nudge::{
    AveragesNeeded, Direction, Limit, Nudge, Resolvable, ResolvableChange, SEEN_SIGMA,
};
pub use observation::Observation;
pub use on_bench::MAX_ARM_DOUBT_RAD;
pub use residuals::Residuals;
pub use sensitivities::Sensitivities;
pub use standards_noise::STANDARD_READINGS;
