//! The instrument that a question is about, and the frequency at which.

use clap::Args;
use jigwise_bench::{NamedInstrument, ScenarioError};
use jigwise_physics::{Budget, Instrument, ReferenceImpedance};

use super::{CommandError, frequency};

/// The instrument, and the frequency that its figures are asked at.
#[derive(Args)]
pub(super) struct AskedInstrument {
    /// handheld, club-bench, laboratory (all invented), or a file with an [instrument] table;
    /// handheld where none is named.
    #[arg(long, value_name = "NAME|FILE")]
    instrument: Option<String>,
    /// Frequency, for example 7.1M; without one the first band of the instrument counts.
    #[arg(long, value_parser = frequency, allow_hyphen_values = true)]
    at: Option<f64>,
}

/// What [`AskedInstrument`] names.
pub(super) struct Asked {
    /// Its name, and the frequency or the band.
    pub(super) words: String,
    pub(super) name: String,
    pub(super) freq_hz: Option<f64>,
    pub(super) figures: Instrument,
    pub(super) budget: Budget,
}

/// The file of an instrument that is named; none for a preset.
pub(super) fn file_of(named: Option<&str>) -> Option<String> {
    named
        .filter(|name| NamedInstrument::preset(name).is_none())
        .map(str::to_owned)
}

impl AskedInstrument {
    /// The files that it is read from.
    pub(super) fn files(&self) -> Vec<String> {
        file_of(self.instrument.as_deref()).into_iter().collect()
    }

    pub(super) fn read(&self, z0: ReferenceImpedance) -> Result<Asked, CommandError> {
        let named = match &self.instrument {
            Some(name) => NamedInstrument::named_or_read(name)?,
            None => NamedInstrument::default(),
        };
        let in_file = |error: ScenarioError| match &self.instrument {
            Some(name) if NamedInstrument::preset(name).is_none() => error.in_file(name.as_ref()),
            _ => error,
        };
        let figures = named.figures_at(self.at).map_err(in_file)?;
        Ok(Asked {
            words: named.words_at(self.at),
            budget: Budget::new(&figures, z0, 0)
                .map_err(|error| in_file(ScenarioError::of_instrument(&named.name, error)))?,
            freq_hz: self.at,
            name: named.name,
            figures,
        })
    }
}
