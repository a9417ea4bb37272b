//! The `[device]` table, both ways.

use jigwise_physics::{
    Capacitor, Choke, Complex64, Crystal, Inductor, LineEnd, NEPER_PER_DB, ParallelRlc, Part,
    Resistor, SeriesRlc, SkinLoss, Stub,
};
use toml::{Spanned, Table};

use super::error::{Place, ScenarioError, nearest};
use super::keyed::{Keyed, RawTable};
use crate::device::Device;
use jigwise_quantity::Unit;

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

pub(super) fn device(place: &Place<'_>, raw: &Spanned<RawTable>) -> Result<Device, ScenarioError> {
    let mut known = vec!["kind"];
    for kind in &KINDS {
        known.extend(kind.needs.iter().chain(kind.may));
    }
    let keyed = Keyed::new(place, "device", raw, &known)?;
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
        let hint = nearest(name, &names)
            .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
        return Err(keyed.error(
            "kind",
            format!(
                "device kind is \"{name}\", expected one of {}{hint}",
                names.join(", ")
            ),
        ));
    };
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
    (kind.read)(&keyed)
}

/// A value that the kind needs: it is there.
fn needed(keyed: &Keyed<'_>, key: &str, unit: Unit) -> Result<f64, ScenarioError> {
    Ok(keyed.positive(key, unit)?.unwrap_or_default())
}

fn fixed(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let text = keyed.text("impedance")?.unwrap_or_default();
    match text.parse() {
        Ok(device @ Device::Fixed(_)) => Ok(device),
        Ok(_) => Err(keyed.error(
            "impedance",
            format!("impedance is \"{text}\", expected ohms such as \"330 - j120\""),
        )),
        Err(error) => Err(keyed.error("impedance", format!("impedance: {error}"))),
    }
}

fn resistor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    if !keyed.has("parallel_capacitance") && !keyed.has("series_inductance") {
        // Ideal, it may be active: below zero.
        let ohm = keyed.value("resistance", Unit::Ohm)?.unwrap_or_default();
        return Ok(Device::Fixed(Complex64::new(ohm, 0.0)));
    }
    Ok(Device::Part(Part::Resistor(Resistor {
        resistance_ohm: needed(keyed, "resistance", Unit::Ohm)?,
        parallel_capacitance_f: keyed.not_negative("parallel_capacitance", Unit::Farad)?,
        series_inductance_h: keyed.not_negative("series_inductance", Unit::Henry)?,
    })))
}

fn inductor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let inductance_h = needed(keyed, "inductance", Unit::Henry)?;
    if keyed.other_than(&["kind", "inductance"]).is_none() {
        return Ok(Device::Inductor(inductance_h));
    }
    let skin = match (
        keyed.positive("skin_resistance", Unit::Ohm)?,
        keyed.positive("skin_frequency", Unit::Hertz)?,
    ) {
        (Some(resistance_ohm), Some(at_hz)) => Some(SkinLoss {
            resistance_ohm,
            at_hz,
        }),
        (None, None) => None,
        (Some(_), None) => {
            return Err(keyed.error(
                "skin_resistance",
                "skin_resistance needs skin_frequency, the frequency at which it holds",
            ));
        }
        (None, Some(_)) => {
            return Err(keyed.error(
                "skin_frequency",
                "skin_frequency needs skin_resistance, the ohms at that frequency",
            ));
        }
    };
    Ok(Device::Part(Part::Inductor(Inductor {
        inductance_h,
        series_resistance_ohm: keyed.not_negative("series_resistance", Unit::Ohm)?,
        parallel_capacitance_f: keyed.not_negative("parallel_capacitance", Unit::Farad)?,
        skin,
    })))
}

fn capacitor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let capacitance_f = needed(keyed, "capacitance", Unit::Farad)?;
    if keyed.other_than(&["kind", "capacitance"]).is_none() {
        return Ok(Device::Capacitor(capacitance_f));
    }
    Ok(Device::Part(Part::Capacitor(Capacitor {
        capacitance_f,
        esr_ohm: keyed.not_negative("esr", Unit::Ohm)?,
        esl_h: keyed.not_negative("esl", Unit::Henry)?,
        leakage_ohm: keyed.positive("leakage", Unit::Ohm)?,
    })))
}

fn series_rlc(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::SeriesRlc(SeriesRlc {
        resistance_ohm: needed(keyed, "resistance", Unit::Ohm)?,
        inductance_h: needed(keyed, "inductance", Unit::Henry)?,
        capacitance_f: needed(keyed, "capacitance", Unit::Farad)?,
    })))
}

fn parallel_rlc(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::ParallelRlc(ParallelRlc {
        resistance_ohm: needed(keyed, "resistance", Unit::Ohm)?,
        inductance_h: needed(keyed, "inductance", Unit::Henry)?,
        capacitance_f: needed(keyed, "capacitance", Unit::Farad)?,
    })))
}

fn crystal(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Crystal(Crystal {
        series_resonance_hz: needed(keyed, "series_resonance", Unit::Hertz)?,
        motional_capacitance_f: needed(keyed, "motional_capacitance", Unit::Farad)?,
        motional_resistance_ohm: needed(keyed, "motional_resistance", Unit::Ohm)?,
        parallel_capacitance_f: needed(keyed, "parallel_capacitance", Unit::Farad)?,
    })))
}

fn choke(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Choke(Choke {
        inductance_h: needed(keyed, "inductance", Unit::Henry)?,
        relaxation_hz: needed(keyed, "relaxation", Unit::Hertz)?,
        winding_capacitance_f: keyed.not_negative("winding_capacitance", Unit::Farad)?,
        series_resistance_ohm: keyed.not_negative("series_resistance", Unit::Ohm)?,
    })))
}

fn stub(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let ends = [("open", LineEnd::Open), ("short", LineEnd::Short)];
    if keyed.has("loss") && keyed.has("loss_neper") {
        return Err(keyed.error(
            "loss_neper",
            "loss is given already; take one of the two out",
        ));
    }
    let loss_np = keyed.not_negative("loss", Unit::Decibel)? * NEPER_PER_DB
        + keyed.not_negative("loss_neper", Unit::One)?;
    let loss_at_hz = keyed.positive("loss_frequency", Unit::Hertz)?;
    if loss_np > 0.0 && loss_at_hz.is_none() {
        return Err(keyed.error(
            "loss",
            "loss needs loss_frequency, the frequency at which it holds",
        ));
    }
    Ok(Device::Part(Part::Stub(Stub {
        zc_ohm: needed(keyed, "line_impedance", Unit::Ohm)?,
        delay_s: needed(keyed, "delay", Unit::Second)?,
        loss_np,
        loss_at_hz: loss_at_hz.unwrap_or(1e6),
        end: keyed.choice("end", &ends)?.unwrap_or(LineEnd::Open),
    })))
}

fn table(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let column = |key: &str, unit: Unit| -> Result<Vec<f64>, ScenarioError> {
        keyed
            .words(key)?
            .into_iter()
            .map(|(offset, text)| {
                jigwise_quantity::parse_value(text, unit)
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
    crate::device::ImpedanceTable::new(freq_hz, z_ohm)
        .map(Device::Table)
        .map_err(|error| keyed.error("frequency", error.to_string()))
}

/// The `[device]` table of a device.
pub(super) fn device_table(device: &Device) -> Table {
    let ohm = |value: f64| format!("{value:e} ohm");
    let farad = |value: f64| format!("{value:e} F");
    let henry = |value: f64| format!("{value:e} H");
    let hertz = |value: f64| format!("{value:e} Hz");
    let mut table = Table::new();
    let mut put = |key: &str, text: String| {
        table.insert(key.into(), text.into());
    };
    let kind = match device {
        Device::Fixed(ohm) => {
            let sign = if ohm.im.is_sign_negative() { '-' } else { '+' };
            put(
                "impedance",
                format!("{:e} {sign} j{:e}", ohm.re, ohm.im.abs()),
            );
            "fixed"
        }
        Device::Inductor(value) => {
            put("inductance", henry(*value));
            "inductor"
        }
        Device::Capacitor(value) => {
            put("capacitance", farad(*value));
            "capacitor"
        }
        Device::Open => "open",
        Device::Short => "short",
        Device::Part(part) => match part {
            Part::Resistor(p) => {
                put("resistance", ohm(p.resistance_ohm));
                put("parallel_capacitance", farad(p.parallel_capacitance_f));
                put("series_inductance", henry(p.series_inductance_h));
                "resistor"
            }
            Part::Capacitor(p) => {
                put("capacitance", farad(p.capacitance_f));
                put("esr", ohm(p.esr_ohm));
                put("esl", henry(p.esl_h));
                if let Some(leakage) = p.leakage_ohm {
                    put("leakage", ohm(leakage));
                }
                "capacitor"
            }
            Part::Inductor(p) => {
                put("inductance", henry(p.inductance_h));
                put("series_resistance", ohm(p.series_resistance_ohm));
                put("parallel_capacitance", farad(p.parallel_capacitance_f));
                if let Some(skin) = p.skin {
                    put("skin_resistance", ohm(skin.resistance_ohm));
                    put("skin_frequency", hertz(skin.at_hz));
                }
                "inductor"
            }
            Part::SeriesRlc(p) => {
                put("resistance", ohm(p.resistance_ohm));
                put("inductance", henry(p.inductance_h));
                put("capacitance", farad(p.capacitance_f));
                "series-rlc"
            }
            Part::ParallelRlc(p) => {
                put("resistance", ohm(p.resistance_ohm));
                put("inductance", henry(p.inductance_h));
                put("capacitance", farad(p.capacitance_f));
                "parallel-rlc"
            }
            Part::Crystal(p) => {
                put("series_resonance", hertz(p.series_resonance_hz));
                put("motional_capacitance", farad(p.motional_capacitance_f));
                put("motional_resistance", ohm(p.motional_resistance_ohm));
                put("parallel_capacitance", farad(p.parallel_capacitance_f));
                "crystal"
            }
            Part::Choke(p) => {
                put("inductance", henry(p.inductance_h));
                put("relaxation", hertz(p.relaxation_hz));
                put("winding_capacitance", farad(p.winding_capacitance_f));
                put("series_resistance", ohm(p.series_resistance_ohm));
                "choke"
            }
            Part::Stub(p) => {
                put("line_impedance", ohm(p.zc_ohm));
                put("delay", format!("{:e} s", p.delay_s));
                put("loss_neper", format!("{:e}", p.loss_np));
                put("loss_frequency", hertz(p.loss_at_hz));
                let end = match p.end {
                    LineEnd::Open => "open",
                    LineEnd::Short => "short",
                };
                put("end", end.to_owned());
                "stub"
            }
        },
        Device::Table(points) => {
            let list = |text: Vec<String>| toml::Value::from(text);
            let freq_hz = points.freq_hz().iter().map(|f| hertz(*f)).collect();
            let r_ohm = points.z_ohm().iter().map(|z| ohm(z.re)).collect();
            let x_ohm = points.z_ohm().iter().map(|z| ohm(z.im)).collect();
            table.insert("frequency".into(), list(freq_hz));
            table.insert("resistance".into(), list(r_ohm));
            table.insert("reactance".into(), list(x_ohm));
            "table"
        }
    };
    table.insert("kind".into(), kind.into());
    table
}
