//! A scenario as it is written.

use jigwise_physics::Nudge;
use toml::{Table, Value};

use super::calibration::calibration_table;
use super::device::device_table;
use super::instrument::instrument_table;
use super::nudge::written_amount;
use super::strays::strays_table;
use super::sweep::sweep_table;
use super::{Scenario, direction_key};

impl Scenario {
    /// The scenario as a file. Reading it back gives the same scenario.
    pub fn to_toml(&self) -> String {
        let mut root = Table::new();
        root.insert("version".into(), 1.into());
        if let Some(title) = &self.title {
            root.insert("title".into(), title.clone().into());
        }
        root.insert("seed".into(), seed_value(self.seed));
        root.insert("device".into(), device_table(&self.device).into());
        if let Some(freq_hz) = self.freq_hz {
            let at = Table::from_iter([("frequency".into(), format!("{freq_hz:e} Hz").into())]);
            root.insert("at".into(), at.into());
        }
        if let Some(plan) = &self.sweep {
            root.insert("sweep".into(), sweep_table(plan).into());
        }
        let mut instrument = match &self.instrument {
            Some(named) => instrument_table(named),
            None => Table::new(),
        };
        let reference = format!("{:e} ohm", self.reference.ohm());
        instrument.insert("reference".into(), reference.into());
        root.insert("instrument".into(), instrument.into());
        if let Some(table) = strays_table(&self.fixtures) {
            root.insert("strays".into(), table.into());
        }
        let plan = self.calibration.as_ref();
        if let Some(table) = calibration_table(self.connections, plan, self.reference) {
            root.insert("calibration".into(), table.into());
        }
        if self.nudge != Nudge::default() {
            let table = Table::from_iter([
                ("amount".into(), written_amount(self.nudge.amount()).into()),
                ("along".into(), direction_key(self.nudge.direction()).into()),
                ("swapped".into(), self.nudge.is_swapped().into()),
            ]);
            root.insert("nudge".into(), table.into());
        }
        root.to_string()
    }
}

/// A seed. TOML's own numbers end at 2⁶³ − 1, so a larger one is written as text.
pub(super) fn seed_value(seed: u64) -> Value {
    match i64::try_from(seed) {
        Ok(number) => number.into(),
        Err(_) => seed.to_string().into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Band, NamedInstrument};
    use jigwise_physics::{Direction, Instrument, Systematic, VendorFigures};

    #[test]
    fn everything_survives_the_file() {
        let own = Instrument {
            averages: 7,
            trace_phase_rad: 0.001_234_567_8,
            contact_ohm: 0.012,
            systematic_is_bound: true,
            systematic: Systematic::Vendor(VendorFigures {
                directivity: 0.013,
                reflect_tracking: 0.02,
                source_match: 0.03,
                through_tracking: 0.004,
                crosstalk: 1e-5,
                load_match: 0.01,
            }),
            ..Instrument::CLUB_BENCH
        };
        for instrument in [
            None,
            NamedInstrument::preset("club-bench"),
            Some(NamedInstrument::at_any_frequency("mine".into(), own)),
            Some(NamedInstrument {
                higher: vec![Band {
                    up_to_hz: 1.5e9,
                    figures: Instrument {
                        systematic: own.systematic,
                        systematic_is_bound: own.systematic_is_bound,
                        ..Instrument::HANDHELD
                    },
                }],
                up_to_hz: 50e6,
                ..NamedInstrument::at_any_frequency("mine".into(), own)
            }),
            Some(NamedInstrument {
                name: "handheld, changed".into(),
                figures: Instrument {
                    averages: 16,
                    ..Instrument::HANDHELD
                },
                ..NamedInstrument::default()
            }),
        ] {
            let scenario = Scenario {
                instrument,
                connections: 3,
                nudge: Nudge::new(-0.25, Direction::Reactance, true).unwrap(),
                seed: 42,
                ..Scenario::default()
            };
            let text = scenario.to_toml();
            assert_eq!(
                Scenario::from_toml(&text, "again.toml"),
                Ok(scenario),
                "{text}"
            );
        }
    }
}
