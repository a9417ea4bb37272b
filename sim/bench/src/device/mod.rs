//! Devices as a person names them.

mod error;
mod table;
mod typed;
mod words;

use jigwise_physics::{Capacitor, Complex64, Immittance, Inductor, Part, Resistor};

pub use self::error::DeviceError;
pub use self::table::ImpedanceTable;
pub(crate) use self::typed::fixed_text;
pub use self::typed::parse_reading;

/// A part of the junk box.
///
/// ```
/// use jigwise_bench::Device;
///
/// let coil: Device = "2u2H".parse()?;
/// assert_eq!(coil, Device::inductor(2.2e-6));
/// assert_eq!(coil.to_string(), "coil of 2.200\u{202f}µH");
/// # Ok::<(), jigwise_bench::DeviceError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub enum Device {
    /// R + jX in Ω, the same at every frequency. R below zero is an active part.
    Fixed(Complex64),
    /// Nothing connected.
    Open,
    /// A perfect link.
    Short,
    /// A part by its model, ideal or with parasitics.
    Part(Part),
    /// A part known by its impedance at some frequencies.
    Table(ImpedanceTable),
}

impl From<Part> for Device {
    fn from(part: Part) -> Self {
        Self::Part(part)
    }
}

impl Device {
    /// An ideal resistor. No part has zero ohms or fewer: those are a fixed value.
    ///
    /// ```
    /// use jigwise_bench::{Complex64, Device};
    ///
    /// assert_eq!(Device::resistor(4_700.0).fixed_ohm(), Some(Complex64::new(4_700.0, 0.0)));
    /// assert_eq!(Device::resistor(-50.0), Device::Fixed(Complex64::new(-50.0, 0.0)));
    /// ```
    pub fn resistor(ohm: f64) -> Self {
        if ohm > 0.0 {
            Self::Part(Resistor::ideal(ohm).into())
        } else {
            Self::Fixed(Complex64::new(ohm, 0.0))
        }
    }

    /// An ideal coil.
    pub fn inductor(henry: f64) -> Self {
        Self::Part(Inductor::ideal(henry).into())
    }

    /// An ideal capacitor.
    pub fn capacitor(farad: f64) -> Self {
        Self::Part(Capacitor::ideal(farad).into())
    }

    /// The impedance in Ω, where it is the same at every frequency: of a fixed value and an ideal
    /// resistor.
    pub fn fixed_ohm(&self) -> Option<Complex64> {
        match self {
            Self::Fixed(ohm) => Some(*ohm),
            Self::Part(Part::Resistor(p)) if p.is_ideal() => {
                Some(Complex64::new(p.resistance_ohm, 0.0))
            }
            _ => None,
        }
    }

    /// The impedance at a frequency in hertz, which all but fixed values, ideal resistors, opens
    /// and shorts need.
    ///
    /// # Errors
    /// [`DeviceError::NeedsFrequency`], or [`DeviceError::Number`] for a frequency that is not
    /// above zero or a value beyond the range of doubles.
    pub fn immittance(&self, freq_hz: Option<f64>) -> Result<Immittance, DeviceError> {
        if let Some(ohm) = self.fixed_ohm() {
            return Ok(Immittance::from_impedance(ohm)?);
        }
        let needed = || freq_hz.ok_or(DeviceError::NeedsFrequency);
        Ok(match self {
            Self::Fixed(ohm) => Immittance::from_impedance(*ohm)?,
            Self::Part(part) => part.immittance(needed()?)?,
            Self::Table(table) => table.immittance(needed()?)?,
            Self::Open => Immittance::OPEN,
            Self::Short => Immittance::SHORT,
        })
    }
}
