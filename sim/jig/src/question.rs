use std::path::PathBuf;

use clap::Args;
use jigwise_physics::{Direction, ReferenceImpedance};

use super::{CommandError, frequency, reference};
use jigwise_bench::parse_direction;
use jigwise_bench::{Bench, NamedInstrument, Scenario, make_nudge};
use jigwise_quantity::parse_share;

/// The physical question, as `read` and `plan` take it.
#[derive(Args)]
pub(super) struct Question {
    /// A scenario file; what is named beside it takes the place of what the file says.
    scenario: Option<PathBuf>,
    /// open, short, R + jX as "330 - j120", a resistor 4.7k, a capacitor 330p, a coil 2u2H.
    #[arg(long, allow_hyphen_values = true)]
    device: Option<String>,
    /// Frequency, for example 7.1M; coils and capacitors need one.
    #[arg(long, value_parser = frequency, allow_hyphen_values = true)]
    at: Option<f64>,
    /// The analyzer's reference in ohms, 50 if nothing is said.
    #[arg(long, value_name = "OHM", value_parser = reference, allow_hyphen_values = true)]
    reference: Option<f64>,
    /// handheld, club-bench, laboratory (all invented), or a file with an [instrument] table.
    /// Handheld where `plan` or --nudge need one and none is named.
    #[arg(long, value_name = "NAME|FILE")]
    instrument: Option<String>,
    /// A small change of |Z| such as "+10%", to see which fixture notices; +10% where none is
    /// named.
    #[arg(long, value_name = "PERCENT", value_parser = parse_share, allow_hyphen_values = true)]
    nudge: Option<f64>,
    /// Which way the change goes: magnitude (where nothing is said), resistance or reactance.
    #[arg(long, value_name = "DIRECTION", value_parser = parse_direction)]
    along: Option<Direction>,
    /// The part is exchanged for another instead of changing in place.
    #[arg(long)]
    swapped: bool,
}

impl Question {
    /// The files that it is read from.
    pub(super) fn files(&self) -> Vec<String> {
        let scenario = self.scenario.iter().map(|path| path.display().to_string());
        scenario
            .chain(super::asked::file_of(self.instrument.as_deref()))
            .collect()
    }

    /// The scenario that is asked about.
    pub(super) fn scenario(&self) -> Result<Scenario, CommandError> {
        let mut scenario = match (&self.scenario, &self.device) {
            (Some(path), _) => Scenario::read_file(path)?,
            (None, Some(_)) => Scenario {
                freq_hz: None,
                ..Scenario::default()
            },
            (None, None) => return Err(CommandError::NothingToRead),
        };
        if let Some(device) = &self.device {
            scenario.device = device.parse()?;
        }
        if let Some(freq_hz) = self.at {
            scenario.freq_hz = Some(freq_hz);
        }
        if let Some(ohm) = self.reference {
            scenario.reference = ReferenceImpedance::new(ohm)?;
        }
        if let Some(name) = &self.instrument {
            scenario.instrument = Some(NamedInstrument::named_or_read(name)?);
        }
        let asked = self.nudge.is_some() || self.along.is_some() || self.swapped;
        if asked {
            scenario.nudge = make_nudge(
                self.nudge.unwrap_or(scenario.nudge.amount()),
                self.along.unwrap_or(scenario.nudge.direction()),
                self.swapped || scenario.nudge.is_swapped(),
            )
            .map_err(CommandError::Nudge)?;
            scenario.instrument.get_or_insert_default();
        }
        Ok(scenario)
    }

    /// The bench of that scenario; errors name the file it came from.
    pub(super) fn bench(&self, scenario: &Scenario) -> Result<Bench, CommandError> {
        let bench = scenario.check_strays().and_then(|()| Bench::new(scenario));
        Ok(bench.map_err(|error| match &self.scenario {
            // An instrument named beside the file is not in it.
            Some(_) if self.instrument.is_some() && error.is_about("instrument") => error,
            Some(path) => error.in_file(path),
            None => error,
        })?)
    }
}
