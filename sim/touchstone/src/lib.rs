//! The open file standard for S-parameter sweeps, Touchstone, as far as a one- or two-port
//! analyzer writes it: version 1 and 1.1, parameters S, Y, Z, H, G in any of the three number
//! formats, comments, wrapped records and noise data.
//!
//! Source: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum, 2002), with the
//! option line's one reference per port from version 2.1. Not read yet: version 2 keywords,
//! more than two ports, different references on the two ports. Each is refused in words.
//!
//! ```
//! let text = "! a coil\n# MHz S RI R 50\n7.1 0.6 -0.8 ! first\n14.2 0.7 -0.7\n";
//! let sweep = jigwise_touchstone::read_text(text.as_bytes(), "coil.s1p")?;
//! assert_eq!(sweep.frequency_hz(), [7.1e6, 14.2e6]);
//! assert_eq!(sweep.s(0, 1, 1).im, -0.8);
//! # Ok::<(), jigwise_touchstone::TouchstoneError>(())
//! ```

mod error;
mod lines;
mod option_line;
mod parameter;
mod read;

pub use error::{Problem, TouchstoneError};
pub use num_complex::Complex64;
pub use read::{read_file, read_text};

/// A sweep as S-parameters over frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    ports: usize,
    reference_ohm: f64,
    frequency_hz: Vec<f64>,
    s: Vec<Complex64>,
    noise: Vec<NoisePoint>,
}

/// One line of a two-port file's noise data.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoisePoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Least noise figure, dB.
    pub least_figure_db: f64,
    /// Source reflection coefficient at which it is reached.
    pub source_reflection: Complex64,
    /// Effective noise resistance, Ω.
    pub resistance_ohm: f64,
}

impl Sweep {
    /// Number of ports, 1 or 2.
    pub fn ports(&self) -> usize {
        self.ports
    }

    /// The reference impedance of every port, Ω; finite and above zero.
    pub fn reference_ohm(&self) -> f64 {
        self.reference_ohm
    }

    /// Number of frequencies, at least one.
    #[expect(
        clippy::len_without_is_empty,
        reason = "a sweep has at least one point"
    )]
    pub fn len(&self) -> usize {
        self.frequency_hz.len()
    }

    /// The frequencies in hertz, strictly rising.
    pub fn frequency_hz(&self) -> &[f64] {
        &self.frequency_hz
    }

    /// S_to,from at point `index` (from 0), ports counted from 1 as in S21.
    ///
    /// # Panics
    /// Where the point or the port does not exist.
    pub fn s(&self, index: usize, to_port: usize, from_port: usize) -> Complex64 {
        assert!(
            (1..=self.ports).contains(&to_port) && (1..=self.ports).contains(&from_port),
            "no S{to_port}{from_port} in a sweep of {} ports",
            self.ports
        );
        let cell = (to_port - 1) * self.ports + (from_port - 1);
        self.s[index * self.ports * self.ports + cell]
    }

    /// The noise data of a two-port file; empty where there are none.
    pub fn noise(&self) -> &[NoisePoint] {
        &self.noise
    }
}
