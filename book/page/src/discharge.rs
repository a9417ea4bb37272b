//! `discharge`, then a voltage, a capacitance and a resistance on each line: what a resistor that
//! empties the capacitor has to stand, and for how long.

use jigwise_bench::{Unit, engineering, parse_value};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};

/// The voltage at which the last column ends.
const LOW_V: f64 = 1.0;

pub(crate) fn discharge(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected discharge and nothing more, with capacitors below")?;
    let mut rows = Vec::new();
    for (index, text) in block.lines() {
        let fault = |message: String| block.body_error(index, message);
        let words: Vec<&str> = text.split(',').map(str::trim).collect();
        let [volt, farad, ohm] = words[..] else {
            return Err(fault(
                "expected VOLTS, CAPACITANCE, RESISTANCE, as in 450, 47 uF, 10k".to_owned(),
            ));
        };
        let value = |word, unit| parse_value(word, unit).map_err(|error| fault(error.to_string()));
        let volt = value(volt, Unit::One)?;
        let farad = value(farad, Unit::Farad)?;
        let ohm = value(ohm, Unit::Ohm)?;
        if volt <= LOW_V || farad <= 0.0 || ohm <= 0.0 {
            return Err(fault(format!(
                "expected more than {LOW_V} V, and a capacitance and a resistance above zero"
            )));
        }
        let discharge = Discharge { volt, farad, ohm };
        rows.push(row(
            &format!(
                "{} at {}, through {}",
                engineering(farad, "F", 2),
                engineering(volt, "V", 2),
                engineering(ohm, "Ω", 2)
            ),
            &[
                engineering(discharge.energy_j(), "J", 2),
                engineering(discharge.first_power_w(), "W", 2),
                engineering(5.0 * discharge.time_constant_s(), "s", 2),
                engineering(discharge.time_to_s(LOW_V), "s", 2),
            ],
        ));
    }
    if rows.is_empty() {
        return Err(block.error("no capacitor; give volts, capacitance and resistance on a line"));
    }
    Ok(table(
        "Capacitors, and what a resistor that discharges each has to stand",
        &[
            "Capacitor and resistor",
            "Energy, CV²/2",
            "Power at the start, V²/R",
            "5RC",
            "Time until 1 V is left",
        ],
        &rows,
    ))
}

/// A capacitor that a resistor empties: v(t) = V·exp(−t/(R·C)).
struct Discharge {
    volt: f64,
    farad: f64,
    ohm: f64,
}

impl Discharge {
    fn energy_j(&self) -> f64 {
        self.farad * self.volt.powi(2) / 2.0
    }

    fn first_power_w(&self) -> f64 {
        self.volt.powi(2) / self.ohm
    }

    fn time_constant_s(&self) -> f64 {
        self.ohm * self.farad
    }

    fn time_to_s(&self, volt: f64) -> f64 {
        self.time_constant_s() * (self.volt / volt).ln()
    }
}

#[cfg(test)]
mod tests {
    use super::Discharge;

    /// Any textbook of circuits, worked out by hand: 100 V on 10 µF through 1 kΩ hold 50 mJ, begin
    /// with 10 W, and are down to 1/e of the voltage after 10 ms.
    #[test]
    fn a_capacitor_empties_through_a_resistor() {
        let discharge = Discharge {
            volt: 100.0,
            farad: 10e-6,
            ohm: 1e3,
        };
        assert!((discharge.energy_j() - 0.05).abs() < 1e-12);
        assert!((discharge.first_power_w() - 10.0).abs() < 1e-12);
        assert!((discharge.time_to_s(100.0 / std::f64::consts::E) - 0.01).abs() < 1e-12);
    }
}
