use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::number::{omega, positive};
use crate::{Immittance, NumberError};

/// A quartz crystal as the Butterworth–Van Dyke circuit: R1, L1, C1 in series, C0 across them.
///
/// With ωs = 2π·fs and Δω = ω − ωs the motional reactance ωL1 − 1/(ωC1) is
/// L1·(2ωs·Δω + Δω²)/(ωs + Δω), which keeps its digits at a Q of 10⁵ and more.
///
/// Sources: IEC 60444-1 and -5 for quantities and circuit (scopes seen; formulas from memory and
/// recomputed). The check values are of fs 10 MHz, C1 20 fF, R1 10 Ω, C0 5 pF.
///
/// ```
/// use jigwise_physics::Crystal;
/// let crystal = Crystal {
///     series_resonance_hz: 10e6,
///     motional_capacitance_f: 20e-15,
///     motional_resistance_ohm: 10.0,
///     parallel_capacitance_f: 5e-12,
/// };
/// assert!((crystal.motional_inductance_h() - 12.665148e-3).abs() < 5e-10);
/// assert!((crystal.q() - 79_577.47).abs() < 0.005);
/// assert!((crystal.parallel_offset_hz() - 19_980.04).abs() < 0.005);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crystal {
    /// fs, Hz, above zero: where the motional reactance is zero.
    pub series_resonance_hz: f64,
    /// C1, F, above zero.
    pub motional_capacitance_f: f64,
    /// R1, Ω, above zero.
    pub motional_resistance_ohm: f64,
    /// C0, F, above zero.
    pub parallel_capacitance_f: f64,
}

/// The two frequencies where a crystal is a pure resistance, as offsets from fs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhaseFrequencies {
    /// fr − fs, Hz: resonance, small resistance. To first order fs·r/(2Q²).
    pub resonance_offset_hz: f64,
    /// fa − fs, Hz: antiresonance, large resistance.
    pub antiresonance_offset_hz: f64,
    /// Z at fa, Ω; about 1/(R1·ω²·C0²).
    pub antiresonance_ohm: f64,
}

impl Crystal {
    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a value that is not finite and above zero.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        self.check()?;
        omega(freq_hz)?;
        self.immittance_at_offset(freq_hz - self.series_resonance_hz)
    }

    /// The device at fs + `offset_hz`, where the difference of two frequencies would lose digits.
    ///
    /// # Errors
    /// [`NumberError`] for a value or a frequency that is not finite and above zero.
    pub fn immittance_at_offset(&self, offset_hz: f64) -> Result<Immittance, NumberError> {
        self.check()?;
        omega(self.series_resonance_hz + offset_hz)?;
        Immittance::from_admittance(self.admittance_s(TAU * offset_hz))
    }

    fn check(&self) -> Result<(), NumberError> {
        positive("series resonance in hertz", self.series_resonance_hz)?;
        positive(
            "motional capacitance in farads",
            self.motional_capacitance_f,
        )?;
        positive("motional resistance in ohms", self.motional_resistance_ohm)?;
        positive(
            "parallel capacitance in farads",
            self.parallel_capacitance_f,
        )?;
        Ok(())
    }

    fn omega_s(&self) -> f64 {
        TAU * self.series_resonance_hz
    }

    pub(crate) fn admittance_s(&self, delta: f64) -> Complex64 {
        let omega_s = self.omega_s();
        let omega = omega_s + delta;
        let x = self.motional_inductance_h() * delta * (2.0 * omega_s + delta) / omega;
        Complex64::new(self.motional_resistance_ohm, x).inv()
            + Complex64::new(0.0, omega * self.parallel_capacitance_f)
    }

    /// L1 = 1/(ωs²·C1), H.
    pub fn motional_inductance_h(&self) -> f64 {
        1.0 / (self.omega_s().powi(2) * self.motional_capacitance_f)
    }

    /// Q = ωs·L1/R1 = 1/(ωs·C1·R1).
    pub fn q(&self) -> f64 {
        1.0 / (self.omega_s() * self.motional_capacitance_f * self.motional_resistance_ohm)
    }

    /// r = C0/C1.
    pub fn capacitance_ratio(&self) -> f64 {
        self.parallel_capacitance_f / self.motional_capacitance_f
    }

    /// M = Q/r = 1/(ωs·C0·R1). The crystal is somewhere inductive only where M > 2.
    pub fn figure_of_merit(&self) -> f64 {
        self.q() / self.capacitance_ratio()
    }

    /// fp − fs with fp = fs·√(1 + C1/C0), Hz. C1/(2·C0) alone is a tenth of a per cent high.
    pub fn parallel_offset_hz(&self) -> f64 {
        let ratio = 1.0 / self.capacitance_ratio();
        self.series_resonance_hz * ratio / (1.0 + (1.0 + ratio).sqrt())
    }

    /// fp = fs·√(1 + C1/C0), Hz.
    pub fn parallel_resonance_hz(&self) -> f64 {
        self.series_resonance_hz + self.parallel_offset_hz()
    }

    /// The Δω at which the motional reactance is `x_ohm`: the small root of
    /// Δω² + (2ωs − X/L1)·Δω − ωs·X/L1 = 0.
    fn offset_of_reactance(&self, x_ohm: f64) -> f64 {
        let pull = x_ohm / self.motional_inductance_h();
        let b = 2.0 * self.omega_s() - pull;
        let c = pull * self.omega_s();
        2.0 * c / (b + (b * b + 4.0 * c).sqrt())
    }

    /// fr and fa, where Im Y = 0: X/(R1² + X²) = ωC0. `None` where there are none (M ≤ 2).
    pub fn phase_frequencies(&self) -> Option<PhaseFrequencies> {
        let r1 = self.motional_resistance_ohm;
        // ω on the right side moves by parts in 10³ at most, so a few rounds settle it.
        let settle = |is_upper: bool| {
            let mut delta = 0.0;
            for _ in 0..40 {
                let b0 = (self.omega_s() + delta) * self.parallel_capacitance_f;
                let root = (1.0 - (2.0 * b0 * r1).powi(2)).sqrt();
                let x = if is_upper {
                    (1.0 + root) / (2.0 * b0)
                } else {
                    2.0 * b0 * r1 * r1 / (1.0 + root)
                };
                delta = self.offset_of_reactance(x);
            }
            delta.is_finite().then_some(delta)
        };
        let (lower, upper) = (settle(false)?, settle(true)?);
        Some(PhaseFrequencies {
            resonance_offset_hz: lower / TAU,
            antiresonance_offset_hz: upper / TAU,
            antiresonance_ohm: 1.0 / self.admittance_s(upper).re,
        })
    }

    /// (R1 + R)/(2π·L1), the 3 dB width with `external_ohm` = R in the loop, Hz: 0 for the
    /// crystal alone, 2·Z0 in the series-through fixture, 25 Ω in the π-network of IEC 60444-1.
    pub fn width_hz(&self, external_ohm: f64) -> f64 {
        (self.motional_resistance_ohm + external_ohm) / (TAU * self.motional_inductance_h())
    }
}
