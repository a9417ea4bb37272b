//! What is known to lie between the ohms of a reading and the part.

use std::f64::consts::TAU;

use jigwise_bench::quotes::load_ohm;
use jigwise_bench::{
    Complex64, Device, Fixture, Immittance, Part, ReferenceImpedance, Scenario, Strays,
};

/// One thing that makes the ohms of a reading other than the part's.
pub(crate) enum Surround {
    /// Strays of the fixture.
    Strays {
        strays: Strays,
        freq_hz: f64,
        reference: ReferenceImpedance,
    },
    /// A load taken for ideal: everything is read too small by Z0/load.
    Scale(f64),
    /// Susceptance across the part, S.
    Across(f64),
}

impl Surround {
    /// `None` where the reading says what the part is.
    pub(crate) fn of(scenario: &Scenario) -> Option<Self> {
        let reference = scenario.reference;
        if scenario.fixtures.strays != Strays::NONE && !scenario.fixtures.removed {
            return Some(Self::Strays {
                strays: scenario.fixtures.strays,
                freq_hz: scenario.readout_hz()?,
                reference,
            });
        }
        if let Some(plan) = &scenario.calibration
            && plan.taken_for_ideal.load
        {
            return Some(Self::Scale(reference.ohm() / load_ohm(plan)?));
        }
        match scenario.device {
            Device::Part(Part::Inductor(part)) if part.parallel_capacitance_f > 0.0 => Some(
                Self::Across(TAU * scenario.readout_hz()? * part.parallel_capacitance_f),
            ),
            _ => None,
        }
    }

    /// The part, from what the fixture's formula makes of the reading.
    pub(crate) fn taken_off(&self, fixture: Fixture, back: Immittance) -> Option<Immittance> {
        match self {
            Self::Strays {
                strays,
                freq_hz,
                reference,
            } => {
                let reading = fixture.reading(back, *reference);
                let found = strays.part(fixture, reading, *freq_hz, *reference).ok()?;
                Some(found.part)
            }
            Self::Scale(factor) => scaled(back, 1.0 / factor),
            Self::Across(siemens) => beside(back, -siemens),
        }
    }

    /// What the fixture's formula would make of a reading of `back`, had it this around it.
    pub(crate) fn put_around(&self, fixture: Fixture, back: Immittance) -> Option<Immittance> {
        match self {
            Self::Strays {
                strays,
                freq_hz,
                reference,
            } => {
                let reading = strays.reading(fixture, back, *freq_hz, *reference).ok()?;
                fixture.immittance(reading.value()?, *reference).ok()
            }
            Self::Scale(factor) => scaled(back, *factor),
            Self::Across(siemens) => beside(back, *siemens),
        }
    }
}

fn scaled(device: Immittance, factor: f64) -> Option<Immittance> {
    Immittance::from_pair(device.v() * factor, device.i()).ok()
}

/// With a susceptance across it.
fn beside(device: Immittance, siemens: f64) -> Option<Immittance> {
    let i = device.i() + device.v() * Complex64::new(0.0, siemens);
    Immittance::from_pair(device.v(), i).ok()
}
