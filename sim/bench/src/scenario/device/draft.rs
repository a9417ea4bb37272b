//! A device as its kind and its values are typed one by one, by the table of kinds.

use std::collections::BTreeMap;

use toml::{Table, Value};

use super::{KINDS, Kind, check_keys, device_table};
use crate::device::Device;
use crate::file::{Keyed, Place, RawTable, ScenarioError};
use jigwise_quantity::{Unit, engineering, parse_quantity, parse_value, without_zeros};

/// The kind of a device and its values as text, complete or not.
///
/// ```
/// use jigwise_bench::{Device, DraftDevice};
///
/// let mut draft = DraftDevice::of(&Device::resistor(4_700.0));
/// assert_eq!(draft.shown("resistance"), "4.7\u{202f}kΩ");
/// draft.set_kind("series-rlc");
/// draft.set("inductance", "2u2H");
/// assert!(draft.device().unwrap_err().to_string().contains("needs capacitance"));
/// draft.set("capacitance", "330p");
/// assert!(draft.device().unwrap().to_string().contains("330.0"));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DraftDevice {
    kind: String,
    values: BTreeMap<String, String>,
}

impl DraftDevice {
    /// The kinds whose values are single numbers or words: all but a table, whose columns come
    /// from a file.
    pub fn kinds() -> impl Iterator<Item = &'static str> {
        KINDS
            .iter()
            .map(|kind| kind.name)
            .filter(|name| *name != "table")
    }

    /// The draft of a device that is there.
    pub fn of(device: &Device) -> Self {
        let mut kind = String::new();
        let mut values = BTreeMap::new();
        for (key, value) in device_table(device) {
            match value {
                Value::String(text) if key == "kind" => kind = text,
                Value::String(text) => {
                    values.insert(key, text);
                }
                _ => {}
            }
        }
        let mut draft = Self { kind, values };
        let may = draft.known().map_or(&[][..], |kind| kind.may);
        let is_none = |text: &str| parse_quantity(text).is_ok_and(|read| read.value == 0.0);
        draft
            .values
            .retain(|key, text| !(may.contains(&key.as_str()) && is_none(text)));
        draft
    }

    fn known(&self) -> Option<&'static Kind> {
        KINDS.iter().find(|kind| kind.name == self.kind)
    }

    /// The name of the kind.
    pub fn kind(&self) -> &str {
        &self.kind
    }

    /// Makes it a draft of another kind. Values that both kinds have stay.
    pub fn set_kind(&mut self, name: &str) {
        name.clone_into(&mut self.kind);
    }

    /// The keys of the kind's values: those that it needs, then those that it may have. None of a
    /// table's, which are columns.
    pub fn keys(&self) -> impl Iterator<Item = &'static str> {
        let kind = self.known().filter(|kind| kind.name != "table");
        let [needs, may] = kind.map_or([&[][..]; 2], |kind| [kind.needs, kind.may]);
        needs.iter().chain(may).copied()
    }

    /// True for a key without which there is no device of this kind.
    pub fn needs(&self, key: &str) -> bool {
        self.known().is_some_and(|kind| kind.needs.contains(&key))
    }

    /// A value as it is shown, and taken back: with the prefix of its unit, and no digits that
    /// say nothing.
    pub fn shown(&self, key: &str) -> String {
        const DIGITS: usize = 9;
        let Some(text) = self.values.get(key) else {
            return String::new();
        };
        if let Some(ohm) = text.parse::<Device>().ok().and_then(|d| d.fixed_ohm())
            && text.contains('j')
        {
            let part = |ohm: f64| without_zeros(&engineering(ohm, "", DIGITS));
            let sign = if ohm.im.is_sign_negative() {
                '−'
            } else {
                '+'
            };
            return format!("{} {sign} j{}", part(ohm.re), part(ohm.im.abs()));
        }
        if let Ok(number) = parse_value(text, Unit::One) {
            return number.to_string();
        }
        match parse_quantity(text) {
            Ok(read) => {
                let unit = read.unit.map_or("", Unit::sign);
                without_zeros(&engineering(read.value, unit, DIGITS))
            }
            Err(_) => text.clone(),
        }
    }

    /// Sets a value as it was typed; nothing takes it out.
    pub fn set(&mut self, key: &str, text: &str) {
        if text.trim().is_empty() {
            self.values.remove(key);
        } else {
            self.values.insert(key.to_owned(), text.to_owned());
        }
    }

    /// The device, where the draft is complete.
    ///
    /// # Errors
    /// [`ScenarioError`] with the key, the text, what was expected and an example.
    pub fn device(&self) -> Result<Device, ScenarioError> {
        let own = self.keys().filter_map(|key| {
            let text = self.values.get(key)?;
            Some((key.to_owned(), Value::from(text.clone())))
        });
        let device = Table::from_iter(own);
        let text = Table::from_iter([("device".to_owned(), Value::from(device))]).to_string();
        let place = Place {
            file: "",
            text: &text,
        };
        let raw = RawTable::parse(&place)?;
        let Some(kind) = self.known() else {
            return Err(ScenarioError::free(format!(
                "\"{}\" is no kind of device; expected one of {}",
                self.kind,
                KINDS.map(|kind| kind.name).join(", ")
            )));
        };
        let name = format!("a device of kind \"{}\"", kind.name);
        let keyed = Keyed::alone(&place, &raw, name, "device")?;
        check_keys(&keyed, kind)
            .and_then(|()| (kind.read)(&keyed))
            .map_err(ScenarioError::without_place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jigwise_physics::Complex64;

    fn every_kind() -> Vec<Device> {
        [
            "kind = \"fixed\"\nimpedance = \"330 - j120.25\"",
            "kind = \"resistor\"\nresistance = \"-25\"",
            "kind = \"resistor\"\nresistance = \"4k7\"\nparallel_capacitance = \"0.2 pF\"",
            "kind = \"inductor\"\ninductance = \"2u2H\"\nskin_resistance = \"0.3 ohm\"\n\
             skin_frequency = \"7 MHz\"",
            "kind = \"capacitor\"\ncapacitance = \"330p\"\nesr = \"0.1 ohm\"\nleakage = \"1G\"",
            "kind = \"series-rlc\"\nresistance = 5\ninductance = \"1uH\"\ncapacitance = \"1nF\"",
            "kind = \"parallel-rlc\"\nresistance = 5\ninductance = \"1uH\"\ncapacitance = \"1nF\"",
            "kind = \"crystal\"\nseries_resonance = \"4.9152 MHz\"\n\
             motional_capacitance = \"10 fF\"\nmotional_resistance = \"20 ohm\"\n\
             parallel_capacitance = \"3 pF\"",
            "kind = \"choke\"\ninductance = \"30uH\"\nrelaxation = \"3 MHz\"",
            "kind = \"stub\"\nline_impedance = \"50 ohm\"\ndelay = \"5 ns\"\nend = \"short\"\n\
             loss = \"0.2 dB\"\nloss_frequency = \"10 MHz\"",
            "kind = \"open\"",
            "kind = \"short\"",
        ]
        .map(|lines| {
            let text = format!("version = 1\n[device]\n{lines}\n");
            crate::Scenario::from_toml(&text, "").unwrap().device
        })
        .to_vec()
    }

    /// Equal in every digit that is shown.
    fn alike(one: &Device, other: &Device) -> bool {
        let at = |device: &Device| device.immittance(Some(7.1e6)).unwrap().impedance();
        match (at(one), at(other)) {
            (Some(one), Some(other)) => (one - other).norm() <= 1e-7 * Complex64::norm(one),
            (one, other) => one == other,
        }
    }

    #[test]
    fn what_is_shown_makes_the_device_again() {
        for device in every_kind() {
            let draft = DraftDevice::of(&device);
            assert_eq!(draft.device().as_ref(), Ok(&device));
            let mut typed = DraftDevice::of(&Device::Open);
            typed.set_kind(draft.kind());
            for key in draft.keys() {
                typed.set(key, &draft.shown(key));
            }
            let again = typed.device().unwrap();
            assert!(alike(&again, &device), "{draft:?}: {again}");
        }
    }

    #[test]
    fn what_makes_no_device_says_why_and_names_no_file() {
        let mut draft = DraftDevice::of(&Device::Open);
        draft.set_kind("inductor");
        let said = |draft: &DraftDevice| draft.device().unwrap_err().to_string();
        assert!(said(&draft).starts_with("a device of kind \"inductor\" needs inductance"));
        let is_incomplete = |draft: &DraftDevice| draft.device().unwrap_err().is_incomplete();
        assert!(is_incomplete(&draft));
        draft.set("inductance", "-3 uH");
        assert!(!is_incomplete(&draft));
        assert!(said(&draft).starts_with("inductance: "), "{}", said(&draft));
        draft.set("inductance", "3 uH");
        draft.set("skin_resistance", "3");
        assert!(said(&draft).contains("skin_frequency"));
        assert!(is_incomplete(&draft));
        draft.set("skin_resistance", " ");
        assert_eq!(draft.device(), Ok(Device::inductor(3e-6)));
        draft.set_kind("teapot");
        assert!(said(&draft).contains("no kind of device"));
    }
}
