//! Why something of a round can't be done.

use std::fmt;

use jigwise_bench::ScenarioError;

use super::{AVERAGES, BUDGET, hertz};
use crate::claim::ClaimError;

/// Why something of a round can't be done.
#[derive(Debug, Clone, PartialEq)]
pub enum RoundError {
    /// It costs more than is left.
    TooDear {
        /// What it costs.
        cost: u32,
        /// What is left.
        left: u32,
    },
    /// A frequency that is not offered.
    Frequency {
        /// The frequency, Hz.
        freq_hz: f64,
        /// Those offered, Hz.
        known: Vec<f64>,
    },
    /// Averages that are not offered.
    Averages(u32),
    /// The part was not read, or not where the answer needs it.
    NotRead {
        /// The frequency that is asked about, Hz, where there is one.
        asked_hz: Option<f64>,
    },
    /// The answer can't be read.
    Claim(ClaimError),
    /// The round was answered already.
    Over,
    /// The bench can't be computed.
    Bench(ScenarioError),
}

impl std::error::Error for RoundError {}

impl From<ScenarioError> for RoundError {
    fn from(error: ScenarioError) -> Self {
        Self::Bench(error)
    }
}

impl fmt::Display for RoundError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooDear { cost, left } => write!(
                f,
                "this costs {cost} and {left} of {BUDGET} are left; take fewer averages, or answer \
                 with what you have"
            ),
            Self::Frequency { freq_hz, known } => {
                let known: Vec<String> = known.iter().map(|hz| hertz(*hz)).collect();
                write!(
                    f,
                    "{} is not offered here; choose one of {}",
                    hertz(*freq_hz),
                    known.join(", ")
                )
            }
            Self::Averages(averages) => write!(
                f,
                "{averages} averages are not offered; choose one of {}",
                AVERAGES.map(|count| count.to_string()).join(", ")
            ),
            Self::NotRead { asked_hz: None } => {
                f.write_str("the part was not read yet; read it at least once before you answer")
            }
            Self::NotRead {
                asked_hz: Some(asked_hz),
            } => write!(
                f,
                "the part was not read at {} yet, where its resistance is asked for; read it there \
                 before you answer",
                hertz(*asked_hz)
            ),
            Self::Claim(error) => error.fmt(f),
            Self::Over => f.write_str("this round is answered; begin another one"),
            Self::Bench(error) => error.fmt(f),
        }
    }
}
