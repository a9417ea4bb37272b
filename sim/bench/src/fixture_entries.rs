//! The strays of the fixtures, one by one, as a person reads and types them.

use jigwise_physics::Strays;

use jigwise_quantity::engineering;
use jigwise_quantity::{Unit, parse_value};

/// One stray.
#[derive(Debug, Clone, Copy)]
pub struct StrayEntry {
    /// Its name on the screen.
    pub name: &'static str,
    /// What to type.
    pub hint: &'static str,
    unit: Unit,
    get: fn(&Strays) -> f64,
    set: fn(&mut Strays, f64),
}

impl StrayEntry {
    /// All of them. The arms of both ports are alike here; a file may give each its own.
    pub const ALL: [Self; 8] = [
        Self {
            name: "Gap",
            hint: "capacitance across the gap of series-through, such as 0.1 pF",
            unit: Unit::Farad,
            get: |strays| strays.gap_f,
            set: |strays, value| strays.gap_f = value,
        },
        Self {
            name: "Ground",
            hint: "inductance to ground in shunt-through and reflect, such as 1 nH",
            unit: Unit::Henry,
            get: |strays| strays.ground_h,
            set: |strays, value| strays.ground_h = value,
        },
        Self {
            name: "Pin",
            hint: "capacitance at the pin of reflect, such as 0.05 pF",
            unit: Unit::Farad,
            get: |strays| strays.pin_f,
            set: |strays, value| strays.pin_f = value,
        },
        Self {
            name: "Each contact",
            hint: "resistance, such as 10 mΩ",
            unit: Unit::Ohm,
            get: |strays| strays.contact_ohm,
            set: |strays, value| strays.contact_ohm = value,
        },
        Self {
            name: "Cable braid",
            hint: "resistance of both braids side by side, such as 10 mΩ",
            unit: Unit::Ohm,
            get: |strays| strays.braid_ohm,
            set: |strays, value| strays.braid_ohm = value,
        },
        Self {
            name: "Braid loop",
            hint: "inductance round both braids with a choke on them, such as 2 µH",
            unit: Unit::Henry,
            get: |strays| strays.braid_loop_h,
            set: |strays, value| strays.braid_loop_h = value,
        },
        Self {
            name: "Arms",
            hint: "length of line from plane to part, such as 5 mm",
            unit: Unit::Metre,
            get: |strays| strays.before.length_m,
            set: |strays, value| {
                strays.before.length_m = value;
                strays.after.length_m = value;
            },
        },
        Self {
            name: "Velocity in the arms",
            hint: "a part of that of light, such as 0.7",
            unit: Unit::One,
            get: |strays| strays.before.velocity_factor,
            set: |strays, value| {
                strays.before.velocity_factor = value;
                strays.after.velocity_factor = value;
            },
        },
    ];

    /// The stray as it is shown, and taken back.
    pub fn shown(&self, strays: &Strays) -> String {
        engineering((self.get)(strays), self.unit.sign(), 4)
            .trim_end()
            .to_owned()
    }

    /// Changes the stray to what was typed.
    ///
    /// # Errors
    /// A sentence with the stray, the text and what was expected; nothing is changed then.
    pub fn change(&self, strays: &mut Strays, text: &str) -> Result<(), String> {
        let value =
            parse_value(text, self.unit).map_err(|error| format!("{}: {error}", self.name))?;
        let mut changed = *strays;
        (self.set)(&mut changed, value);
        changed
            .validate()
            .map_err(|error| format!("{}: {error}", self.name))?;
        *strays = changed;
        Ok(())
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
                let (before, after) = ((entry.get)(&start), (entry.get)(&changed));
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
