//! The `[strays]` table, both ways.

use jigwise_physics::{Line, Strays};
use toml::{Spanned, Table};

use super::error::{Place, ScenarioError};
use super::keyed::{Keyed, RawTable};
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

const LINE_KEYS: [&str; 5] = [
    "length",
    "velocity_factor",
    "impedance",
    "loss",
    "dielectric_loss",
];

pub(super) fn strays(
    place: &Place<'_>,
    raw: &Spanned<RawTable>,
) -> Result<FixtureStrays, ScenarioError> {
    let keyed = Keyed::new(
        place,
        "strays",
        raw,
        &[
            "gap",
            "ground",
            "pin",
            "contact",
            "braid",
            "braid_loop",
            "removed",
            "arm",
            "second_arm",
        ],
    )?;
    let arm = |key, name| match keyed.table(key, name, &LINE_KEYS)? {
        Some(table) => line(&table).map(Some),
        None => Ok(None),
    };
    let before = arm("arm", "strays.arm")?.unwrap_or(Line::NONE);
    let strays = Strays {
        gap_f: keyed.not_negative("gap", Unit::Farad)?,
        ground_h: keyed.not_negative("ground", Unit::Henry)?,
        pin_f: keyed.not_negative("pin", Unit::Farad)?,
        contact_ohm: keyed.not_negative("contact", Unit::Ohm)?,
        braid_ohm: keyed.not_negative("braid", Unit::Ohm)?,
        braid_loop_h: keyed.not_negative("braid_loop", Unit::Henry)?,
        before,
        after: arm("second_arm", "strays.second_arm")?.unwrap_or(before),
    };
    strays
        .validate()
        .map_err(|error| keyed.error("strays", error.to_string()))?;
    Ok(FixtureStrays {
        strays,
        removed: keyed.flag("removed")?,
    })
}

fn line(keyed: &Keyed<'_>) -> Result<Line, ScenarioError> {
    let per_metre = |key: &str| -> Result<f64, ScenarioError> {
        let Some(text) = keyed.text(key)? else {
            return Ok(0.0);
        };
        let db = text.trim().strip_suffix("/m").unwrap_or(text);
        jigwise_quantity::parse_value(db, Unit::Decibel)
            .map_err(|error| keyed.error(key, format!("{key}, dB for each metre: {error}")))
    };
    let none = Line::NONE;
    Ok(Line {
        length_m: keyed.not_negative("length", Unit::Metre)?,
        velocity_factor: keyed
            .positive("velocity_factor", Unit::One)?
            .unwrap_or(none.velocity_factor),
        zc_ohm: keyed
            .positive("impedance", Unit::Ohm)?
            .unwrap_or(none.zc_ohm),
        conductor_db_per_m_at_1ghz: per_metre("loss")?,
        dielectric_db_per_m_at_1ghz: per_metre("dielectric_loss")?,
    })
}

/// The table of strays; `None` for ideal fixtures.
pub(super) fn strays_table(fixtures: &FixtureStrays) -> Option<Table> {
    if *fixtures == FixtureStrays::NONE {
        return None;
    }
    let strays = &fixtures.strays;
    let mut table = Table::new();
    for (key, value, unit) in [
        ("gap", strays.gap_f, "F"),
        ("ground", strays.ground_h, "H"),
        ("pin", strays.pin_f, "F"),
        ("contact", strays.contact_ohm, "ohm"),
        ("braid", strays.braid_ohm, "ohm"),
        ("braid_loop", strays.braid_loop_h, "H"),
    ] {
        if value != 0.0 {
            table.insert(key.into(), format!("{value:e} {unit}").into());
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
    Table::from_iter([
        ("length".into(), format!("{:e} m", line.length_m).into()),
        ("velocity_factor".into(), line.velocity_factor.into()),
        ("impedance".into(), format!("{:e} ohm", line.zc_ohm).into()),
        (
            "loss".into(),
            format!("{:e} dB/m", line.conductor_db_per_m_at_1ghz).into(),
        ),
        (
            "dielectric_loss".into(),
            format!("{:e} dB/m", line.dielectric_db_per_m_at_1ghz).into(),
        ),
    ])
}
