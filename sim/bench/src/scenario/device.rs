use jigwise_physics::Complex64;
use serde::Deserialize;
use toml::Spanned;

use super::error::{Place, ScenarioError, nearest};
use super::typed::{Typed, positive, typed};
use crate::device::Device;
use crate::value::Unit;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DeviceTable {
    kind: Spanned<String>,
    impedance: Option<Spanned<Typed>>,
    resistance: Option<Spanned<Typed>>,
    inductance: Option<Spanned<Typed>>,
    capacitance: Option<Spanned<Typed>>,
}

const KINDS: [&str; 6] = [
    "fixed",
    "resistor",
    "inductor",
    "capacitor",
    "open",
    "short",
];

pub(super) fn device(
    place: &Place<'_>,
    table: &Spanned<DeviceTable>,
) -> Result<Device, ScenarioError> {
    let at = |offset, message| ScenarioError::at(place, Some(offset), message);
    let DeviceTable {
        kind,
        impedance,
        resistance,
        inductance,
        capacitance,
    } = table.get_ref();
    let entries = [
        ("impedance", impedance),
        ("resistance", resistance),
        ("inductance", inductance),
        ("capacitance", capacitance),
    ];
    let wanted = match kind.get_ref().as_str() {
        "fixed" => Some("impedance"),
        "resistor" => Some("resistance"),
        "inductor" => Some("inductance"),
        "capacitor" => Some("capacitance"),
        "open" | "short" => None,
        other => {
            let hint = nearest(other, &KINDS)
                .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
            return Err(at(
                kind.span().start,
                format!(
                    "device kind is \"{other}\", expected one of {}{hint}",
                    KINDS.join(", ")
                ),
            ));
        }
    };
    for (key, value) in entries {
        if let Some(value) = value.as_ref().filter(|_| wanted != Some(key)) {
            return Err(at(
                value.span().start,
                format!(
                    "a device of kind \"{}\" has no {key}; {}",
                    kind.get_ref(),
                    match wanted {
                        Some(wanted) => format!("it has {wanted}"),
                        None => "take it out".to_owned(),
                    }
                ),
            ));
        }
    }
    let value = |entry: &'static str| {
        entries
            .into_iter()
            .find(|(key, _)| *key == entry)
            .and_then(|(_, value)| value.as_ref())
            .ok_or_else(|| {
                at(
                    kind.span().start,
                    format!(
                        "a device of kind \"{}\" needs {entry}; add a line such as {entry} = \
                         \"…\" with its value",
                        kind.get_ref()
                    ),
                )
            })
    };
    Ok(match kind.get_ref().as_str() {
        "fixed" => {
            let value = value("impedance")?;
            match value.get_ref().0.parse() {
                Ok(device @ Device::Fixed(_)) => device,
                Ok(other) => {
                    return Err(at(
                        value.span().start,
                        format!("impedance is \"{other}\", expected ohms such as \"330 - j120\""),
                    ));
                }
                Err(error) => return Err(at(value.span().start, format!("impedance: {error}"))),
            }
        }
        "resistor" => {
            let value = value("resistance")?;
            Device::Fixed(Complex64::new(
                typed(place, "resistance", value, Unit::Ohm)?,
                0.0,
            ))
        }
        "inductor" => Device::Inductor(positive(
            place,
            "inductance",
            value("inductance")?,
            Unit::Henry,
        )?),
        "capacitor" => Device::Capacitor(positive(
            place,
            "capacitance",
            value("capacitance")?,
            Unit::Farad,
        )?),
        "open" => Device::Open,
        _ => Device::Short,
    })
}
