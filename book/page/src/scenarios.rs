//! Where scenarios come from: those of the junk box, or one of them with its part moved.

use jigwise_bench::Scenario;
use jigwise_exercises::UnknownScenario;

/// Scenarios by name. A page whose part can be moved gives the moved one.
pub trait Scenarios {
    /// The scenario of a name.
    ///
    /// # Errors
    /// [`UnknownScenario`], which names the nearest.
    fn scenario(&self, name: &str) -> Result<Scenario, UnknownScenario>;

    /// The calibrations that were made with the part of a scenario in place; none where nobody
    /// asked for one.
    fn calibrations(&self, name: &str) -> Calibrations {
        let _ = name;
        Calibrations::default()
    }
}

/// Calibrations made one after the other, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Calibrations {
    /// The number of the one in force; 0 is a perfect one.
    pub in_force: u64,
    /// How many were made since the part came to where it is. The last of them is the one in
    /// force.
    pub here: u64,
}

/// The scenarios as they are shipped.
pub struct JunkBox;

impl Scenarios for JunkBox {
    fn scenario(&self, name: &str) -> Result<Scenario, UnknownScenario> {
        jigwise_exercises::scenario(name)
    }
}
