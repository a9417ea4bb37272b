//! The `[device]` table, both ways.

mod draft;
mod read;
mod write;

use jigwise_physics::LineEnd;

use self::read::{
    capacitor, choke, crystal, fixed, inductor, parallel_rlc, resistor, series_rlc, stub, table,
};
use crate::device::Device;
use crate::file::{Keyed, ScenarioError, expected_one_of};
use jigwise_quantity::{MAX_QUOTED, excerpt};

pub use self::draft::DraftDevice;
pub(super) use self::write::device_table;

/// A kind of device: its name, the keys it needs and those it may have.
struct Kind {
    name: &'static str,
    needs: &'static [&'static str],
    may: &'static [&'static str],
    read: fn(&Keyed<'_>) -> Result<Device, ScenarioError>,
}

const LINE_ENDS: [(&str, LineEnd); 2] = [("open", LineEnd::Open), ("short", LineEnd::Short)];

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
    let Some(keyed) = file.any_table("device", "device")? else {
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
                "device kind is \"{}\", {}",
                excerpt(&name, MAX_QUOTED),
                expected_one_of(&name, &names)
            ),
        ));
    };
    let keyed = keyed.named(format!("a device of kind \"{name}\""), "kind");
    check_keys(&keyed, kind)?;
    (kind.read)(&keyed)
}

/// Refuses a key of another kind, and one of none.
fn check_keys(keyed: &Keyed<'_>, kind: &Kind) -> Result<(), ScenarioError> {
    let name = kind.name;
    let own: Vec<&str> = ["kind"]
        .iter()
        .chain(kind.needs)
        .chain(kind.may)
        .copied()
        .collect();
    let is_of_another = |key: &str| {
        KINDS
            .iter()
            .any(|kind| kind.needs.contains(&key) || kind.may.contains(&key))
    };
    if let Some((key, offset)) = keyed.other_than(&own).filter(|(key, _)| is_of_another(key)) {
        let has = match own.len() {
            1 => "take it out".to_owned(),
            _ => format!("it has {}", own[1..].join(", ")),
        };
        return Err(keyed.error_at(
            offset,
            format!("a device of kind \"{name}\" has no {key}; {has}"),
        ));
    }
    keyed.check_keys(&own)
}

#[cfg(test)]
mod tests {
    use crate::Scenario;

    #[test]
    fn a_slip_in_a_device_is_told_by_its_kind() {
        for (lines, line, words) in [
            (
                "kind = \"resistor\"\nmass = 1",
                4,
                "\"mass\" is no key of a device of kind \"resistor\"; known here: kind, \
                 resistance, parallel_capacitance, series_inductance",
            ),
            ("mass = 1", 2, "\"kind\" is missing"),
            (
                "kind = \"inductor\"",
                3,
                "a device of kind \"inductor\" needs inductance; add for example inductance = \"",
            ),
            (
                "kind = \"resistor\"\nresistance = -5\nseries_inductance = \"1 nH\"",
                4,
                "active part, which has no parasitics here; take series_inductance out",
            ),
        ] {
            let text = format!("version = 1\n[device]\n{lines}\n");
            let error = Scenario::from_toml(&text, "part.toml").unwrap_err();
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(words), "{error}");
        }
    }
}
