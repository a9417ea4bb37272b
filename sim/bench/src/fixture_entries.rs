//! The strays of the fixtures, one by one, as people read and type them: on the screen, in a
//! file and in a sentence.

use jigwise_physics::{Line, Strays};

use jigwise_quantity::{Unit, ValueError, above_zero, engineering, parse_value, zero_or_more};

/// One stray.
#[derive(Debug, Clone, Copy)]
pub struct StrayEntry {
    /// Its name on the screen.
    pub name: &'static str,
    /// What to type.
    pub hint: &'static str,
    place: Place,
}

/// Where a stray is kept.
#[derive(Debug, Clone, Copy)]
enum Place {
    /// At the part.
    AtPart(PartStray),
    /// In the line of each arm.
    InArms(ArmStray),
}

/// A stray that sits at the part.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PartStray {
    /// Its key in the `[strays]` table of a file.
    pub key: &'static str,
    /// Its place, as a sentence names it.
    pub words: &'static str,
    pub unit: Unit,
    field: fn(&mut Strays) -> &mut f64,
}

/// A figure of the line that an arm is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ArmStray {
    /// Its key in the tables `[strays.arm]` and `[strays.second_arm]` of a file.
    pub key: &'static str,
    pub unit: Unit,
    /// True for a figure of each metre, written with /m behind its unit.
    pub is_per_metre: bool,
    least: Least,
    field: fn(&mut Line) -> &mut f64,
}

#[derive(Debug, Clone, Copy)]
enum Least {
    AboveZero,
    Zero,
    Any,
}

impl PartStray {
    const fn new(
        key: &'static str,
        unit: Unit,
        words: &'static str,
        field: fn(&mut Strays) -> &mut f64,
    ) -> Self {
        Self {
            key,
            words,
            unit,
            field,
        }
    }

    const GAP: Self = Self::new(
        "gap",
        Unit::Farad,
        "across the gap of series-through",
        |s| &mut s.gap_f,
    );
    const GROUND: Self = Self::new(
        "ground",
        Unit::Henry,
        "to ground in shunt-through and reflect",
        |s| &mut s.ground_h,
    );
    const PIN: Self = Self::new("pin", Unit::Farad, "at the pin of reflect", |s| {
        &mut s.pin_f
    });
    const CONTACT: Self = Self::new("contact", Unit::Ohm, "in each contact", |s| {
        &mut s.contact_ohm
    });
    const BRAID: Self = Self::new("braid", Unit::Ohm, "of cable braid", |s| &mut s.braid_ohm);
    const BRAID_LOOP: Self = Self::new(
        "braid_loop",
        Unit::Henry,
        "round the loop of the braids",
        |s| &mut s.braid_loop_h,
    );

    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::GAP,
        Self::GROUND,
        Self::PIN,
        Self::CONTACT,
        Self::BRAID,
        Self::BRAID_LOOP,
    ];

    pub fn get(&self, strays: &Strays) -> f64 {
        *(self.field)(&mut { *strays })
    }

    /// Changes the stray to what was typed, where it is in its range.
    pub fn read(&self, strays: &mut Strays, text: &str) -> Result<(), String> {
        let value = zero_or_more(text, self.unit).map_err(|error| error.to_string())?;
        in_range(strays, |strays| *(self.field)(strays) = value)
    }
}

impl ArmStray {
    const fn new(
        key: &'static str,
        unit: Unit,
        least: Least,
        field: fn(&mut Line) -> &mut f64,
    ) -> Self {
        Self {
            key,
            unit,
            is_per_metre: matches!(unit, Unit::Decibel),
            least,
            field,
        }
    }

    const LENGTH: Self = Self::new("length", Unit::Metre, Least::Zero, |l| &mut l.length_m);
    const VELOCITY: Self = Self::new("velocity_factor", Unit::One, Least::AboveZero, |l| {
        &mut l.velocity_factor
    });

    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::LENGTH,
        Self::VELOCITY,
        Self::new("impedance", Unit::Ohm, Least::AboveZero, |l| &mut l.zc_ohm),
        Self::new("loss", Unit::Decibel, Least::Any, |l| {
            &mut l.conductor_db_per_m_at_1ghz
        }),
        Self::new("dielectric_loss", Unit::Decibel, Least::Any, |l| {
            &mut l.dielectric_db_per_m_at_1ghz
        }),
    ];

    pub fn get(&self, line: &Line) -> f64 {
        *(self.field)(&mut { *line })
    }

    pub fn set(&self, line: &mut Line, value: f64) {
        *(self.field)(line) = value;
    }

    pub fn value(&self, text: &str) -> Result<f64, ValueError> {
        let text = match text.trim().strip_suffix("/m") {
            Some(plain) if self.is_per_metre => plain,
            _ => text,
        };
        match self.least {
            Least::AboveZero => above_zero(text, self.unit),
            Least::Zero => zero_or_more(text, self.unit),
            Least::Any => parse_value(text, self.unit),
        }
    }
}

/// Changes the strays, or says which of them would be out of its range.
fn in_range(strays: &mut Strays, change: impl FnOnce(&mut Strays)) -> Result<(), String> {
    let mut changed = *strays;
    change(&mut changed);
    changed.validate().map_err(|error| error.to_string())?;
    *strays = changed;
    Ok(())
}

impl StrayEntry {
    const fn at_part(name: &'static str, hint: &'static str, stray: PartStray) -> Self {
        Self {
            name,
            hint,
            place: Place::AtPart(stray),
        }
    }

    const fn in_arms(name: &'static str, hint: &'static str, stray: ArmStray) -> Self {
        Self {
            name,
            hint,
            place: Place::InArms(stray),
        }
    }

    /// All of them. The arms of both ports are alike here; a file may give each its own.
    pub const ALL: [Self; 8] = [
        Self::at_part(
            "Gap",
            "capacitance across the gap of series-through, such as 0.1 pF",
            PartStray::GAP,
        ),
        Self::at_part(
            "Ground",
            "inductance to ground in shunt-through and reflect, such as 1 nH",
            PartStray::GROUND,
        ),
        Self::at_part(
            "Pin",
            "capacitance at the pin of reflect, such as 0.05 pF",
            PartStray::PIN,
        ),
        Self::at_part(
            "Each contact",
            "resistance, such as 10 mΩ",
            PartStray::CONTACT,
        ),
        Self::at_part(
            "Cable braid",
            "resistance of both braids side by side, such as 10 mΩ",
            PartStray::BRAID,
        ),
        Self::at_part(
            "Braid loop",
            "inductance round both braids with a choke on them, such as 2 µH",
            PartStray::BRAID_LOOP,
        ),
        Self::in_arms(
            "Arms",
            "length of line from plane to part, such as 5 mm",
            ArmStray::LENGTH,
        ),
        Self::in_arms(
            "Velocity in the arms",
            "a part of that of light, such as 0.7",
            ArmStray::VELOCITY,
        ),
    ];

    fn get(&self, strays: &Strays) -> f64 {
        match self.place {
            Place::AtPart(stray) => stray.get(strays),
            Place::InArms(stray) => stray.get(&strays.before),
        }
    }

    /// The stray as it is shown, and taken back.
    pub fn shown(&self, strays: &Strays) -> String {
        let unit = match self.place {
            Place::AtPart(stray) => stray.unit,
            Place::InArms(stray) => stray.unit,
        };
        engineering(self.get(strays), unit.sign(), 4)
            .trim_end()
            .to_owned()
    }

    /// Changes the stray to what was typed.
    ///
    /// # Errors
    /// A sentence with the stray, the text and what was expected; nothing is changed then.
    pub fn change(&self, strays: &mut Strays, text: &str) -> Result<(), String> {
        match self.place {
            Place::AtPart(stray) => stray.read(strays, text),
            Place::InArms(stray) => stray
                .value(text)
                .map_err(|error| error.to_string())
                .and_then(|value| {
                    in_range(strays, |strays| {
                        stray.set(&mut strays.before, value);
                        stray.set(&mut strays.after, value);
                    })
                }),
        }
        .map_err(|message| format!("{}: {message}", self.name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_can_be_typed_again() {
        let strays = Strays {
            gap_f: 0.12e-12,
            ground_h: 1.3e-9,
            pin_f: 50e-15,
            contact_ohm: 0.012,
            braid_ohm: 0.01,
            braid_loop_h: 2e-6,
            ..Strays::NONE
        };
        for start in [Strays::NONE, strays] {
            for entry in StrayEntry::ALL {
                let mut changed = start;
                let shown = entry.shown(&start);
                entry.change(&mut changed, &shown).unwrap();
                let (before, after) = (entry.get(&start), entry.get(&changed));
                assert!(
                    (before - after).abs() <= 1e-3 * before,
                    "{}: {shown}",
                    entry.name
                );
            }
        }
    }

    #[test]
    fn what_is_out_of_range_changes_nothing() {
        let mut strays = Strays::NONE;
        for (entry, text) in StrayEntry::ALL
            .iter()
            .zip(["-1 pF", "1 F", "5 mm", "-1", "2000", "11", "2000", "1.5"])
        {
            let error = entry.change(&mut strays, text).unwrap_err();
            assert!(error.starts_with(entry.name), "{error}");
        }
        assert_eq!(strays, Strays::NONE);
    }
}
