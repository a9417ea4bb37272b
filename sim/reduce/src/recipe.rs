//! How a sweep is turned into ohms: standards, blanks, plane, instrument.

use std::sync::Arc;

use jigwise_bench::Blank;
use jigwise_physics::{Bands, Fixture, Port, PortExtension, ReflectionStandard, Strays};
use jigwise_touchstone::Sweep;

use crate::{Beside, ReduceError, StandardSweeps};

/// How a sweep is turned into ohms. The default takes the file as corrected at the part.
#[derive(Debug, Clone, Default)]
pub struct Recipe {
    /// The port at which the part of a reflect fixture hangs, where a sweep has two.
    pub port: Port,
    /// Raw sweeps of standards; the part's file is raw then, and so are the blanks. Several
    /// recipes may share them.
    pub standards: Option<Arc<StandardSweeps>>,
    /// How far the planes are moved towards the part, port 1 first.
    pub extension: [PortExtension; 2],
    /// The fixture without the part, in the order of [`Blank::of`]; empty where nothing is to be
    /// taken off.
    pub blanks: Vec<Sweep>,
    /// Share of what the blanks take away that is left as uncertainty (k = 1).
    pub blank_share: f64,
    /// What the fixture may add, each stray at full size as an rms of unknown sign, where no blank
    /// takes it off and a budget is known.
    pub strays: Option<Strays>,
    /// The instrument's error budget by band, where uncertainty is asked for.
    pub budget: Option<Bands>,
}

impl Recipe {
    /// Checks that everything beside the part was measured on the same reference, with enough
    /// ports.
    pub(crate) fn check(&self, part: &Sweep, fixture: Fixture) -> Result<(), ReduceError> {
        if let Some(what) = self.missing_at_port(fixture) {
            return Err(ReduceError::NotAtPort { what });
        }
        if let Some(budget) = &self.budget
            && let Some(&freq_hz) = part.frequency_hz().last()
            && budget.at(freq_hz).is_none()
        {
            return Err(ReduceError::AboveBands { freq_hz });
        }
        let blanks = Blank::of(fixture);
        if !self.blanks.is_empty() && self.blanks.len() != blanks.len() {
            return Err(ReduceError::Blanks {
                fixture,
                found: self.blanks.len(),
            });
        }
        let standards = self
            .standards
            .iter()
            .flat_map(|standards| standards.sweeps());
        let blanks = blanks.iter().copied().map(Beside::Blank).zip(&self.blanks);
        for (what, sweep) in standards.chain(blanks) {
            if sweep.ports() < what.ports() {
                return Err(ReduceError::TooFewPorts { what });
            }
            if sweep.reference_ohm() != part.reference_ohm() {
                return Err(ReduceError::OtherReference {
                    what,
                    found_ohm: sweep.reference_ohm(),
                    expected_ohm: part.reference_ohm(),
                });
            }
        }
        Ok(())
    }

    /// A standard that was measured at the other port alone.
    fn missing_at_port(&self, fixture: Fixture) -> Option<Beside> {
        if fixture != Fixture::Reflect || self.port == Port::One {
            return None;
        }
        let standards = self.standards.as_ref()?;
        let [one, two] = &standards.reflections;
        ReflectionStandard::ALL
            .into_iter()
            .find(|of| of.of(one).is_some() && of.of(two).is_none())
            .map(|of| Beside::Standard(of, self.port))
    }
}
