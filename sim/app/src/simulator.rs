use bevy::ecs::resource::Resource;
use jigwise_bench::{Scenario, ScenarioError};

use crate::face::FrameMemory;
use crate::{Desk, Teach, View};

/// The whole state of the window.
#[derive(Resource)]
pub struct Simulator {
    /// The physical question and its answer.
    pub desk: Desk,
    /// How the desk is looked at.
    pub view: View,
    /// The mode that teaches, and what was done so far.
    pub teach: Teach,
    /// What drawing keeps from one frame to the next.
    pub memory: FrameMemory,
}

impl Simulator {
    /// A simulator with a scenario on its desk, looked at in the usual way.
    ///
    /// # Errors
    /// [`ScenarioError`] where the scenario can't be computed.
    pub fn new(scenario: Scenario) -> Result<Self, ScenarioError> {
        Ok(Self {
            desk: Desk::new(scenario)?,
            view: View::default(),
            teach: Teach::default(),
            memory: FrameMemory::default(),
        })
    }
}
