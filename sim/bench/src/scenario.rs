//! The physical question, in memory and in a file.

use std::fmt;
use std::path::Path;

use jigwise_physics::{Complex64, NumberError, ReferenceImpedance};
use serde::Deserialize;
use serde::de::{self, Deserializer, Visitor};
use toml::Spanned;

use crate::device::{Device, DeviceError};
use crate::value::{Unit, parse_value};

/// A bench in a file: what is measured, with what, at which frequency.
///
/// ```
/// use jigwise_bench::{Device, Scenario};
///
/// let text = r#"
///     version = 1
///     title = "Unlabelled coil from the junk box"
///     [device]
///     kind = "inductor"
///     inductance = "2u2H"
///     [at]
///     frequency = "7.1 MHz"
/// "#;
/// let scenario = Scenario::from_toml(text, "coil.toml")?;
/// assert_eq!(scenario.device, Device::Inductor(2.2e-6));
/// assert_eq!(Scenario::from_toml(&scenario.to_toml(), "again.toml")?, scenario);
/// # Ok::<(), jigwise_bench::ScenarioError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// A line that says what this is about.
    pub title: Option<String>,
    /// What is connected.
    pub device: Device,
    /// Frequency, Hz.
    pub freq_hz: Option<f64>,
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// Seed of everything drawn at random.
    pub seed: u64,
}

impl Default for Scenario {
    /// An unlabelled resistor on the bench at 7.1 MHz.
    fn default() -> Self {
        Self {
            title: None,
            device: Device::Fixed(Complex64::new(4_700.0, 0.0)),
            freq_hz: Some(7.1e6),
            reference: ReferenceImpedance::FIFTY_OHM,
            seed: 1,
        }
    }
}

/// A scenario that can't be used, and where in its file.
#[derive(Debug, Clone, PartialEq)]
pub struct ScenarioError {
    file: Option<String>,
    line: Option<usize>,
    message: String,
    unknown_key: bool,
}

impl ScenarioError {
    fn at(place: &Place<'_>, offset: Option<usize>, message: String) -> Self {
        Self {
            file: Some(place.file.to_owned()),
            line: offset.map(|offset| place.line(offset)),
            message,
            unknown_key: false,
        }
    }

    pub(crate) fn of_device(scenario: &Scenario, error: DeviceError) -> Self {
        let message = match &scenario.title {
            Some(title) => format!("{title}: {error}"),
            None => error.to_string(),
        };
        Self {
            file: None,
            line: None,
            message,
            unknown_key: false,
        }
    }

    /// The error with the file it came from, where it does not name one yet.
    pub fn in_file(mut self, path: &Path) -> Self {
        self.file.get_or_insert_with(|| path.display().to_string());
        self
    }

    /// The line of the file, from 1.
    pub fn line(&self) -> Option<usize> {
        self.line
    }

    /// True where a key is none that a scenario has.
    pub fn is_unknown_key(&self) -> bool {
        self.unknown_key
    }
}

impl std::error::Error for ScenarioError {}

impl fmt::Display for ScenarioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(file) = &self.file {
            f.write_str(file)?;
            if let Some(line) = self.line {
                write!(f, ", line {line}")?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.message)
    }
}

struct Place<'a> {
    file: &'a str,
    text: &'a str,
}

impl Place<'_> {
    fn line(&self, offset: usize) -> usize {
        let upto = &self.text.as_bytes()[..offset.min(self.text.len())];
        upto.iter().filter(|b| **b == b'\n').count() + 1
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScenarioFile {
    version: Spanned<i64>,
    title: Option<String>,
    seed: Option<Spanned<i64>>,
    device: Spanned<DeviceTable>,
    at: Option<AtTable>,
    instrument: Option<InstrumentTable>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DeviceTable {
    kind: Spanned<String>,
    impedance: Option<Spanned<Typed>>,
    resistance: Option<Spanned<Typed>>,
    inductance: Option<Spanned<Typed>>,
    capacitance: Option<Spanned<Typed>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AtTable {
    frequency: Spanned<Typed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InstrumentTable {
    reference: Option<Spanned<Typed>>,
}

/// A value as typed: text with a unit, or a bare number.
struct Typed(String);

impl<'de> Deserialize<'de> for Typed {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct TypedVisitor;
        impl Visitor<'_> for TypedVisitor {
            type Value = Typed;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value such as \"4.7k\"")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Typed, E> {
                Ok(Typed(text.to_owned()))
            }

            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Typed, E> {
                Ok(Typed(value.to_string()))
            }

            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Typed, E> {
                Ok(Typed(format!("{value:e}")))
            }
        }
        deserializer.deserialize_any(TypedVisitor)
    }
}

impl Scenario {
    /// Reads a scenario file.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value.
    pub fn read_file(path: impl AsRef<Path>) -> Result<Self, ScenarioError> {
        let path = path.as_ref();
        let file = path.display().to_string();
        let whole = |message: String| ScenarioError {
            file: Some(file.clone()),
            line: None,
            message,
            unknown_key: false,
        };
        if path.is_dir() {
            return Err(whole(
                "is a folder; name a scenario file (.toml) inside it".into(),
            ));
        }
        let bytes = std::fs::read(path).map_err(|error| {
            whole(format!(
                "can't be read ({error}); check the name and the permissions"
            ))
        })?;
        let text = String::from_utf8(bytes)
            .map_err(|_| whole("is not text in UTF-8; expected a scenario file (.toml)".into()))?;
        Self::from_toml(&text, &file)
    }

    /// Reads a scenario from text; `name` is what errors call it.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value.
    pub fn from_toml(text: &str, name: &str) -> Result<Self, ScenarioError> {
        let place = Place { file: name, text };
        let file: ScenarioFile =
            toml::from_str(text).map_err(|error| syntax_error(&place, &error))?;
        if *file.version.get_ref() != 1 {
            return Err(ScenarioError::at(
                &place,
                Some(file.version.span().start),
                format!(
                    "version is {}, expected 1; a newer Jigwise may read it",
                    file.version.get_ref()
                ),
            ));
        }
        let seed = match &file.seed {
            None => 1,
            Some(seed) => u64::try_from(*seed.get_ref()).map_err(|_| {
                ScenarioError::at(
                    &place,
                    Some(seed.span().start),
                    format!("seed is {}, expected a whole number from 0", seed.get_ref()),
                )
            })?,
        };
        let freq_hz = match &file.at {
            None => None,
            Some(at) => Some(positive(&place, "frequency", &at.frequency, Unit::Hertz)?),
        };
        let reference = match file.instrument.as_ref().and_then(|i| i.reference.as_ref()) {
            None => ReferenceImpedance::FIFTY_OHM,
            Some(value) => {
                let ohm = positive(&place, "reference", value, Unit::Ohm)?;
                ReferenceImpedance::new(ohm).map_err(|error| number_error(&place, value, error))?
            }
        };
        Ok(Self {
            title: file.title,
            device: device(&place, &file.device)?,
            freq_hz,
            reference,
            seed,
        })
    }

    /// The scenario as a file. Reading it back gives the same scenario.
    pub fn to_toml(&self) -> String {
        let mut root = toml::Table::new();
        root.insert("version".into(), 1.into());
        if let Some(title) = &self.title {
            root.insert("title".into(), title.clone().into());
        }
        root.insert(
            "seed".into(),
            i64::try_from(self.seed).unwrap_or(i64::MAX).into(),
        );
        let mut device = toml::Table::new();
        let mut entry = |kind: &str, value: Option<(&str, String)>| {
            device.insert("kind".into(), kind.into());
            if let Some((key, text)) = value {
                device.insert(key.into(), text.into());
            }
        };
        match self.device {
            Device::Fixed(ohm) => {
                let sign = if ohm.im.is_sign_negative() { '-' } else { '+' };
                let text = format!("{:e} {sign} j{:e}", ohm.re, ohm.im.abs());
                entry("fixed", Some(("impedance", text)));
            }
            Device::Inductor(henry) => {
                entry("inductor", Some(("inductance", format!("{henry:e} H"))));
            }
            Device::Capacitor(farad) => {
                entry("capacitor", Some(("capacitance", format!("{farad:e} F"))));
            }
            Device::Open => entry("open", None),
            Device::Short => entry("short", None),
        }
        root.insert("device".into(), device.into());
        if let Some(freq_hz) = self.freq_hz {
            let at =
                toml::Table::from_iter([("frequency".into(), format!("{freq_hz:e} Hz").into())]);
            root.insert("at".into(), at.into());
        }
        let instrument = toml::Table::from_iter([(
            "reference".into(),
            format!("{:e} ohm", self.reference.ohm()).into(),
        )]);
        root.insert("instrument".into(), instrument.into());
        root.to_string()
    }
}

const KINDS: [&str; 6] = [
    "fixed",
    "resistor",
    "inductor",
    "capacitor",
    "open",
    "short",
];

fn device(place: &Place<'_>, table: &Spanned<DeviceTable>) -> Result<Device, ScenarioError> {
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

fn typed(
    place: &Place<'_>,
    key: &str,
    value: &Spanned<Typed>,
    unit: Unit,
) -> Result<f64, ScenarioError> {
    parse_value(&value.get_ref().0, unit).map_err(|error| {
        ScenarioError::at(place, Some(value.span().start), format!("{key}: {error}"))
    })
}

fn positive(
    place: &Place<'_>,
    key: &str,
    value: &Spanned<Typed>,
    unit: Unit,
) -> Result<f64, ScenarioError> {
    let number = typed(place, key, value, unit)?;
    if number > 0.0 {
        return Ok(number);
    }
    Err(ScenarioError::at(
        place,
        Some(value.span().start),
        format!(
            "{key} is \"{}\", expected a {} above zero",
            value.get_ref().0,
            unit.quantity()
        ),
    ))
}

fn number_error(place: &Place<'_>, value: &Spanned<Typed>, error: NumberError) -> ScenarioError {
    ScenarioError::at(place, Some(value.span().start), error.to_string())
}

fn syntax_error(place: &Place<'_>, error: &toml::de::Error) -> ScenarioError {
    let message = error.message().trim();
    let offset = error.span().map(|span| span.start);
    if let Some((unknown, known)) = unknown_field(message) {
        let hint = match nearest(unknown, &known) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("known here: {}", known.join(", ")),
        };
        return ScenarioError {
            unknown_key: true,
            ..ScenarioError::at(
                place,
                offset,
                format!("\"{unknown}\" is no key of a scenario; {hint}"),
            )
        };
    }
    let message = match message.strip_prefix("missing field `") {
        Some(rest) => format!(
            "\"{}\" is missing; a scenario needs version = 1 and a [device] with its kind and \
             value",
            rest.trim_end_matches('`')
        ),
        None => format!("{message}; expected a scenario file as the manual describes it"),
    };
    ScenarioError::at(place, offset, message)
}

/// Takes apart the parser's "unknown field `x`, expected one of `a`, `b`".
fn unknown_field(message: &str) -> Option<(&str, Vec<&str>)> {
    let rest = message.strip_prefix("unknown field `")?;
    let (unknown, rest) = rest.split_once('`')?;
    let known = rest.split('`').skip(1).step_by(2).collect();
    Some((unknown, known))
}

/// The candidate most like `word`, where one is near enough to be meant.
pub fn nearest<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    const LIKENESS: f64 = 0.75;
    candidates
        .iter()
        .map(|candidate| (*candidate, strsim::jaro_winkler(word, candidate)))
        .filter(|(_, likeness)| *likeness >= LIKENESS)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(candidate, _)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn error(text: &str) -> ScenarioError {
        Scenario::from_toml(text, "bench.toml").unwrap_err()
    }

    #[test]
    fn unknown_keys_name_the_nearest() {
        let wrong = error("version = 1\n[device]\nkind = \"open\"\n[at]\nfrequencey = 1\n");
        assert!(wrong.is_unknown_key());
        assert_eq!(wrong.line(), Some(5));
        assert!(
            wrong.to_string().contains("did you mean \"frequency\"?"),
            "{wrong}"
        );
    }

    #[test]
    fn wrong_values_have_their_line() {
        for (text, line, reason) in [
            ("version = 2\n[device]\nkind = \"open\"", 1, "expected 1"),
            (
                "version = 1\n[device]\nkind = \"coil\"",
                3,
                "expected one of",
            ),
            (
                "version = 1\n[device]\nkind = \"inductor\"",
                3,
                "needs inductance",
            ),
            (
                "version = 1\n[device]\nkind = \"open\"\ncapacitance = 3\n",
                4,
                "has no capacitance",
            ),
            (
                "version = 1\n[device]\nkind = \"resistor\"\nresistance = nan\n",
                4,
                "no resistance",
            ),
            (
                "version = 1\n[device]\nkind = \"open\"\n[at]\nfrequency = -7\n",
                5,
                "above zero",
            ),
            (
                "version = 1\n[device]\nkind = \"open\"\n[instrument]\nreference = 0\n",
                5,
                "above zero",
            ),
        ] {
            let error = error(text);
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
