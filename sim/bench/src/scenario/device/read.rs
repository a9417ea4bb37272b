//! The values of each kind of device as they are read.

use jigwise_physics::{
    Capacitor, Choke, Complex64, Crystal, Inductor, NEPER_PER_DB, ParallelRlc, Part, Resistor,
    SeriesRlc, SkinLoss, Stub,
};

use super::LINE_ENDS;
use crate::device::{Device, ImpedanceTable};
use crate::file::{Keyed, ScenarioError};
use jigwise_quantity::{MAX_QUOTED, Unit, engineering, excerpt, parse_value};

pub(super) fn fixed(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let ohm = keyed.read("impedance", |text| {
        let device: Device = text.parse().map_err(|error| format!("{error}"))?;
        device.fixed_ohm().ok_or_else(|| {
            let text = excerpt(text, MAX_QUOTED);
            format!("\"{text}\" is {device}, expected ohms such as \"330 - j120\"")
        })
    })?;
    keyed
        .needed("impedance", "330 - j120", ohm)
        .map(Device::Fixed)
}

/// A parasitic, zero where the part has none.
fn parasitic(keyed: &Keyed<'_>, key: &str, unit: Unit) -> Result<f64, ScenarioError> {
    Ok(keyed.not_negative(key, unit)?.unwrap_or(0.0))
}

pub(super) fn resistor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    let parallel_capacitance_f = parasitic(keyed, "parallel_capacitance", Unit::Farad)?;
    let series_inductance_h = parasitic(keyed, "series_inductance", Unit::Henry)?;
    if parallel_capacitance_f == 0.0 && series_inductance_h == 0.0 {
        // Ideal, it may be active: below zero.
        let ohm = keyed.value("resistance", Unit::Ohm)?;
        return keyed
            .needed("resistance", Unit::Ohm.example(), ohm)
            .map(Device::resistor);
    }
    if let Some(ohm) = keyed.value("resistance", Unit::Ohm)?
        && ohm < 0.0
    {
        let parasitic = ["parallel_capacitance", "series_inductance"]
            .into_iter()
            .filter(|key| keyed.has(key))
            .collect::<Vec<_>>()
            .join(" and ");
        return Err(keyed.error(
            "resistance",
            format!(
                "resistance: {} is that of an active part, which has no parasitics here; take \
                 {parasitic} out, or write a resistance above zero",
                engineering(ohm, "Ω", 4)
            ),
        ));
    }
    Ok(Device::Part(Part::Resistor(Resistor {
        resistance_ohm: keyed.needed_positive("resistance", Unit::Ohm)?,
        parallel_capacitance_f,
        series_inductance_h,
    })))
}

pub(super) fn inductor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
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
        (Some(_), None) => Err(keyed
            .error(
                "skin_resistance",
                "skin_resistance needs skin_frequency, the frequency at which it holds",
            )
            .for_lack_of_a_key()),
        (None, Some(_)) => Err(keyed
            .error(
                "skin_frequency",
                "skin_frequency needs skin_resistance, the ohms at that frequency",
            )
            .for_lack_of_a_key()),
    }
}

pub(super) fn capacitor(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Capacitor(Capacitor {
        capacitance_f: keyed.needed_positive("capacitance", Unit::Farad)?,
        esr_ohm: parasitic(keyed, "esr", Unit::Ohm)?,
        esl_h: parasitic(keyed, "esl", Unit::Henry)?,
        leakage_ohm: keyed.positive("leakage", Unit::Ohm)?,
    })))
}

pub(super) fn series_rlc(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::SeriesRlc(SeriesRlc {
        resistance_ohm: keyed.needed_positive("resistance", Unit::Ohm)?,
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        capacitance_f: keyed.needed_positive("capacitance", Unit::Farad)?,
    })))
}

pub(super) fn parallel_rlc(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::ParallelRlc(ParallelRlc {
        resistance_ohm: keyed.needed_positive("resistance", Unit::Ohm)?,
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        capacitance_f: keyed.needed_positive("capacitance", Unit::Farad)?,
    })))
}

pub(super) fn crystal(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Crystal(Crystal {
        series_resonance_hz: keyed.needed_positive("series_resonance", Unit::Hertz)?,
        motional_capacitance_f: keyed.needed_positive("motional_capacitance", Unit::Farad)?,
        motional_resistance_ohm: keyed.needed_positive("motional_resistance", Unit::Ohm)?,
        parallel_capacitance_f: keyed.needed_positive("parallel_capacitance", Unit::Farad)?,
    })))
}

pub(super) fn choke(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
    Ok(Device::Part(Part::Choke(Choke {
        inductance_h: keyed.needed_positive("inductance", Unit::Henry)?,
        relaxation_hz: keyed.needed_positive("relaxation", Unit::Hertz)?,
        winding_capacitance_f: parasitic(keyed, "winding_capacitance", Unit::Farad)?,
        series_resistance_ohm: parasitic(keyed, "series_resistance", Unit::Ohm)?,
    })))
}

/// Where the loss of a line holds if it has none, Hz: any frequency will do.
const LOSSLESS_AT_HZ: f64 = 1e6;

pub(super) fn stub(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
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
        return Err(keyed
            .error(
                "loss",
                "loss needs loss_frequency, the frequency at which it holds",
            )
            .for_lack_of_a_key());
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

pub(super) fn table(keyed: &Keyed<'_>) -> Result<Device, ScenarioError> {
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
