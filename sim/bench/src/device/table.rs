//! A device known by its impedance at some frequencies.

use std::sync::Arc;

use jigwise_physics::{Complex64, Immittance};

use super::DeviceError;

/// Impedance against frequency, as measured or computed elsewhere. Between its points R and X
/// run straight.
#[derive(Debug, Clone, PartialEq)]
pub struct ImpedanceTable {
    freq_hz: Arc<[f64]>,
    z_ohm: Arc<[Complex64]>,
}

impl ImpedanceTable {
    /// A table of impedances in ohms at rising frequencies in hertz.
    ///
    /// # Errors
    /// [`DeviceError::Table`] for no point, columns of different length, or frequencies that do
    /// not rise; [`DeviceError::Number`] for a value that is not finite.
    pub fn new(freq_hz: Vec<f64>, z_ohm: Vec<Complex64>) -> Result<Self, DeviceError> {
        if freq_hz.is_empty() || freq_hz.len() != z_ohm.len() {
            return Err(DeviceError::Table(
                "expected at least one frequency, with one impedance for each",
            ));
        }
        if freq_hz.iter().any(|f| !f.is_finite() || *f <= 0.0)
            || !freq_hz.is_sorted_by(|a, b| a < b)
        {
            return Err(DeviceError::Table(
                "frequencies must be above zero and rise from one point to the next",
            ));
        }
        for z in &z_ohm {
            Immittance::from_impedance(*z)?;
        }
        Ok(Self {
            freq_hz: freq_hz.into(),
            z_ohm: z_ohm.into(),
        })
    }

    /// The frequencies, Hz, rising.
    pub fn freq_hz(&self) -> &[f64] {
        &self.freq_hz
    }

    /// The impedances, Ω, one for each frequency.
    pub fn z_ohm(&self) -> &[Complex64] {
        &self.z_ohm
    }

    /// The lowest frequency, Hz.
    pub(super) fn first_hz(&self) -> f64 {
        self.freq_hz[0]
    }

    /// The highest frequency, Hz.
    pub(super) fn last_hz(&self) -> f64 {
        self.freq_hz[self.freq_hz.len() - 1]
    }

    pub(super) fn immittance(&self, freq_hz: f64) -> Result<Immittance, DeviceError> {
        let (first, last) = (self.first_hz(), self.last_hz());
        if !(first..=last).contains(&freq_hz) {
            return Err(DeviceError::OutsideTable {
                freq_hz,
                first_hz: first,
                last_hz: last,
            });
        }
        let above = self.freq_hz.partition_point(|f| *f < freq_hz);
        let z = if self.freq_hz[above] == freq_hz {
            self.z_ohm[above]
        } else {
            let (low, high) = (self.freq_hz[above - 1], self.freq_hz[above]);
            let share = (freq_hz - low) / (high - low);
            self.z_ohm[above - 1] * (1.0 - share) + self.z_ohm[above] * share
        };
        Ok(Immittance::from_impedance(z)?)
    }
}
