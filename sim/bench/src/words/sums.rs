//! The formulas of the three fixtures, in symbols and with a device's numbers in them.

use jigwise_physics::{Complex64, Fixture, ReferenceImpedance};

use crate::readout::{FixtureReadout, Readout};
use jigwise_quantity::{complex_ohm, engineering, plain_complex};

/// A formula worked for one device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkedFormula {
    /// In symbols: Z, Z0, S11 or S21.
    pub symbols: &'static str,
    /// With numbers in the symbols' places; `None` where there is no reading.
    pub numbers: Option<String>,
    /// The result, with its unit.
    pub result: String,
}

/// Z from the reading of a fixture, in symbols.
pub const fn inversion(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "Z = Z0·(1 + S11)/(1 − S11)",
        Fixture::ShuntThrough => "Z = (Z0/2)·S21/(1 − S21)",
        Fixture::SeriesThrough => "Z = 2·Z0·(1 − S21)/S21",
    }
}

/// From the device to the reading of a fixture.
pub fn forward(entry: &FixtureReadout, readout: &Readout) -> WorkedFormula {
    let z0 = engineering(readout.reference.ohm(), "Ω", 3);
    let numbers = readout.device.impedance().map(|z| {
        let z = complex_ohm(z, 4);
        match entry.fixture {
            Fixture::Reflect => format!("(({z}) − {z0})/(({z}) + {z0})"),
            Fixture::ShuntThrough => format!("2·({z})/(2·({z}) + {z0})"),
            Fixture::SeriesThrough => format!("2·{z0}/(({z}) + 2·{z0})"),
        }
    });
    WorkedFormula {
        symbols: match entry.fixture {
            Fixture::Reflect => "S11 = (Z − Z0)/(Z + Z0)",
            Fixture::ShuntThrough => "S21 = 2·Z/(2·Z + Z0)",
            Fixture::SeriesThrough => "S21 = 2·Z0/(Z + 2·Z0)",
        },
        numbers,
        result: entry
            .reading
            .map_or("–".to_owned(), |s| plain_complex(s, 4)),
    }
}

/// From the reading of a fixture back to the device.
pub fn back(entry: &FixtureReadout, reference: ReferenceImpedance) -> WorkedFormula {
    let numbers = entry.reading.map(|s| {
        // A wrapped line breaks at the fraction's bar, not inside a number.
        let number = |value: Complex64| plain_complex(value, 4).replace(' ', "\u{a0}");
        let one = Complex64::ONE;
        let z0 = |factor: f64| engineering(factor * reference.ohm(), "Ω", 3);
        match entry.fixture {
            Fixture::Reflect => {
                format!("{}·({}) / ({})", z0(1.0), number(one + s), number(one - s))
            }
            Fixture::ShuntThrough => format!("{}·({}) / ({})", z0(0.5), number(s), number(one - s)),
            Fixture::SeriesThrough => {
                format!("{}·({}) / ({})", z0(2.0), number(one - s), number(s))
            }
        }
    });
    WorkedFormula {
        symbols: inversion(entry.fixture),
        numbers,
        result: entry.got_back.map_or("–".to_owned(), |device| {
            device
                .impedance()
                .map_or("open".to_owned(), |z| complex_ohm(z, 5))
        }),
    }
}
