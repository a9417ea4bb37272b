//! The `[calibration]` table as it is read, and the standards of a calibration file.

use jigwise_physics::{
    CalibrationStep, OffsetLine, ReferenceImpedance, ReflectionStandard, Standard, Termination,
};

use super::{CalibrationPlan, METHODS, Skipped};
use crate::device::Device;
use crate::file::{Keyed, ScenarioError, expected_one_of};
use jigwise_quantity::{MAX_QUOTED, Unit, excerpt, parse_value};

const KEYS: [&str; 8] = [
    "connections",
    "method",
    "front_end",
    "skipped",
    ReflectionStandard::Open.name(),
    ReflectionStandard::Short.name(),
    ReflectionStandard::Load.name(),
    CalibrationStep::Through.name(),
];
/// The keys of the line before a standard.
pub const OFFSET_KEYS: [&str; 3] = ["delay", "line_impedance", "loss"];

/// How often the part was connected after the calibration, and the plan where there is one.
pub(in crate::scenario) fn calibration(
    file: &Keyed<'_>,
    reference: ReferenceImpedance,
) -> Result<(u32, Option<CalibrationPlan>), ScenarioError> {
    let Some(keyed) = file.table("calibration", "calibration", &KEYS)? else {
        return Ok((0, None));
    };
    // The count is in the range of u32, so the conversion keeps it.
    let connections = keyed.count("connections", 0, u64::from(u32::MAX))?;
    let connections = connections.unwrap_or(0) as u32;
    let Some(method) = keyed.choice("method", &METHODS)? else {
        return match keyed.other_than(&["connections"]) {
            None => Ok((connections, None)),
            Some((key, offset)) => Err(keyed.error_at(
                offset,
                format!("{key} says nothing without a method; add for example method = \"both directions\""),
            )),
        };
    };
    let mut plan = CalibrationPlan::new(method, reference);
    plan.front_end = keyed.count("front_end", 0, u64::MAX)?;
    plan.skipped = skipped(&keyed)?;
    standards(&keyed, &mut plan, reference)?;
    Ok((connections, Some(plan)))
}

fn skipped(keyed: &Keyed<'_>) -> Result<Skipped, ScenarioError> {
    let mut skipped = Skipped::default();
    for (offset, word) in keyed.words("skipped")?.unwrap_or_default() {
        match CalibrationStep::ALL.iter().find(|step| step.name() == word) {
            Some(step) => *skipped.has_mut(*step) = true,
            None => {
                return Err(keyed.error_at(
                    offset,
                    format!(
                        "skipped names \"{}\", {}",
                        excerpt(&word, MAX_QUOTED),
                        expected_one_of(&word, &CalibrationStep::ALL.map(CalibrationStep::name))
                    ),
                ));
            }
        }
    }
    Ok(skipped)
}

fn standards(
    keyed: &Keyed<'_>,
    plan: &mut CalibrationPlan,
    reference: ReferenceImpedance,
) -> Result<(), ScenarioError> {
    let table = |key: &str, known: &[&str]| keyed.table(key, &format!("calibration.{key}"), known);
    for standard in ReflectionStandard::ALL {
        let known = [&standard_keys(standard)[..], &["taken_as", "instead"]].concat();
        let Some(table) = table(standard.name(), &known)? else {
            continue;
        };
        *standard.of_mut(&mut plan.standards.reflections) =
            standard_of(&table, standard, reference)?;
        *standard.of_mut(&mut plan.taken_for_ideal) = taken_as(&table)?;
        *standard.of_mut(&mut plan.instead) = table.read("instead", str::parse::<Device>)?;
    }
    let known = [&OFFSET_KEYS[..], &["taken_as"]].concat();
    if let Some(table) = table(CalibrationStep::Through.name(), &known)? {
        plan.standards.through.line = offset_line(&table)?;
        plan.through_taken_for_flush = taken_as(&table)?;
    }
    Ok(())
}

fn taken_as(table: &Keyed<'_>) -> Result<bool, ScenarioError> {
    let choices = [("ideal", true), ("defined", false)];
    Ok(table.choice("taken_as", &choices)?.unwrap_or(false))
}

/// The keys that say what a reflection standard is, those of its line among them.
pub fn standard_keys(standard: ReflectionStandard) -> Vec<&'static str> {
    let own: &[&str] = match standard {
        ReflectionStandard::Open => &["capacitance"],
        ReflectionStandard::Short => &["inductance"],
        ReflectionStandard::Load => &["resistance", "inductance", "capacitance"],
    };
    [own, &OFFSET_KEYS].concat()
}

/// What a table says of a reflection standard: an open its capacitance, a short its inductance,
/// a load its resistance (that of the reference where it names none) and its parasitics, each
/// behind its line.
///
/// # Errors
/// [`ScenarioError`] naming file, line and value.
pub fn standard_of(
    table: &Keyed<'_>,
    standard: ReflectionStandard,
    reference: ReferenceImpedance,
) -> Result<Standard, ScenarioError> {
    let termination = match standard {
        ReflectionStandard::Open => Termination::Open {
            capacitance: polynomial(table, "capacitance", Unit::Farad)?,
        },
        ReflectionStandard::Short => Termination::Short {
            inductance: polynomial(table, "inductance", Unit::Henry)?,
        },
        ReflectionStandard::Load => Termination::Load {
            resistance_ohm: table
                .positive("resistance", Unit::Ohm)?
                .unwrap_or(reference.ohm()),
            inductance_h: table
                .not_negative("inductance", Unit::Henry)?
                .unwrap_or(0.0),
            capacitance_f: table
                .not_negative("capacitance", Unit::Farad)?
                .unwrap_or(0.0),
        },
    };
    Ok(Standard {
        termination,
        offset: offset_line(table)?,
    })
}

/// The line before a standard; none where the table names none.
///
/// # Errors
/// [`ScenarioError`] naming file, line and value.
pub fn offset_line(table: &Keyed<'_>) -> Result<OffsetLine, ScenarioError> {
    let flush = OffsetLine::FLUSH;
    let loss = table.read("loss", |text| {
        let ohm = text.trim().strip_suffix("/s").unwrap_or(text);
        parse_value(ohm, Unit::Ohm)
            .map_err(|error| format!("ohms for each second at 1 GHz: {error}"))
    })?;
    let loss_ohm_per_s = loss.unwrap_or(flush.loss_ohm_per_s);
    if loss_ohm_per_s < 0.0 {
        return Err(table.error("loss", "loss is below zero; a line does not amplify"));
    }
    let delay_s = table.not_negative("delay", Unit::Second)?;
    let zc_ohm = table.positive("line_impedance", Unit::Ohm)?;
    Ok(OffsetLine {
        delay_s: delay_s.unwrap_or(flush.delay_s),
        zc_ohm: zc_ohm.unwrap_or(flush.zc_ohm),
        loss_ohm_per_s,
    })
}

/// Up to four coefficients, each with its own unit: F, F/Hz, F/Hz^2, F/Hz^3.
fn polynomial(table: &Keyed<'_>, key: &str, unit: Unit) -> Result<[f64; 4], ScenarioError> {
    let mut coefficients = [0.0; 4];
    let Some(words) = table.words(key)? else {
        return Ok(coefficients);
    };
    if words.is_empty() {
        return Err(table.error(
            key,
            format!(
                "{key} is an empty list; write for example {key} = [\"{}\"], or leave it out",
                unit.example()
            ),
        ));
    }
    if words.len() > coefficients.len() {
        return Err(table.error(
            key,
            format!(
                "{key} has {} terms, expected at most {}",
                words.len(),
                coefficients.len()
            ),
        ));
    }
    for (power, ((offset, text), slot)) in words.into_iter().zip(&mut coefficients).enumerate() {
        let per_hertz = per_hertz(power);
        let plain = text.replace('²', "^2").replace('³', "^3");
        let plain = plain.trim();
        let (value, tail) = plain.split_at(plain.find('/').unwrap_or(plain.len()));
        if !tail.is_empty() && tail.replace(' ', "") != per_hertz {
            return Err(table.error_at(
                offset,
                format!(
                    "term {} of {key} is \"{}\", expected {unit}{per_hertz}; write for \
                     example \"1e-{} {unit}{per_hertz}\"",
                    power + 1,
                    excerpt(&text, MAX_QUOTED),
                    12 * (power + 1),
                    unit = unit.sign(),
                ),
            ));
        }
        *slot = parse_value(value, unit).map_err(|error| {
            table.error_at(offset, format!("term {} of {key}: {error}", power + 1))
        })?;
    }
    Ok(coefficients)
}

/// The unit of a coefficient behind that of the first: /Hz, /Hz^2, /Hz^3.
pub(super) fn per_hertz(power: usize) -> String {
    match power {
        0 => String::new(),
        1 => "/Hz".to_owned(),
        power => format!("/Hz^{power}"),
    }
}

#[cfg(test)]
mod tests {
    use crate::Scenario;

    #[test]
    fn a_list_that_is_none_is_refused() {
        for (line, key) in [
            ("skipped = true", "skipped"),
            ("[calibration.open]\ncapacitance = true", "capacitance"),
        ] {
            let text = format!(
                "version = 1\n[device]\nkind = \"short\"\n[calibration]\nmethod = \"both directions\"\n{line}\n"
            );
            let error = Scenario::from_toml(&text, "list.toml")
                .unwrap_err()
                .to_string();
            let expected = format!("{key} is neither a value nor a list");
            assert!(error.contains(&expected), "{error}");
        }
    }

    #[test]
    fn an_empty_polynomial_is_refused() {
        for (standard, key) in [("open", "capacitance"), ("short", "inductance")] {
            let text = format!(
                "version = 1\n[device]\nkind = \"short\"\n[calibration]\nmethod = \"both directions\"\n\
                 [calibration.{standard}]\n{key} = []\n"
            );
            let error = Scenario::from_toml(&text, "list.toml").unwrap_err();
            assert_eq!(error.line(), Some(7), "{error}");
            let words = format!("{key} is an empty list; write for example {key} = [\"");
            assert!(error.to_string().contains(&words), "{error}");
        }
    }
}
