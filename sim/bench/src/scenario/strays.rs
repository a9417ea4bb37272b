//! The `[strays]` table, both ways.

use std::path::Path;

use jigwise_physics::{LEFT_SHARE, Line, Strays};
use toml::{Table, Value};

use crate::file::{self, Keyed, Place, RawTable, ScenarioError};
use crate::fixture_entries::{ArmStray, PartStray};
use crate::scenario::nudge::written_amount;
use jigwise_quantity::{MAX_QUOTED, Unit, excerpt, parse_share};

/// The residuals of the fixtures, and whether they are taken out again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixtureStrays {
    /// What the fixtures add around the part.
    pub strays: Strays,
    /// True where their known values are taken out of the ohms got back.
    pub removed: bool,
    /// rms doubt about each of them, as a share of its size, where they are taken out.
    pub left_share: f64,
}

impl FixtureStrays {
    /// Ideal fixtures.
    pub const NONE: Self = Self {
        strays: Strays::NONE,
        removed: false,
        left_share: LEFT_SHARE,
    };

    /// The doubt that stays of each stray: none where they are left in, since then what they do is
    /// part of what is measured.
    pub fn doubt(&self) -> f64 {
        if self.removed { self.left_share } else { 0.0 }
    }
}

impl Default for FixtureStrays {
    fn default() -> Self {
        Self::NONE
    }
}

/// Strays with the name they go by.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedStrays {
    /// "typical", or the file they were read from.
    pub name: String,
    /// Their sizes; at least one of them is not zero.
    pub strays: Strays,
}

impl NamedStrays {
    /// The name of [`Strays::TYPICAL`].
    pub const TYPICAL: &'static str = "typical";

    /// The typical strays by name, or else the `[strays]` table of a file, which may be a
    /// scenario. `removed` in it says nothing here: these are sizes alone.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value; also where no stray has a size.
    pub fn named_or_read(name_or_file: &str) -> Result<Self, ScenarioError> {
        let named = |strays| Self {
            name: name_or_file.to_owned(),
            strays,
        };
        if name_or_file == Self::TYPICAL {
            return Ok(named(Strays::TYPICAL));
        }
        let path = Path::new(name_or_file);
        if !path.exists() {
            return Err(ScenarioError::free(format!(
                "\"{}\" is neither a file nor the word \"{}\"; expected that word, or a file \
                 with a [strays] table",
                excerpt(name_or_file, MAX_QUOTED),
                Self::TYPICAL
            )));
        }
        let (text, name) = file::text_of(path)?;
        let place = Place {
            file: &name,
            text: &text,
        };
        let raw = RawTable::parse(&place)?;
        // The rest of the file, which may be a scenario, is left alone.
        let file = Keyed::document(&place, &raw, "a file of strays", None)?;
        if !file.has("strays") {
            return Err(file.error(
                "strays",
                "there is no [strays] table; a file of strays needs version = 1 and that table",
            ));
        }
        let found = strays(&file)?.strays;
        if found.are_none() {
            return Err(file.error(
                "strays",
                "no stray in this table has a size, so it adds no doubt; give for example \
                 gap = \"0.1 pF\"",
            ));
        }
        Ok(named(found))
    }
}

/// The strays of a scenario; ideal fixtures where it says nothing of them.
pub(super) fn strays(file: &Keyed<'_>) -> Result<FixtureStrays, ScenarioError> {
    let own = PartStray::ALL.map(|stray| stray.key);
    let known: Vec<&str> = own
        .into_iter()
        .chain(["removed", "left", "arm", "second_arm"])
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
    let removed = keyed.flag("removed")?.unwrap_or(false);
    let left = keyed.read("left", |text| match parse_share(text) {
        Ok(share) if !(0.0..=1.0).contains(&share) => Err(format!(
            "\"{text}\" is no share of a stray; give 0 to 100 %"
        )),
        read => read.map_err(|error| error.to_string()),
    })?;
    if left.is_some() && !removed {
        return Err(keyed.error(
            "left",
            "left is what stays in doubt of strays that are taken out; add removed = true",
        ));
    }
    Ok(FixtureStrays {
        strays,
        removed,
        left_share: left.unwrap_or(LEFT_SHARE),
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
        if fixtures.left_share != LEFT_SHARE {
            let share = written_amount(fixtures.left_share);
            table.insert("left".into(), share.into());
        }
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
