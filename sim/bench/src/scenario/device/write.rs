//! The `[device]` table as it is written.

use jigwise_physics::Part;
use toml::Table;

use super::LINE_ENDS;
use crate::device::{Device, ImpedanceTable, fixed_text};
use jigwise_quantity::Unit;

/// The `[device]` table of a device. Parasitics that the part has not are left out.
pub(in crate::scenario) fn device_table(device: &Device) -> Table {
    let mut table = Table::new();
    let kind = match device {
        Device::Fixed(ohm) => {
            table.insert("impedance".into(), fixed_text(*ohm).into());
            "fixed"
        }
        Device::Open => "open",
        Device::Short => "short",
        Device::Part(part) => write_part(&mut table, part),
        Device::Table(points) => {
            write_points(&mut table, points);
            "table"
        }
    };
    table.insert("kind".into(), kind.into());
    table
}

/// Writes the values of a part, and names its kind.
fn write_part(table: &mut Table, part: &Part) -> &'static str {
    let mut put = |key: &str, value: f64, unit: Unit| {
        table.insert(key.into(), written(value, unit).into());
    };
    match part {
        Part::Resistor(p) => {
            put("resistance", p.resistance_ohm, Unit::Ohm);
            let own = [
                (
                    "parallel_capacitance",
                    p.parallel_capacitance_f,
                    Unit::Farad,
                ),
                ("series_inductance", p.series_inductance_h, Unit::Henry),
            ];
            write_parasitics(table, &own);
            "resistor"
        }
        Part::Capacitor(p) => {
            put("capacitance", p.capacitance_f, Unit::Farad);
            if let Some(leakage_ohm) = p.leakage_ohm {
                put("leakage", leakage_ohm, Unit::Ohm);
            }
            let own = [("esr", p.esr_ohm, Unit::Ohm), ("esl", p.esl_h, Unit::Henry)];
            write_parasitics(table, &own);
            "capacitor"
        }
        Part::Inductor(p) => {
            put("inductance", p.inductance_h, Unit::Henry);
            if let Some(skin) = p.skin {
                put("skin_resistance", skin.resistance_ohm, Unit::Ohm);
                put("skin_frequency", skin.at_hz, Unit::Hertz);
            }
            let own = [
                ("series_resistance", p.series_resistance_ohm, Unit::Ohm),
                (
                    "parallel_capacitance",
                    p.parallel_capacitance_f,
                    Unit::Farad,
                ),
            ];
            write_parasitics(table, &own);
            "inductor"
        }
        Part::SeriesRlc(p) => {
            put("resistance", p.resistance_ohm, Unit::Ohm);
            put("inductance", p.inductance_h, Unit::Henry);
            put("capacitance", p.capacitance_f, Unit::Farad);
            "series-rlc"
        }
        Part::ParallelRlc(p) => {
            put("resistance", p.resistance_ohm, Unit::Ohm);
            put("inductance", p.inductance_h, Unit::Henry);
            put("capacitance", p.capacitance_f, Unit::Farad);
            "parallel-rlc"
        }
        Part::Crystal(p) => {
            put("series_resonance", p.series_resonance_hz, Unit::Hertz);
            put(
                "motional_capacitance",
                p.motional_capacitance_f,
                Unit::Farad,
            );
            put("motional_resistance", p.motional_resistance_ohm, Unit::Ohm);
            put(
                "parallel_capacitance",
                p.parallel_capacitance_f,
                Unit::Farad,
            );
            "crystal"
        }
        Part::Choke(p) => {
            put("inductance", p.inductance_h, Unit::Henry);
            put("relaxation", p.relaxation_hz, Unit::Hertz);
            put("winding_capacitance", p.winding_capacitance_f, Unit::Farad);
            put("series_resistance", p.series_resistance_ohm, Unit::Ohm);
            "choke"
        }
        Part::Stub(p) => {
            put("line_impedance", p.zc_ohm, Unit::Ohm);
            put("delay", p.delay_s, Unit::Second);
            put("loss_neper", p.loss_np, Unit::One);
            put("loss_frequency", p.loss_at_hz, Unit::Hertz);
            let end = LINE_ENDS.iter().find(|(_, end)| *end == p.end);
            table.extend(end.map(|(word, _)| ("end".to_owned(), (*word).into())));
            "stub"
        }
    }
}

fn write_parasitics(table: &mut Table, parasitics: &[(&str, f64, Unit)]) {
    for (key, value, unit) in parasitics {
        if *value != 0.0 {
            table.insert((*key).to_owned(), written(*value, *unit).into());
        }
    }
}

fn write_points(table: &mut Table, points: &ImpedanceTable) {
    let list = |values: Vec<String>| toml::Value::from(values);
    let freq_hz = points.freq_hz().iter().map(|f| written(*f, Unit::Hertz));
    let r_ohm = points.z_ohm().iter().map(|z| written(z.re, Unit::Ohm));
    let x_ohm = points.z_ohm().iter().map(|z| written(z.im, Unit::Ohm));
    table.insert("frequency".into(), list(freq_hz.collect()));
    table.insert("resistance".into(), list(r_ohm.collect()));
    table.insert("reactance".into(), list(x_ohm.collect()));
}

/// A value with every digit.
fn written(value: f64, unit: Unit) -> String {
    match unit {
        Unit::One => format!("{value:e}"),
        unit => format!("{value:e} {}", unit.typed()),
    }
}
