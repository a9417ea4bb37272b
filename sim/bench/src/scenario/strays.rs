//! The `[strays]` table, both ways.

use jigwise_physics::{Line, Strays};
use toml::{Table, Value};

use crate::file::{Keyed, ScenarioError};
use crate::fixture_entries::{ArmStray, PartStray};
use jigwise_quantity::Unit;

/// The residuals of the fixtures, and whether they are taken out again.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FixtureStrays {
    /// What the fixtures add around the part.
    pub strays: Strays,
    /// True where their known values are taken out of the ohms got back.
    pub removed: bool,
}

impl FixtureStrays {
    /// Ideal fixtures.
    pub const NONE: Self = Self {
        strays: Strays::NONE,
        removed: false,
    };
}

/// The strays of a scenario; ideal fixtures where it says nothing of them.
pub(super) fn strays(file: &Keyed<'_>) -> Result<FixtureStrays, ScenarioError> {
    let own = PartStray::ALL.map(|stray| stray.key);
    let known: Vec<&str> = own
        .into_iter()
        .chain(["removed", "arm", "second_arm"])
        .collect();
    let Some(keyed) = file.table("strays", "strays", &known)? else {
        return Ok(FixtureStrays::NONE);
    };
    let mut strays = Strays::NONE;
    for stray in PartStray::ALL {
        keyed.read(stray.key, |text| stray.read(&mut strays, text))?;
    }
    if let Some(line) = line(&keyed, "arm")? {
        (strays.before, strays.after) = (line, line);
    }
    if let Some(line) = line(&keyed, "second_arm")? {
        strays.after = line;
    }
    Ok(FixtureStrays {
        strays,
        removed: keyed.flag("removed")?.unwrap_or(false),
    })
}

/// The line of one arm.
fn line(keyed: &Keyed<'_>, key: &str) -> Result<Option<Line>, ScenarioError> {
    let known = ArmStray::ALL.map(|stray| stray.key);
    let Some(table) = keyed.table(key, &format!("strays.{key}"), &known)? else {
        return Ok(None);
    };
    let mut line = Line::NONE;
    for stray in ArmStray::ALL {
        table.read(stray.key, |text| stray.read(&mut line, text))?;
    }
    Ok(Some(line))
}

/// The table of strays; `None` for ideal fixtures.
pub(super) fn strays_table(fixtures: &FixtureStrays) -> Option<Table> {
    if *fixtures == FixtureStrays::NONE {
        return None;
    }
    let strays = &fixtures.strays;
    let mut table = Table::new();
    for stray in PartStray::ALL {
        let value = stray.get(strays);
        if value != 0.0 {
            table.insert(stray.key.into(), written(value, stray.unit, ""));
        }
    }
    if fixtures.removed {
        table.insert("removed".into(), true.into());
    }
    if strays.before != Line::NONE || strays.after != Line::NONE {
        table.insert("arm".into(), line_table(&strays.before).into());
    }
    if strays.after != strays.before {
        table.insert("second_arm".into(), line_table(&strays.after).into());
    }
    Some(table)
}

fn line_table(line: &Line) -> Table {
    ArmStray::ALL
        .into_iter()
        .map(|stray| {
            let value = written(stray.get(line), stray.unit, stray.behind_unit());
            (stray.key.to_owned(), value)
        })
        .collect()
}

/// A value with every digit; a plain number stays one.
fn written(value: f64, unit: Unit, behind: &str) -> Value {
    match unit {
        Unit::One => value.into(),
        unit => format!("{value:e} {}{behind}", unit.typed()).into(),
    }
}
