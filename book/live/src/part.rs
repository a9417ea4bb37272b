//! The part in the reader's hand.

use std::fmt;

use jigwise_bench::steer::{phase_rad, step_magnitude, step_phase, with_polar};
use jigwise_bench::{
    Bench, Device, DeviceError, FragmentError, Immittance, Scenario, ScenarioError, engineering,
    fixed,
};
use jigwise_exercises::{UnknownScenario, scenario};
use jigwise_page::{Calibrations, Grip, JunkBox, Scenarios};

/// Powers of ten of |Z| that a slider reaches, ohms.
const LOG_OHM: [f64; 2] = [-3.0, 6.0];

/// A scenario of the page, with its part where the reader moved it.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedPart {
    /// Which scenario of the page it stands for.
    name: String,
    printed: Scenario,
    now: Scenario,
    device: Immittance,
    calibrations: Calibrations,
}

/// Why a part can't be taken or moved.
#[derive(Debug, Clone, PartialEq)]
pub enum PartError {
    /// No such scenario.
    Unknown(UnknownScenario),
    /// The scenario is about an end of the scale, not about a part.
    IsAnEnd(String),
    /// The link.
    Fragment(FragmentError),
    /// What was typed.
    Device(DeviceError),
    /// The bench can't be computed with this part.
    Bench(ScenarioError),
    /// No figure of that kind, or a place that is no number.
    NoPlace,
}

impl std::error::Error for PartError {}

impl fmt::Display for PartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown(error) => error.fmt(f),
            Self::IsAnEnd(name) => write!(f, "\"{name}\" is no part; it stays as it is printed"),
            Self::Fragment(error) => error.fmt(f),
            Self::Device(error) => error.fmt(f),
            Self::Bench(error) => error.fmt(f),
            Self::NoPlace => f.write_str("there is no part at that place; move inside the figure"),
        }
    }
}

impl Scenarios for MovedPart {
    fn scenario(&self, name: &str) -> Result<Scenario, UnknownScenario> {
        match name == self.name {
            true => Ok(self.now.clone()),
            false => JunkBox.scenario(name),
        }
    }

    fn calibrations(&self, name: &str) -> Calibrations {
        match name == self.name {
            true => self.calibrations,
            false => Calibrations::default(),
        }
    }
}

impl MovedPart {
    /// The part of a scenario as it is printed.
    ///
    /// # Errors
    /// [`PartError::Unknown`], and [`PartError::IsAnEnd`] for an open or a short.
    pub fn of(name: &str) -> Result<Self, PartError> {
        let printed = scenario(name).map_err(PartError::Unknown)?;
        if matches!(printed.device, Device::Open | Device::Short) {
            return Err(PartError::IsAnEnd(name.to_owned()));
        }
        Ok(Self {
            name: name.to_owned(),
            device: device_of(&printed)?,
            now: printed.clone(),
            printed,
            calibrations: Calibrations::default(),
        })
    }

    /// The bench of a link, in place of the scenario `name`.
    ///
    /// # Errors
    /// [`PartError`].
    pub fn from_fragment(name: &str, fragment: &str) -> Result<Self, PartError> {
        let mut part = Self::of(name)?;
        let now = Scenario::from_fragment(fragment).map_err(PartError::Fragment)?;
        part.device = device_of(&now)?;
        part.now = now;
        Ok(part)
    }

    /// The bench as a fragment.
    ///
    /// # Errors
    /// [`FragmentError`].
    pub fn fragment(&self) -> Result<String, FragmentError> {
        self.now.to_fragment()
    }

    /// Puts the part back as it is printed.
    pub fn put_back(&mut self) {
        if let Ok(part) = Self::of(&self.name) {
            *self = part;
        }
    }

    /// Moves the part to where it was typed.
    ///
    /// # Errors
    /// [`PartError::Device`], or [`PartError::Bench`].
    pub fn type_part(&mut self, text: &str) -> Result<(), PartError> {
        let device = text.parse().map_err(PartError::Device)?;
        self.become_device(device)
    }

    /// Moves the part to a place of a figure.
    ///
    /// # Errors
    /// [`PartError::NoPlace`], or [`PartError::Bench`].
    pub fn drag(&mut self, grip: &str, at: [f64; 2]) -> Result<(), PartError> {
        let grip = Grip::of_key(grip).ok_or(PartError::NoPlace)?;
        if !at.iter().all(|length| length.is_finite()) {
            return Err(PartError::NoPlace);
        }
        self.move_to(grip.device_at(at, self.device, self.now.reference))
    }

    /// Moves |Z| by steps and the phase by degrees.
    ///
    /// # Errors
    /// [`PartError::NoPlace`], or [`PartError::Bench`].
    pub fn step(&mut self, steps: f64, degrees: f64) -> Result<(), PartError> {
        if !(steps.is_finite() && degrees.is_finite()) {
            return Err(PartError::NoPlace);
        }
        let moved = step_magnitude(self.device, self.now.reference, steps);
        self.move_to(step_phase(moved, degrees.to_radians()))
    }

    /// Moves |Z| to a power of ten in ohms and the phase to an angle.
    ///
    /// # Errors
    /// [`PartError::NoPlace`], or [`PartError::Bench`].
    pub fn set_polar(&mut self, log_ohm: f64, degrees: f64) -> Result<(), PartError> {
        if !(log_ohm.is_finite() && degrees.is_finite()) {
            return Err(PartError::NoPlace);
        }
        let log_ohm = log_ohm.clamp(LOG_OHM[0], LOG_OHM[1]);
        let angle_rad = degrees.clamp(-90.0, 90.0).to_radians();
        let device = with_polar(10f64.powf(log_ohm), angle_rad).ok_or(PartError::NoPlace)?;
        self.move_to(device)
    }

    fn move_to(&mut self, device: Immittance) -> Result<(), PartError> {
        let hz = self.now.readout_hz();
        // A coil that was turned into a bare value on the way is a coil again where it can be one.
        let kind = match self.now.device {
            Device::Part(_) => &self.now.device,
            _ => &self.printed.device,
        };
        self.become_device(kind.moved_to(device, hz))
    }

    fn become_device(&mut self, device: Device) -> Result<(), PartError> {
        let now = Scenario {
            device,
            ..self.now.clone()
        };
        self.device = device_of(&now)?;
        self.now = now;
        // The ticks were those of another part.
        self.calibrations.here = 0;
        Ok(())
    }

    /// Calibrates again, the part in place.
    pub fn calibrate_again(&mut self) {
        self.calibrations.in_force += 1;
        self.calibrations.here += 1;
    }

    /// True where the bench is not the printed one, or was calibrated again.
    pub fn is_moved(&self) -> bool {
        self.now != self.printed || self.calibrations != Calibrations::default()
    }

    /// The bench as it is now.
    pub fn scenario_now(&self) -> &Scenario {
        &self.now
    }

    /// What the scenario is about.
    pub fn title(&self) -> String {
        let title = self.printed.title.as_deref();
        title.unwrap_or(&self.name).to_owned()
    }

    /// The part in words.
    pub fn words(&self) -> String {
        self.now.device.to_string()
    }

    /// The part as it is printed, in words.
    pub fn printed_words(&self) -> String {
        self.printed.device.to_string()
    }

    /// |Z| in words.
    pub fn magnitude_words(&self) -> String {
        match self.device.impedance() {
            Some(z) => engineering(z.norm(), "Ω", 3),
            None => "open".to_owned(),
        }
    }

    /// The phase in words.
    pub fn phase_words(&self) -> String {
        format!("{}°", fixed(self.degrees(), 0))
    }

    /// The power of ten of |Z| in ohms, within what a slider reaches.
    pub fn log_ohm(&self) -> f64 {
        let ohm = self.device.impedance().map_or(f64::INFINITY, |z| z.norm());
        ohm.log10().clamp(LOG_OHM[0], LOG_OHM[1])
    }

    /// The phase in degrees; 0 for an open or a short.
    pub fn degrees(&self) -> f64 {
        phase_rad(self.device).unwrap_or(0.0).to_degrees()
    }
}

/// The device of a scenario at the frequency of its readout.
fn device_of(scenario: &Scenario) -> Result<Immittance, PartError> {
    let bench = Bench::new(scenario).map_err(PartError::Bench)?;
    Ok(bench.device())
}
