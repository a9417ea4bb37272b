//! The `[device]` table, both ways.

use jigwise_physics::{
    Capacitor, Choke, Complex64, Crystal, Inductor, LineEnd, NEPER_PER_DB, ParallelRlc, Part,
    Resistor, SeriesRlc, SkinLoss, Stub,
};
use toml::Table;

use crate::device::{Device, ImpedanceTable, fixed_text};
use crate::file::{Keyed, ScenarioError, expected_one_of};
use jigwise_quantity::{Unit, parse_value};

/// A kind of device: its name, the keys it needs and those it may have.
struct Kind {
    name: &'static str,
    needs: &'static [&'static str],
    may: &'static [&'static str],
    read: fn(&Keyed<'_>) -> Result<Device, ScenarioError>,
}

const KINDS: [Kind; 12] = [
    Kind {
        name: "fixed",
        needs: &["impedance"],
        may: &[],
        read: fixed,
    },
    Kind {
        name: "resistor",
        needs: &["resistance"],
        may: &["parallel_capacitance", "series_inductance"],
        read: resistor,
    },
    Kind {
        name: "inductor",
        needs: &["inductance"],
        may: &[
            "series_resistance",
            "parallel_capacitance",
            "skin_resistance",
            "skin_frequency",
        ],
        read: inductor,
    },
    Kind {
        name: "capacitor",
        needs: &["capacitance"],
        may: &["esr", "esl", "leakage"],
        read: capacitor,
    },
    Kind {
        name: "series-rlc",
        needs: &["resistance", "inductance", "capacitance"],
        may: &[],
        read: series_rlc,
    },
    Kind {
        name: "parallel-rlc",
        needs: &["resistance", "inductance", "capacitance"],
        may: &[],
        read: parallel_rlc,
    },
    Kind {
        name: "crystal",
        needs: &[
            "series_resonance",
            "motional_capacitance",
            "motional_resistance",
            "parallel_capacitance",
        ],
        may: &[],
        read: crystal,
    },
    Kind {
        name: "choke",
        needs: &["inductance", "relaxation"],
        may: &["winding_capacitance", "series_resistance"],
        read: choke,
    },
    Kind {
        name: "stub",
        needs: &["line_impedance", "delay", "end"],
        may: &["loss", "loss_neper", "loss_frequency"],
        read: stub,
    },
    Kind {
        name: "open",
        needs: &[],
        may: &[],
        read: |_| Ok(Device::Open),
    },
    Kind {
        name: "short",
        needs: &[],
        may: &[],
        read: |_| Ok(Device::Short),
    },
    Kind {
        name: "table",
        needs: &["frequency", "resistance", "reactance"],
        may: &[],
        read: table,
    },
];

/// The device of a scenario.
pub(super) fn device(file: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let mut known = vec!["kind"];
    for kind in &KINDS {
        known.extend(kind.needs.iter().chain(kind.may));
    }
    let Some(keyed) = file.table("device", "device", &known)? else {
        return Err(file.error(
            "device",
            "there is no [device] table; a scenario has version = 1 and a [device] with its kind \
             and value",
        ));
    };
    let names = KINDS.map(|kind| kind.name);
    let Some(name) = keyed.text("kind")? else {
        return Err(keyed.error(
            "kind",
            format!(
                "\"kind\" is missing; a [device] has one of {}",
                names.join(", ")
            ),
        ));
    };
    let Some(kind) = KINDS.iter().find(|kind| kind.name == name) else {
        return Err(keyed.error(
            "kind",
            format!(
                "device kind is \"{name}\", {}",
                expected_one_of(&name, &names)
            ),
        ));
    };
    check_keys(&keyed, kind)?;
    (kind.read)(&keyed)
}

/// Refuses a key of another kind, and a missing one.
fn check_keys(keyed: &Keyed<'_>, kind: &Kind) -> Result<(), ScenarioError> {
    let name = kind.name;
    let own: Vec<&str> = ["kind"]
        .iter()
        .chain(kind.needs)
        .chain(kind.may)
        .copied()
        .collect();
    if let Some((key, offset)) = keyed.other_than(&own) {
        let has = match own.len() {
            1 => "take it out".to_owned(),
            _ => format!("it has {}", own[1..].join(", ")),
        };
        return Err(keyed.error_at(
            offset,
            format!("a device of kind \"{name}\" has no {key}; {has}"),
        ));
    }
    if let Some(needed) = kind.needs.iter().find(|key| !keyed.has(key)) {
        return Err(keyed.error(
            "kind",
            format!(
                "a device of kind \"{name}\" needs {needed}; add a line such as {needed} = \
                 \"…\" with its value"
            ),
        ));
    }
    Ok(())
}

fn fixed(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let ohm = keyed.read("impedance", |text| {
        let device: Device = text.parse().map_err(|error| format!("{error}"))?;
        device
            .fixed_ohm()
            .ok_or_else(|| format!("\"{text}\" is {device}, expected ohms such as \"330 - j120\""))
    })?;
    keyed
        .needed("impedance", "330 - j120", ohm)
        .map(Device::Fixed)
}

/// A parasitic, zero where the part has none.
fn parasitic(keyed: &Keyed<'_>, key: &str, unit: Unit) -> Result<f64, ScenarioError> {
    Ok(keyed.not_negative(key, unit)?.unwrap_or(0.0))
}

fn resistor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let parallel_capacitance_f = parasitic(keyed, "parallel_capacitance", Unit::Farad)?;
    let series_inductance_h = parasitic(keyed, "series_inductance", Unit::Henry)?;
    if parallel_capacitance_f == 0.0 && series_inductance_h == 0.0 {
        // Ideal, it may be active: below zero.
        let ohm = keyed.value("resistance", Unit::Ohm)?;
        return keyed
            .needed("resistance", Unit::Ohm.example(), ohm)
            .map(Device::resistor);
    }
    Ok(Device::Part(Part::Resistor(Resistor {
        resistance_ohm: keyed.needed_positive("resistance", Unit::Ohm)?,
        parallel_capacitance_f,
        series_inductance_h,
    })))
}

fn inductor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Inductor(Inductor {
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        series_resistance_ohm: parasitic(keyed, "series_resistance", Unit::Ohm)?,
        parallel_capacitance_f: parasitic(keyed, "parallel_capacitance", Unit::Farad)?,
        skin: skin(keyed)?,
    })))
}

fn skin(keyed: &Keyed<'_>) -> Result<Option<SkinLoss>, ScenarioError> {
    match (
        keyed.positive("skin_resistance", Unit::Ohm)?,
        keyed.positive("skin_frequency", Unit::Hertz)?,
    ) {
        (Some(resistance_ohm), Some(at_hz)) => Ok(Some(SkinLoss {
            resistance_ohm,
            at_hz,
        })),
        (None, None) => Ok(None),
        (Some(_), None) => Err(keyed.error(
            "skin_resistance",
            "skin_resistance needs skin_frequency, the frequency at which it holds",
        )),
        (None, Some(_)) => Err(keyed.error(
            "skin_frequency",
            "skin_frequency needs skin_resistance, the ohms at that frequency",
        )),
    }
}

fn capacitor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Capacitor(Capacitor {
        capacitance_f: keyed.needed_positive("capacitance", Unit::Farad)?,
        esr_ohm: parasitic(keyed, "esr", Unit::Ohm)?,
        esl_h: parasitic(keyed, "esl", Unit::Henry)?,
        leakage_ohm: keyed.positive("leakage", Unit::Ohm)?,
    })))
}

fn series_rlc(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::SeriesRlc(SeriesRlc {
        resistance_ohm: keyed.needed_positive("resistance", Unit::Ohm)?,
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        capacitance_f: keyed.needed_positive("capacitance", Unit::Farad)?,
    })))
}

fn parallel_rlc(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::ParallelRlc(ParallelRlc {
        resistance_ohm: keyed.needed_positive("resistance", Unit::Ohm)?,
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        capacitance_f: keyed.needed_positive("capacitance", Unit::Farad)?,
    })))
}

fn crystal(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Crystal(Crystal {
        series_resonance_hz: keyed.needed_positive("series_resonance", Unit::Hertz)?,
        motional_capacitance_f: keyed.needed_positive("motional_capacitance", Unit::Farad)?,
        motional_resistance_ohm: keyed.needed_positive("motional_resistance", Unit::Ohm)?,
        parallel_capacitance_f: keyed.needed_positive("parallel_capacitance", Unit::Farad)?,
    })))
}

fn choke(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Choke(Choke {
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        relaxation_hz: keyed.needed_positive("relaxation", Unit::Hertz)?,
        winding_capacitance_f: parasitic(keyed, "winding_capacitance", Unit::Farad)?,
        series_resistance_ohm: parasitic(keyed, "series_resistance", Unit::Ohm)?,
    })))
}

/// Where the loss of a line holds if it has none, Hz: any frequency will do.
const LOSSLESS_AT_HZ: f64 = 1e6;

const LINE_ENDS: [(&str, LineEnd); 2] = [("open", LineEnd::Open), ("short", LineEnd::Short)];

fn stub(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    if keyed.has("loss") && keyed.has("loss_neper") {
        return Err(keyed.error(
            "loss_neper",
            "loss is given already; take one of the two out",
        ));
    }
    let loss_np = parasitic(keyed, "loss", Unit::Decibel)? * NEPER_PER_DB
        + parasitic(keyed, "loss_neper", Unit::One)?;
    let loss_at_hz = keyed.positive("loss_frequency", Unit::Hertz)?;
    if loss_np > 0.0 && loss_at_hz.is_none() {
        return Err(keyed.error(
            "loss",
            "loss needs loss_frequency, the frequency at which it holds",
        ));
    }
    let end = keyed.choice("end", &LINE_ENDS)?;
    Ok(Device::Part(Part::Stub(Stub {
        zc_ohm: keyed.needed_positive("line_impedance", Unit::Ohm)?,
        delay_s: keyed.needed_positive("delay", Unit::Second)?,
        loss_np,
        loss_at_hz: loss_at_hz.unwrap_or(LOSSLESS_AT_HZ),
        end: keyed.needed("end", "open", end)?,
    })))
}

fn table(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let column = |key: &str, unit: Unit| -> Result<Vec<f64>, ScenarioError> {
        let words = keyed.words(key)?;
        keyed
            .needed(key, unit.example(), words)?
            .into_iter()
            .map(|(offset, text)| {
                parse_value(&text, unit)
                    .map_err(|error| keyed.error_at(offset, format!("{key}: {error}")))
            })
            .collect()
    };
    let freq_hz = column("frequency", Unit::Hertz)?;
    let r_ohm = column("resistance", Unit::Ohm)?;
    let x_ohm = column("reactance", Unit::Ohm)?;
    for (key, list) in [("resistance", &r_ohm), ("reactance", &x_ohm)] {
        if list.len() != freq_hz.len() {
            return Err(keyed.error(
                key,
                format!(
                    "{key} has {} values and frequency {}; give one for each",
                    list.len(),
                    freq_hz.len()
                ),
            ));
        }
    }
    let z_ohm = r_ohm
        .into_iter()
        .zip(x_ohm)
        .map(|(r, x)| Complex64::new(r, x))
        .collect();
    ImpedanceTable::new(freq_hz, z_ohm)
        .map(Device::Table)
        .map_err(|error| keyed.error("frequency", error.to_string()))
}

/// The `[device]` table of a device. Parasitics that the part has not are left out.
pub(super) fn device_table(device: &Device) -> Table {
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
