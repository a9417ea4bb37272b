//! The `[strays]` table, both ways.

use std::f64::consts::TAU;
use std::path::Path;

use jigwise_physics::{LEFT_SHARE, Line, Strays};
use toml::{Table, Value};

use crate::file::{self, Keyed, Place, RawTable, ScenarioError};
use crate::fixture_entries::{ArmStray, PartStray};
use crate::scenario::nudge::written_amount;
use jigwise_quantity::{MAX_QUOTED, Unit, engineering, excerpt, fixed, parse_share};

/// Longest arm, wavelengths. What is longer is a cable, at whose end the calibration belongs: its
/// phase turns so fast that no doubt about its length leaves a reading worth anything.
const MOST_WAVELENGTHS: f64 = 1.0;
/// Most reactance of an inductance to ground, Ω. A straight conductor is a line of no more than
/// about 600 Ω (common practice, no source), of which a quarter of a wavelength has
/// 600·π/2 = 942 Ω; one with more is no single inductance.
const MOST_INDUCTIVE_OHM: f64 = 1_000.0;
/// Least reactance of a stray capacitance, Ω. A pad is a line of about 3 Ω or more (common practice,
/// no source), so one with less is longer than a quarter of a wavelength too: 3·2/π = 1.9 Ω.
const LEAST_CAPACITIVE_OHM: f64 = 2.0;

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

    /// The first stray that the wavelength at a frequency does not allow.
    pub(super) fn too_large_at(&self, freq_hz: f64) -> Option<TooLarge> {
        let strays = &self.strays;
        // A frequency out of range is told where it is computed with.
        Line::NONE.exponent(freq_hz).ok()?;
        let omega = TAU * freq_hz;
        let at = engineering(freq_hz, "Hz", 4);
        let arms = [("arm", &strays.before), ("second_arm", &strays.after)];
        let long = arms.into_iter().find_map(|(table, line)| {
            let wavelengths = line.one_way_degrees(freq_hz).ok()? / 360.0;
            (wavelengths > MOST_WAVELENGTHS).then(|| TooLarge {
                table: Some(table),
                key: ArmStray::LENGTH.key,
                message: format!(
                    "an arm of {} is {} wavelengths long at {at}; give at most one wavelength, {}, \
                     or calibrate at the end of the cable",
                    engineering(line.length_m, "m", 4),
                    fixed(wavelengths, 2),
                    engineering(MOST_WAVELENGTHS * line.length_m / wavelengths, "m", 4),
                ),
            })
        });
        let lump = |stray: PartStray, ohm: f64, is_too_large: bool, most: f64| {
            is_too_large.then(|| TooLarge {
                table: None,
                key: stray.key,
                message: format!(
                    "{} {} is {} of reactance at {at}; a conductor of that size is longer than a \
                     quarter of a wavelength, and no single stray; give at most {}, or a lower \
                     frequency",
                    engineering(stray.get(strays), stray.unit.sign(), 4),
                    stray.words,
                    engineering(ohm, "Ω", 3),
                    engineering(most, stray.unit.sign(), 4),
                ),
            })
        };
        let capacitance = |stray: PartStray| {
            let ohm = 1.0 / (omega * stray.get(strays));
            let most = 1.0 / (omega * LEAST_CAPACITIVE_OHM);
            lump(stray, ohm, ohm < LEAST_CAPACITIVE_OHM, most)
        };
        let ground_ohm = omega * strays.ground_h;
        long.or_else(|| capacitance(PartStray::GAP))
            .or_else(|| {
                let is_too_large = ground_ohm > MOST_INDUCTIVE_OHM;
                let most = MOST_INDUCTIVE_OHM / omega;
                lump(PartStray::GROUND, ground_ohm, is_too_large, most)
            })
            .or_else(|| capacitance(PartStray::PIN))
    }
}

/// A stray that is no stray at a frequency.
pub(super) struct TooLarge {
    /// The table within that of the strays, for an arm.
    table: Option<&'static str>,
    key: &'static str,
    pub(super) message: String,
}

impl TooLarge {
    /// The error at the line of the stray.
    pub(super) fn in_file(&self, file: &Keyed<'_>) -> ScenarioError {
        let found = || -> Result<Option<ScenarioError>, ScenarioError> {
            let Some(keyed) = file.any_table("strays", "strays")? else {
                return Ok(None);
            };
            let Some(table) = self.table else {
                return Ok(Some(keyed.error(self.key, self.message.as_str())));
            };
            let arm = keyed.any_table(table, &format!("strays.{table}"))?;
            // The table of one arm stands for both.
            let arm = match arm {
                None => keyed.any_table("arm", "strays.arm")?,
                some => some,
            };
            Ok(arm.map(|arm| arm.error(self.key, self.message.as_str())))
        };
        match found() {
            Ok(Some(error)) | Err(error) => error,
            Ok(None) => file.error("strays", self.message.as_str()),
        }
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
