//! The strays of the fixtures, one by one, as people read and type them: on the screen, in a
//! file and in a sentence.

use jigwise_physics::{Figure, Line, Strays};

use jigwise_quantity::{Unit, engineering, parse_value, zero_or_more};

/// One stray on the screen.
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
    /// Its key in the `[strays]` table of a file, and in a quote.
    pub key: &'static str,
    /// Its place, as a sentence names it.
    pub words: &'static str,
    /// What to type.
    hint: &'static str,
    pub unit: Unit,
    figure: Figure<Strays>,
}

/// A figure of the line that an arm is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ArmStray {
    /// Its key in the tables `[strays.arm]` and `[strays.second_arm]` of a file.
    pub key: &'static str,
    pub unit: Unit,
    figure: Figure<Line>,
}

macro_rules! part_strays {
    ($($name:ident, $key:literal, $unit:ident: $what:literal, $words:literal $(+ $more:literal)?,
       $example:literal;)*) => {
        $(pub const $name: Self = Self {
            key: $key,
            words: $words,
            hint: concat!($what, " ", $words, $($more,)? ", such as ", $example),
            unit: Unit::$unit,
            figure: Figure::$name,
        };)*
        /// All of them.
        pub const ALL: [Self; 6] = [$(Self::$name),*];
    };
}

impl PartStray {
    part_strays! {
        GAP, "gap", Farad: "capacitance", "across the gap of series-through", "0.1 pF";
        GROUND, "ground", Henry: "inductance", "to ground in shunt-through and reflect", "1 nH";
        PIN, "pin", Farad: "capacitance", "at the pin of reflect", "0.05 pF";
        CONTACT, "contact", Ohm: "resistance", "in each contact", "10 mΩ";
        BRAID, "braid", Ohm: "resistance", "of cable braid" + ", both side by side", "10 mΩ";
        BRAID_LOOP, "braid_loop", Henry: "inductance",
            "round the loop of the braids" + " with a choke on them", "2 µH";
    }

    pub fn get(&self, strays: &Strays) -> f64 {
        self.figure.get(strays)
    }

    /// Changes the stray to what was typed, where it is in its range.
    pub fn read(&self, strays: &mut Strays, text: &str) -> Result<(), String> {
        change(&self.figure, self.unit, strays, text)
    }
}

impl ArmStray {
    const fn new(key: &'static str, unit: Unit, figure: Figure<Line>) -> Self {
        Self { key, unit, figure }
    }

    pub const LENGTH: Self = Self::new("length", Unit::Metre, Figure::LENGTH);
    const VELOCITY: Self = Self::new("velocity_factor", Unit::One, Figure::VELOCITY);

    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::LENGTH,
        Self::VELOCITY,
        Self::new("impedance", Unit::Ohm, Figure::IMPEDANCE),
        Self::new("loss", Unit::Decibel, Figure::CONDUCTOR_LOSS),
        Self::new("dielectric_loss", Unit::Decibel, Figure::DIELECTRIC_LOSS),
    ];

    pub fn get(&self, line: &Line) -> f64 {
        self.figure.get(line)
    }

    /// What follows the unit: /m for a figure of each metre.
    pub fn behind_unit(&self) -> &'static str {
        match self.figure.unit.find('/') {
            Some(at) => &self.figure.unit[at..],
            None => "",
        }
    }

    /// Changes the figure to what was typed, where it is in its range.
    pub fn read(&self, line: &mut Line, text: &str) -> Result<(), String> {
        let plain = text.trim();
        let plain = plain.strip_suffix(self.behind_unit()).unwrap_or(plain);
        change(&self.figure, self.unit, line, plain)
    }
}

fn change<T: Copy>(figure: &Figure<T>, unit: Unit, of: &mut T, text: &str) -> Result<(), String> {
    let read = if figure.least == 0.0 {
        zero_or_more
    } else {
        parse_value
    };
    let value = read(text, unit).map_err(|error| error.to_string())?;
    figure.set(of, value).map_err(|error| error.to_string())
}

impl StrayEntry {
    const fn at_part(name: &'static str, stray: PartStray) -> Self {
        Self {
            name,
            hint: stray.hint,
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
        Self::at_part("Gap", PartStray::GAP),
        Self::at_part("Ground", PartStray::GROUND),
        Self::at_part("Pin", PartStray::PIN),
        Self::at_part("Each contact", PartStray::CONTACT),
        Self::at_part("Cable braid", PartStray::BRAID),
        Self::at_part("Braid loop", PartStray::BRAID_LOOP),
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
            Place::InArms(stray) => {
                let mut changed = *strays;
                stray
                    .read(&mut changed.before, text)
                    .and_then(|()| stray.read(&mut changed.after, text))
                    .map(|()| *strays = changed)
            }
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

    #[test]
    fn units_are_those_of_the_figures() {
        for stray in PartStray::ALL {
            assert_eq!(stray.unit.sign(), stray.figure.unit, "{}", stray.key);
        }
        for stray in ArmStray::ALL {
            let unit = format!("{}{}", stray.unit.sign(), stray.behind_unit());
            assert_eq!(unit, stray.figure.unit, "{}", stray.key);
        }
    }

    #[test]
    fn every_stray_can_be_quoted_by_its_key() {
        let mut scenario = crate::Scenario::default();
        for stray in PartStray::ALL {
            let shown = engineering(1e-7, stray.unit.sign(), 3);
            stray.read(&mut scenario.fixtures.strays, &shown).unwrap();
            let quote: crate::quotes::Quote = format!("{} 3", stray.key).parse().unwrap();
            assert_eq!(quote.of(&scenario), Ok(shown));
        }
    }
}
