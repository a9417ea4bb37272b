//! The `[calibration]` table as it is written.

use jigwise_physics::{
    CalibrationStep, Method, OffsetLine, ReferenceImpedance, ReflectionStandard, Standard,
    SwitchTerms, Termination,
};
use toml::{Table, Value};

use super::CalibrationPlan;
use super::read::per_hertz;
use crate::scenario::write::seed_value;

/// The `[calibration]` table; `None` where there is nothing to say.
pub(in crate::scenario) fn calibration_table(
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
    table.insert("method".into(), plan.method.name().into());
    if let Some(number) = plan.front_end {
        table.insert("front_end".into(), seed_value(number));
    }
    let skipped = plan.skipped.names();
    if !skipped.is_empty() {
        table.insert("skipped".into(), skipped.into());
    }
    for of in ReflectionStandard::ALL {
        let standard = of.of(&plan.standards.reflections);
        let usual = of.of(&usual.standards.reflections);
        let ideal = *of.of(&plan.taken_for_ideal);
        let instead = of.of(&plan.instead);
        if standard == usual && !ideal && instead.is_none() {
            continue;
        }
        let mut own = standard_table(standard);
        if ideal {
            own.insert("taken_as".into(), "ideal".into());
        }
        if let Some(device) = instead {
            own.insert("instead".into(), device.typed().into());
        }
        table.insert(of.name().into(), own.into());
    }
    if plan.standards.through != usual.standards.through || plan.through_taken_for_flush {
        let mut own = offset_table(&plan.standards.through.line);
        if plan.through_taken_for_flush {
            own.insert("taken_as".into(), "ideal".into());
        }
        table.insert(CalibrationStep::Through.name().into(), own.into());
    }
}

/// A calibration file: its method, and for each standard that has a file, by the name that
/// `file_of` gives, what the calibration takes it for. The files are those of
/// [`crate::Measurement::raw_standards_and_blanks`], by their words.
pub(crate) fn calibration_file(
    plan: &CalibrationPlan,
    method: Method,
    file_of: &dyn Fn(&str) -> Option<String>,
) -> Table {
    let mut table = Table::new();
    table.insert("version".into(), 1.into());
    table.insert("method".into(), method.name().into());
    for of in ReflectionStandard::ALL {
        let Some(file) = file_of(of.name()) else {
            continue;
        };
        let mut own = Table::new();
        own.insert("file".into(), file.into());
        if let Some(second) = file_of(&format!("{}-2", of.name())) {
            own.insert("second_file".into(), second.into());
        }
        if !*of.of(&plan.taken_for_ideal) {
            let is = standard_table(of.of(&plan.standards.reflections));
            own.extend(is.into_iter().filter(|(_, value)| !is_nothing(value)));
        }
        table.insert(of.name().into(), own.into());
    }
    for step in [
        CalibrationStep::Through.name(),
        CalibrationStep::Isolation.name(),
        SwitchTerms::NAME,
    ] {
        let Some(file) = file_of(step) else {
            continue;
        };
        let mut own = Table::new();
        own.insert("file".into(), file.into());
        if step == CalibrationStep::Through.name() && !plan.through_taken_for_flush {
            own.extend(offset_table(&plan.standards.through.line));
        }
        table.insert(step.into(), own.into());
    }
    table
}

/// True for zero, and for a list of zeros.
fn is_nothing(value: &Value) -> bool {
    match value {
        Value::String(text) => text.starts_with("0e0"),
        Value::Array(list) => list.iter().all(is_nothing),
        _ => false,
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

fn standard_table(standard: &Standard) -> Table {
    let mut own = offset_table(&standard.offset);
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
    own
}

fn terms(values: &[f64; 4], unit: &str) -> Value {
    let text: Vec<Value> = values
        .iter()
        .enumerate()
        .map(|(power, value)| format!("{value:e} {unit}{}", per_hertz(power)).into())
        .collect();
    text.into()
}
