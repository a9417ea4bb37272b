//! The `[calibration]` table, both ways.

use jigwise_physics::{
    Complex64, Connection, Definitions, Kit, Method, Normaliser, NumberError, OffsetLine, Piece,
    Port, ReferenceImpedance, Standard, Termination, ThroughStandard, Trio,
};
use toml::{Spanned, Table, Value};

use super::error::{Place, ScenarioError};
use super::keyed::{Keyed, RawTable};
use crate::device::{Device, DeviceError};
use jigwise_quantity::{Unit, parse_value};

/// How the analyzer was calibrated, and with what.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationPlan {
    /// What is made of the raw readings.
    pub method: Method,
    /// Which of the invented front ends the analyzer has.
    pub front_end: u64,
    /// The standards as they are.
    pub standards: Kit,
    /// Standards that the calibration takes for ideal, whatever they are.
    pub taken_for_ideal: Trio<bool>,
    /// True where it takes the through for a flush connection, whatever it is.
    pub through_taken_for_flush: bool,
    /// What was connected by mistake where a standard was asked for.
    pub instead: Trio<Option<Device>>,
    /// What was not measured.
    pub skipped: Skipped,
}

/// The pieces of a calibration that were left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Skipped {
    /// The reflection standards, at both ports.
    pub reflections: Trio<bool>,
    /// The through.
    pub through: bool,
    /// The isolation.
    pub isolation: bool,
}

impl CalibrationPlan {
    /// A calibration by `method` with ideal standards, nothing skipped.
    pub fn new(method: Method, reference: ReferenceImpedance) -> Self {
        Self {
            method,
            front_end: 1,
            standards: ideal_kit(reference),
            taken_for_ideal: Trio::default(),
            through_taken_for_flush: false,
            instead: Trio::default(),
            skipped: Skipped::default(),
        }
    }

    /// What the standards are at a frequency.
    ///
    /// # Errors
    /// [`NumberError`] for a figure of a standard outside what physics takes.
    pub fn truth(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Definitions, NumberError> {
        Definitions::of(&self.standards, freq_hz, reference)
    }

    /// What the calibration takes them for.
    ///
    /// # Errors
    /// As [`CalibrationPlan::truth`].
    pub fn taken_for(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Definitions, NumberError> {
        let ideal = ideal_kit(reference);
        let (is, taken) = (&self.standards.reflections, &self.taken_for_ideal);
        let choose = |as_ideal, standard, other| if as_ideal { other } else { standard };
        let kit = Kit {
            reflections: Trio {
                open: choose(taken.open, is.open, ideal.reflections.open),
                short: choose(taken.short, is.short, ideal.reflections.short),
                load: choose(taken.load, is.load, ideal.reflections.load),
            },
            through: if self.through_taken_for_flush {
                ThroughStandard::FLUSH
            } else {
                self.standards.through
            },
        };
        Definitions::of(&kit, freq_hz, reference)
    }

    /// What went otherwise than asked for, at a frequency.
    ///
    /// # Errors
    /// [`DeviceError`] for a device connected by mistake that has no impedance there.
    pub fn slips(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Vec<Connection>, DeviceError> {
        let mut slips = Vec::new();
        type OfPort = fn(Port) -> Piece;
        let reflections: [(OfPort, &Option<Device>, bool); 3] = [
            (
                Piece::Open,
                &self.instead.open,
                self.skipped.reflections.open,
            ),
            (
                Piece::Short,
                &self.instead.short,
                self.skipped.reflections.short,
            ),
            (
                Piece::Load,
                &self.instead.load,
                self.skipped.reflections.load,
            ),
        ];
        for (piece, instead, skipped) in reflections {
            for port in Port::ALL {
                if let Some(device) = instead {
                    let gamma = jigwise_physics::Fixture::Reflect
                        .reading(device.immittance(Some(freq_hz))?, reference)
                        .value()
                        .unwrap_or(Complex64::ONE);
                    slips.push(Connection::OtherReflection(piece(port), gamma));
                }
                if skipped {
                    slips.push(Connection::Skipped(piece(port)));
                }
            }
        }
        if self.skipped.through {
            slips.push(Connection::Skipped(Piece::Through));
        }
        if self.skipped.isolation {
            slips.push(Connection::Skipped(Piece::Isolation));
        }
        Ok(slips)
    }
}

pub fn ideal_kit(reference: ReferenceImpedance) -> Kit {
    Kit {
        reflections: Trio {
            load: Standard::load(reference.ohm()),
            ..Kit::IDEAL.reflections
        },
        ..Kit::IDEAL
    }
}

/// The methods by their names in files and commands.
pub const METHODS: [(&str, Method); 8] = [
    ("none", Method::None),
    ("response-open", Method::Response(Normaliser::Open)),
    ("response-short", Method::Response(Normaliser::Short)),
    ("one-port", Method::OnePort),
    ("enhanced-response", Method::EnhancedResponse),
    ("one-path", Method::OnePath),
    ("full", Method::Full),
    ("unknown-through", Method::UnknownThrough),
];

/// A method's name in files and commands.
pub fn method_key(method: Method) -> &'static str {
    METHODS
        .iter()
        .find(|(_, known)| *known == method)
        .map_or("none", |(key, _)| key)
}

const KEYS: [&str; 8] = [
    "connections",
    "method",
    "front_end",
    "skipped",
    "open",
    "short",
    "load",
    "through",
];
pub const OFFSET_KEYS: [&str; 3] = ["delay", "line_impedance", "loss"];

/// How often the part was connected after the calibration, and the plan where there is one.
pub(super) fn calibration(
    place: &Place<'_>,
    raw: &Spanned<RawTable>,
    reference: ReferenceImpedance,
) -> Result<(u32, Option<CalibrationPlan>), ScenarioError> {
    let keyed = Keyed::new(place, "calibration", raw, &KEYS)?;
    let connections = match keyed.count("connections", 0)? {
        None => 0,
        Some(count) => u32::try_from(count).map_err(|_| {
            keyed.error(
                "connections",
                format!("connections is {count}, expected at most 4e9"),
            )
        })?,
    };
    let Some(method) = keyed.choice("method", &METHODS)? else {
        return match keyed.other_than(&["connections"]) {
            None => Ok((connections, None)),
            Some((key, offset)) => Err(keyed.error_at(
                offset,
                format!("{key} says nothing without a method; add for example method = \"full\""),
            )),
        };
    };
    let mut plan = CalibrationPlan::new(method, reference);
    if let Some(seed) = keyed.count("front_end", 0)? {
        plan.front_end = seed;
    }
    for (offset, word) in keyed.words("skipped")? {
        match word {
            "open" => plan.skipped.reflections.open = true,
            "short" => plan.skipped.reflections.short = true,
            "load" => plan.skipped.reflections.load = true,
            "through" => plan.skipped.through = true,
            "isolation" => plan.skipped.isolation = true,
            other => {
                return Err(keyed.error_at(
                    offset,
                    format!(
                        "skipped names \"{other}\", expected open, short, load, through or \
                         isolation"
                    ),
                ));
            }
        }
    }
    let standard_keys = |own: &[&'static str]| -> Vec<&'static str> {
        let ends = ["taken_as", "instead"];
        own.iter()
            .chain(&OFFSET_KEYS)
            .chain(&ends)
            .copied()
            .collect()
    };
    if let Some(table) =
        keyed.table("open", "calibration.open", &standard_keys(&["capacitance"]))?
    {
        plan.standards.reflections.open = open_of(&table)?;
        (plan.taken_for_ideal.open, plan.instead.open) = ends(&table)?;
    }
    if let Some(table) = keyed.table(
        "short",
        "calibration.short",
        &standard_keys(&["inductance"]),
    )? {
        plan.standards.reflections.short = short_of(&table)?;
        (plan.taken_for_ideal.short, plan.instead.short) = ends(&table)?;
    }
    let load_keys = standard_keys(&["resistance", "inductance", "capacitance"]);
    if let Some(table) = keyed.table("load", "calibration.load", &load_keys)? {
        plan.standards.reflections.load = load_of(&table, reference)?;
        (plan.taken_for_ideal.load, plan.instead.load) = ends(&table)?;
    }
    let through_keys: Vec<&str> = OFFSET_KEYS.iter().chain(&["taken_as"]).copied().collect();
    if let Some(table) = keyed.table("through", "calibration.through", &through_keys)? {
        plan.standards.through.line = offset_line(&table)?;
        plan.through_taken_for_flush = taken_as(&table)?;
    }
    Ok((connections, Some(plan)))
}

fn taken_as(table: &Keyed<'_>) -> Result<bool, ScenarioError> {
    let choices = [("ideal", true), ("defined", false)];
    Ok(table.choice("taken_as", &choices)?.unwrap_or(false))
}

fn ends(table: &Keyed<'_>) -> Result<(bool, Option<Device>), ScenarioError> {
    let instead = table
        .text("instead")?
        .map(|text| {
            text.parse::<Device>()
                .map_err(|error| table.error("instead", format!("instead: {error}")))
        })
        .transpose()?;
    Ok((taken_as(table)?, instead))
}

pub fn open_of(table: &Keyed<'_>) -> Result<Standard, ScenarioError> {
    let capacitance = polynomial(table, "capacitance", Unit::Farad)?;
    Ok(Standard::open(capacitance).behind(offset_line(table)?))
}

pub fn short_of(table: &Keyed<'_>) -> Result<Standard, ScenarioError> {
    let inductance = polynomial(table, "inductance", Unit::Henry)?;
    Ok(Standard::short(inductance).behind(offset_line(table)?))
}

pub fn load_of(
    table: &Keyed<'_>,
    reference: ReferenceImpedance,
) -> Result<Standard, ScenarioError> {
    let termination = Termination::Load {
        resistance_ohm: table
            .positive("resistance", Unit::Ohm)?
            .unwrap_or(reference.ohm()),
        inductance_h: table.not_negative("inductance", Unit::Henry)?,
        capacitance_f: table.not_negative("capacitance", Unit::Farad)?,
    };
    Ok(Standard {
        termination,
        offset: offset_line(table)?,
    })
}

pub fn offset_line(table: &Keyed<'_>) -> Result<OffsetLine, ScenarioError> {
    let flush = OffsetLine::FLUSH;
    let loss_ohm_per_s = match table.text("loss")? {
        None => 0.0,
        Some(text) => {
            let ohm = text.trim().strip_suffix("/s").unwrap_or(text);
            parse_value(ohm, Unit::Ohm).map_err(|error| {
                table.error(
                    "loss",
                    format!("loss, ohms for each second at 1 GHz: {error}"),
                )
            })?
        }
    };
    if loss_ohm_per_s < 0.0 {
        return Err(table.error("loss", "loss is below zero; a line does not amplify"));
    }
    Ok(OffsetLine {
        delay_s: table.not_negative("delay", Unit::Second)?,
        zc_ohm: table
            .positive("line_impedance", Unit::Ohm)?
            .unwrap_or(flush.zc_ohm),
        loss_ohm_per_s,
    })
}

/// Up to four coefficients, each with its own unit: F, F/Hz, F/Hz^2, F/Hz^3.
fn polynomial(table: &Keyed<'_>, key: &str, unit: Unit) -> Result<[f64; 4], ScenarioError> {
    let mut coefficients = [0.0; 4];
    let words = table.words(key)?;
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
                    "term {} of {key} is \"{text}\", expected {}{per_hertz}",
                    power + 1,
                    unit.sign()
                ),
            ));
        }
        *slot = parse_value(value, unit).map_err(|error| {
            table.error_at(offset, format!("term {} of {key}: {error}", power + 1))
        })?;
    }
    Ok(coefficients)
}

fn per_hertz(power: usize) -> String {
    match power {
        0 => String::new(),
        1 => "/Hz".to_owned(),
        power => format!("/Hz^{power}"),
    }
}

/// The `[calibration]` table; `None` where there is nothing to say.
pub(super) fn calibration_table(
    connections: u32,
    plan: Option<&CalibrationPlan>,
    reference: ReferenceImpedance,
) -> Option<Table> {
    let mut table = Table::new();
    if connections > 0 {
        table.insert("connections".into(), connections.into());
    }
    if let Some(plan) = plan {
        write_plan(&mut table, plan, reference);
    }
    (!table.is_empty()).then_some(table)
}

fn write_plan(table: &mut Table, plan: &CalibrationPlan, reference: ReferenceImpedance) {
    let usual = CalibrationPlan::new(plan.method, reference);
    table.insert("method".into(), method_key(plan.method).into());
    table.insert("front_end".into(), super::typed::seed_value(plan.front_end));
    let Skipped {
        reflections,
        through,
        isolation,
    } = plan.skipped;
    let skipped: Vec<Value> = [
        ("open", reflections.open),
        ("short", reflections.short),
        ("load", reflections.load),
        ("through", through),
        ("isolation", isolation),
    ]
    .into_iter()
    .filter(|(_, left_out)| *left_out)
    .map(|(word, _)| word.into())
    .collect();
    if !skipped.is_empty() {
        table.insert("skipped".into(), skipped.into());
    }
    let is = &plan.standards.reflections;
    for (key, standard, usual, ideal, instead) in [
        (
            "open",
            &is.open,
            &usual.standards.reflections.open,
            plan.taken_for_ideal.open,
            &plan.instead.open,
        ),
        (
            "short",
            &is.short,
            &usual.standards.reflections.short,
            plan.taken_for_ideal.short,
            &plan.instead.short,
        ),
        (
            "load",
            &is.load,
            &usual.standards.reflections.load,
            plan.taken_for_ideal.load,
            &plan.instead.load,
        ),
    ] {
        if standard == usual && !ideal && instead.is_none() {
            continue;
        }
        let mut own = offset_table(&standard.offset);
        let terms = |values: &[f64; 4], unit: &str| -> Value {
            let text: Vec<Value> = values
                .iter()
                .enumerate()
                .map(|(power, value)| format!("{value:e} {unit}{}", per_hertz(power)).into())
                .collect();
            text.into()
        };
        match &standard.termination {
            Termination::Open { capacitance } => {
                own.insert("capacitance".into(), terms(capacitance, "F"));
            }
            Termination::Short { inductance } => {
                own.insert("inductance".into(), terms(inductance, "H"));
            }
            Termination::Load {
                resistance_ohm,
                inductance_h,
                capacitance_f,
            } => {
                own.insert(
                    "resistance".into(),
                    format!("{resistance_ohm:e} ohm").into(),
                );
                own.insert("inductance".into(), format!("{inductance_h:e} H").into());
                own.insert("capacitance".into(), format!("{capacitance_f:e} F").into());
            }
            // A plan is made from a file, which has no measured standards.
            Termination::Measured(_) => {}
        }
        if ideal {
            own.insert("taken_as".into(), "ideal".into());
        }
        if let Some(device) = instead {
            own.insert("instead".into(), device.typed().into());
        }
        table.insert(key.into(), own.into());
    }
    if plan.standards.through != usual.standards.through || plan.through_taken_for_flush {
        let mut own = offset_table(&plan.standards.through.line);
        if plan.through_taken_for_flush {
            own.insert("taken_as".into(), "ideal".into());
        }
        table.insert("through".into(), own.into());
    }
}

fn offset_table(line: &OffsetLine) -> Table {
    let mut table = Table::new();
    if *line != OffsetLine::FLUSH {
        table.insert("delay".into(), format!("{:e} s", line.delay_s).into());
        table.insert(
            "line_impedance".into(),
            format!("{:e} ohm", line.zc_ohm).into(),
        );
        table.insert(
            "loss".into(),
            format!("{:e} ohm/s", line.loss_ohm_per_s).into(),
        );
    }
    table
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
                "version = 1\n[device]\nkind = \"short\"\n[calibration]\nmethod = \"full\"\n{line}\n"
            );
            let error = Scenario::from_toml(&text, "list.toml")
                .unwrap_err()
                .to_string();
            let expected = format!("{key} is neither a value nor a list");
            assert!(error.contains(&expected), "{error}");
        }
    }
}
