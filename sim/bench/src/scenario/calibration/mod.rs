//! How an analyzer was calibrated.

mod read;
mod write;

use jigwise_physics::{
    CalibrationStep, Complex64, Connection, Definitions, Fixture, Kit, Method, NumberError, Piece,
    Port, ReferenceImpedance, ReflectionStandard, Standard, ThroughStandard, Trio,
};

use crate::device::{Device, DeviceError};

pub(super) use self::read::calibration;
pub use self::read::{OFFSET_KEYS, offset_line, standard_keys, standard_of};
pub(crate) use self::write::calibration_file;
pub(super) use self::write::calibration_table;

/// How the analyzer was calibrated, and with what.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationPlan {
    /// What is made of the raw readings.
    pub method: Method,
    /// Which of the invented front ends the analyzer has; `None` where that is not known: it is
    /// drawn for the instrument then, or the first one where there is no instrument.
    pub front_end: Option<u64>,
    /// The standards as they are.
    pub standards: Kit,
    /// Standards that the calibration takes for ideal, whatever they are.
    pub taken_for_ideal: Trio<bool>,
    /// True where it takes the through for a flush connection, whatever it is.
    pub through_taken_for_flush: bool,
    /// What was connected by mistake where a standard was asked for.
    pub instead: Trio<Option<Device>>,
    /// What was not measured.
    pub skipped: Skipped,
}

/// The pieces of a calibration that were left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Skipped {
    /// The reflection standards, at both ports.
    pub reflections: Trio<bool>,
    /// The through.
    pub through: bool,
    /// The isolation.
    pub isolation: bool,
}

impl Skipped {
    /// True where a step was left out.
    pub const fn has(&self, step: CalibrationStep) -> bool {
        match step {
            CalibrationStep::Reflection(standard) => *standard.of(&self.reflections),
            CalibrationStep::Through => self.through,
            CalibrationStep::Isolation => self.isolation,
        }
    }

    /// Whether a step was left out, to be changed.
    pub const fn has_mut(&mut self, step: CalibrationStep) -> &mut bool {
        match step {
            CalibrationStep::Reflection(standard) => standard.of_mut(&mut self.reflections),
            CalibrationStep::Through => &mut self.through,
            CalibrationStep::Isolation => &mut self.isolation,
        }
    }

    /// The names of the steps that were left out.
    pub fn names(&self) -> Vec<&'static str> {
        CalibrationStep::ALL
            .into_iter()
            .filter(|step| self.has(*step))
            .map(CalibrationStep::name)
            .collect()
    }
}

impl CalibrationPlan {
    /// A calibration by `method` with ideal standards, nothing skipped.
    pub fn new(method: Method, reference: ReferenceImpedance) -> Self {
        Self {
            method,
            front_end: None,
            standards: ideal_kit(reference),
            taken_for_ideal: Trio::default(),
            through_taken_for_flush: false,
            instead: Trio::default(),
            skipped: Skipped::default(),
        }
    }

    /// What the standards are at a frequency.
    ///
    /// # Errors
    /// [`NumberError`] for a figure of a standard outside what physics takes.
    pub fn truth(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Definitions, NumberError> {
        Definitions::of(&self.standards, freq_hz, reference)
    }

    /// What the calibration takes them for.
    ///
    /// # Errors
    /// As [`CalibrationPlan::truth`].
    pub fn taken_for(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Definitions, NumberError> {
        let ideal = ideal_kit(reference);
        let reflections = Trio::from_fn(|standard| {
            let is = match standard.of(&self.taken_for_ideal) {
                true => &ideal,
                false => &self.standards,
            };
            *standard.of(&is.reflections)
        });
        let kit = Kit {
            reflections,
            through: if self.through_taken_for_flush {
                ThroughStandard::FLUSH
            } else {
                self.standards.through
            },
        };
        Definitions::of(&kit, freq_hz, reference)
    }

    /// What went otherwise than asked for, at a frequency.
    ///
    /// # Errors
    /// [`DeviceError`] for a device connected by mistake that has no impedance there.
    pub fn slips(
        &self,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Vec<Connection>, DeviceError> {
        let mut slips = Vec::new();
        for standard in ReflectionStandard::ALL {
            for port in Port::ALL {
                let piece = Piece::Reflection(standard, port);
                if let Some(device) = standard.of(&self.instead) {
                    let gamma = Fixture::Reflect
                        .reading(device.immittance(Some(freq_hz))?, reference)
                        .value()
                        .unwrap_or(Complex64::ONE);
                    slips.push(Connection::OtherReflection(piece, gamma));
                }
                if *standard.of(&self.skipped.reflections) {
                    slips.push(Connection::Skipped(piece));
                }
            }
        }
        if self.skipped.through {
            slips.push(Connection::Skipped(Piece::Through));
        }
        if self.skipped.isolation {
            slips.push(Connection::Skipped(Piece::Isolation));
        }
        Ok(slips)
    }
}

/// Ideal standards, the load that of the reference.
pub fn ideal_kit(reference: ReferenceImpedance) -> Kit {
    Kit {
        reflections: Trio {
            load: Standard::load(reference.ohm()),
            ..Kit::IDEAL.reflections
        },
        ..Kit::IDEAL
    }
}

/// The methods by their names in files and commands.
pub const METHODS: [(&str, Method); Method::ALL.len()] = {
    let mut named = [("", Method::Raw); Method::ALL.len()];
    let mut at = 0;
    while at < named.len() {
        named[at] = (Method::ALL[at].name(), Method::ALL[at]);
        at += 1;
    }
    named
};
