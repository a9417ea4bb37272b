//! The physics of measuring an impedance with a vector network analyzer in three
//! fixtures. Numbers only: no files, no text formats, no window.
//!
//! One part is one point. A device is an [`Immittance`], a pair (v, i) known up to a
//! common factor, so an open (1, 0) and a short (0, 1) are ordinary points. Each
//! [`Fixture`] is a [`Mobius`] map from that point to what the analyzer reads, so the
//! inverse, the derivative and exact differences are closed forms of one small type.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | Z | impedance of the device, v/i | Ω |
//! | Z0 | [`ReferenceImpedance`] of the analyzer, positive and real | Ω |
//! | z | Z/Z0 | 1 |
//! | S | reading: S11 in the reflect fixture, S21 in both through fixtures | 1 |
//! | Γ | reflection coefficient (Z − Z0)/(Z + Z0) | 1 |
//! | K | relative sensitivity \|dZ/dS\|/\|Z\| | 1 |
//!
//! ```
//! use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};
//!
//! let z0 = ReferenceImpedance::FIFTY_OHM;
//! let part = Immittance::from_impedance(Complex64::new(1_000.0, 0.0))?;
//! let through = Fixture::SeriesThrough.reading(part, z0).value().unwrap();
//! assert!((through.re - 1.0 / 11.0).abs() < 1e-15);
//! let back = Fixture::SeriesThrough.immittance(through, z0)?;
//! assert!((back.impedance().unwrap().re - 1_000.0).abs() < 1e-9);
//! # Ok::<(), jigwise_physics::NumberError>(())
//! ```

mod amplitudes;
mod appraisal;
mod blend;
mod budget;
mod calibration;
mod chi_square;
mod choice;
mod covariance;
mod coverage;
mod deembed;
mod draws;
mod equivalent;
mod extract;
mod fixture;
mod immittance;
mod instrument;
mod line;
mod map;
mod merit;
mod mobius;
mod monte_carlo;
mod network;
mod part;
mod path;
mod polynomial;
mod port_extension;
mod reflection;
mod residuals;
mod resolve;
mod scatter;
mod strays;
mod view;

pub use appraisal::{Appraisal, FixtureAppraisal, OhmUncertainty, Verdict};
pub use blend::{Blend, BlendError, DOUBTFUL_P, LEAST_T0_IN_SIGMA, REFUSED_P, StandingCaution};
pub use budget::{Budget, Cause};
pub use calibration::{
    CalibrationError, Connection, Correction, Definitions, DirectionTerms, Isolation, Kit,
    LEAST_SEPARATION, MeasuredStandards, Method, Normaliser, OffsetLine, OnePortFit, OnePortTerms,
    Piece, Port, RawAnalyzer, Standard, SwitchTerms, Termination, ThroughStandard, Trio,
    TwelveTerms, solve,
};
pub use chi_square::chance_of_more;
pub use choice::{
    Crossover, Reach, WantedChange, absolute_error_ratio_for_crossover,
    relative_error_ratio_for_crossover,
};
pub use covariance::Covariance;
pub use coverage::{Coverage, Trust, coverage_region, distance_from_pole};
pub use deembed::{
    BlankError, Deembedded, LEFT_SHARE, OpenShort, without_empty_gap, without_shorted_branch,
};
pub use draws::Draws;
pub use equivalent::{Equivalents, ParallelEquivalent, SeriesEquivalent};
pub use extract::{
    ExtractError, Extracted, Goodness, ImpedanceSweep, LEAST_IN_WIDTH, Model, Quantity, Reactive,
    Refused, Value,
};
pub use fixture::Fixture;
pub use immittance::{Immittance, ReferenceImpedance};
pub use instrument::{
    EntryError, Instrument, NEPER_PER_DB, StandardsResiduals, Systematic, VendorFigures,
    angle_from_degrees, ratio_from_db, rms_from_db,
};
pub use line::{Line, SPEED_OF_LIGHT_M_PER_S};
pub use map::{BufferSizeError, ChartArea, OhmArea};
pub use merit::{Merits, ReadingError};
pub use mobius::{DiscImage, Mobius, Ratio};
pub use monte_carlo::{Deviation, Drawn, MonteCarlo, MonteCarloResult};
pub use network::{Network, Scattering};
pub use num_complex::Complex64;
pub use part::{
    Capacitor, Choke, Crystal, Inductor, LineEnd, ParallelRlc, Part, PhaseFrequencies, Resistor,
    SeriesRlc, SkinLoss, Stub, motional_capacitance_f,
};
pub use port_extension::{DelayError, DelayEstimate, PlaneBlank, PortExtension};
pub use reflection::{
    Reflection, magnitude_from_return_loss, magnitude_from_swr, mismatch_loss_db, return_loss_db,
    swr,
};
pub use residuals::Residuals;
pub use resolve::{
    AveragesNeeded, Direction, Limit, Nudge, Resolvable, ResolvableChange, SEEN_SIGMA,
};
pub use strays::Strays;

/// A number that can't stand for the physical quantity it was given as.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum NumberError {
    /// NaN or infinite where a finite number is needed.
    NotFinite {
        /// The quantity, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Zero or negative where a positive number is needed.
    NotPositive {
        /// The quantity, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Negative where zero or more is needed.
    Negative {
        /// The quantity, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Both voltage and current are zero: no ratio.
    NoRatio,
}

impl NumberError {
    /// True where the value was NaN or infinite.
    pub fn is_not_finite(&self) -> bool {
        matches!(self, Self::NotFinite { .. })
    }

    /// True where the value had to be positive.
    pub fn is_not_positive(&self) -> bool {
        matches!(self, Self::NotPositive { .. })
    }
}

impl std::fmt::Display for NumberError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotFinite { what, value } => {
                write!(f, "{what} is {value}: give a finite number")
            }
            Self::NotPositive { what, value } => {
                write!(f, "{what} is {value}: give a number above zero")
            }
            Self::Negative { what, value } => {
                write!(f, "{what} is {value}: give zero or more")
            }
            Self::NoRatio => f.write_str(
                "voltage and current are both zero, which is no impedance: \
                 use (1, 0) for an open and (0, 1) for a short",
            ),
        }
    }
}

impl std::error::Error for NumberError {}

pub(crate) fn finite(what: &'static str, value: Complex64) -> Result<Complex64, NumberError> {
    for part in [value.re, value.im] {
        if !part.is_finite() {
            return Err(NumberError::NotFinite { what, value: part });
        }
    }
    Ok(value)
}
