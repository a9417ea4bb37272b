use jigwise_physics::{Instrument, Nudge, Systematic};
use toml::{Table, Value};

use super::calibration::calibration_table;
use super::device::device_table;
use super::strays::strays_table;
use super::sweep::sweep_table;
use super::typed::seed_value;
use super::{NamedInstrument, Scenario, direction_key};

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
                ("amount".into(), Value::Float(self.nudge.amount())),
                ("along".into(), direction_key(self.nudge.direction()).into()),
                ("swapped".into(), self.nudge.is_swapped().into()),
            ]);
            root.insert("nudge".into(), table.into());
        }
        root.to_string()
    }
}

/// A preset by its name alone; anything else entry by entry.
fn instrument_table(named: &NamedInstrument) -> Table {
    let mut table = Table::new();
    if NamedInstrument::preset(&named.name).as_ref() == Some(named) {
        table.insert("preset".into(), named.name.clone().into());
        return table;
    }
    table.insert("name".into(), named.name.clone().into());
    let Instrument {
        systematic,
        systematic_is_bound,
        reflect_floor,
        through_floor,
        floor_ifbw_hz,
        ifbw_hz,
        averages,
        trace_magnitude,
        trace_phase_rad,
        display_magnitude,
        display_phase_rad,
        reconnect,
        cable_phase_rad,
        drift,
        contact_ohm,
        ground_loop_ohm,
    } = named.figures;
    let mut put = |key: &str, value: Value| {
        table.insert(key.into(), value);
    };
    let systematic = match systematic {
        Systematic::Standards(s) => [
            ("load", s.load),
            ("open", s.open),
            ("short", s.short),
            ("through_tracking", s.through_tracking),
            ("crosstalk", s.crosstalk),
            ("load_match", s.load_match),
        ],
        Systematic::Vendor(v) => [
            ("directivity", v.directivity),
            ("reflect_tracking", v.reflect_tracking),
            ("source_match", v.source_match),
            ("through_tracking", v.through_tracking),
            ("crosstalk", v.crosstalk),
            ("load_match", v.load_match),
        ],
    };
    for (key, value) in systematic.into_iter().chain([
        ("reflect_floor", reflect_floor),
        ("through_floor", through_floor),
        ("trace_magnitude", trace_magnitude),
        ("display_magnitude", display_magnitude),
        ("reconnect", reconnect),
        ("drift", drift),
        ("contact", contact_ohm),
        ("ground_loop", ground_loop_ohm),
        ("floor_if_bandwidth", floor_ifbw_hz),
        ("if_bandwidth", ifbw_hz),
    ]) {
        put(key, value.into());
    }
    for (key, angle_rad) in [
        ("trace_phase", trace_phase_rad),
        ("display_phase", display_phase_rad),
        ("cable_phase", cable_phase_rad),
    ] {
        put(key, format!("{angle_rad:e} rad").into());
    }
    put("bound", systematic_is_bound.into());
    put("averages", averages.into());
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use jigwise_physics::{Direction, VendorFigures};

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
            Some(NamedInstrument {
                name: "mine".into(),
                figures: own,
            }),
            Some(NamedInstrument {
                name: "handheld, changed".into(),
                figures: Instrument {
                    averages: 16,
                    ..Instrument::HANDHELD
                },
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
