//! Moving a reference plane along a matched line: one delay and one loss per port.
//!
//! A wave that went to the part and back over γl comes back as Γ·e^(−2γl), so the part's Γ is
//! the reading times e^(+2γl); S21 takes e^(γ1·l1 + γ2·l2). Exact where the line's
//! characteristic impedance is the reference; any other arm needs [`crate::Strays`].
//!
//! Source: D. M. Pozar, Microwave Engineering, 4th ed., on a shift of reference planes (cited
//! from memory).

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use num_complex::Complex64;

use crate::network::line::frequency;
use crate::number::{EntryError, NEPER_PER_DB, within};
use crate::{Line, Scattering};

const DELAY_S: f64 = 1e-5;

/// How far a port's plane is moved towards the part.
///
/// ```
/// use jigwise_physics::{Complex64, Line, PortExtension};
///
/// let arm = Line { length_m: 0.05, velocity_factor: 0.7, ..Line::NONE };
/// let extension = PortExtension::of(&arm)?;
/// // A short at the end of the arm.
/// let turn = Complex64::from_polar(1.0, -2.0 * arm.exponent(300e6)?.im);
/// let found = extension.reflection(-turn, 300e6)?;
/// assert!((found + 1.0).norm() < 1e-14);
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PortExtension {
    /// Time from the plane to the part, s; −1e-5 to 1e-5.
    pub one_way_delay_s: f64,
    /// Conductor loss to the part at 1 GHz, dB; 0 to 300. Grows with √f.
    pub conductor_db_at_1ghz: f64,
    /// Dielectric loss to the part at 1 GHz, dB; 0 to 300. Grows with f.
    pub dielectric_db_at_1ghz: f64,
}

impl PortExtension {
    /// The extension that removes a line whose characteristic impedance is the reference.
    ///
    /// # Errors
    /// [`EntryError`] for an entry of the line outside its range.
    pub fn of(line: &Line) -> Result<Self, EntryError> {
        Ok(Self {
            one_way_delay_s: line.one_way_delay_s()?,
            conductor_db_at_1ghz: line.conductor_db_per_m_at_1ghz * line.length_m,
            dielectric_db_at_1ghz: line.dielectric_db_per_m_at_1ghz * line.length_m,
        })
    }

    /// γ·l: loss in nepers, phase in radians.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn exponent(&self, freq_hz: f64) -> Result<Complex64, EntryError> {
        let ghz = frequency(freq_hz)? / 1e9;
        let delay_s = within(
            "delay of a port",
            self.one_way_delay_s,
            -DELAY_S,
            DELAY_S,
            "s",
        )?;
        let loss = |entry, db| within(entry, db, 0.0, 300.0, "dB");
        let conductor = loss("conductor loss at 1 GHz", self.conductor_db_at_1ghz)?;
        let dielectric = loss("dielectric loss at 1 GHz", self.dielectric_db_at_1ghz)?;
        let db = loss("loss of a port", conductor * ghz.sqrt() + dielectric * ghz)?;
        Ok(Complex64::new(db * NEPER_PER_DB, TAU * freq_hz * delay_s))
    }

    /// Γ at the part from Γ at the plane: times e^(2γl).
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn reflection(&self, gamma: Complex64, freq_hz: f64) -> Result<Complex64, EntryError> {
        Ok(gamma * (self.exponent(freq_hz)? * 2.0).exp())
    }

    /// All four parameters at the part from those at the planes.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn scattering(
        measured: &Scattering,
        port_1: &Self,
        port_2: &Self,
        freq_hz: f64,
    ) -> Result<Scattering, EntryError> {
        let (first, second) = (port_1.exponent(freq_hz)?, port_2.exponent(freq_hz)?);
        let through = (first + second).exp();
        Ok(Scattering {
            s11: measured.s11 * (first * 2.0).exp(),
            s12: measured.s12 * through,
            s21: measured.s21 * through,
            s22: measured.s22 * (second * 2.0).exp(),
        })
    }

    /// The extension from a sweep of `blank` at the part: phase fitted by a straight line over
    /// frequency, loss by the √f law.
    ///
    /// `longest_delay_s` is the longest one-way delay that the arm can have. A turn of 180° or
    /// more from one point to the next can't be told from a smaller one, so a sweep too coarse
    /// for that delay is refused. The blank's own stray counts as length: an open of capacitance
    /// C adds Z0·C to the delay, a short of inductance L adds L/Z0.
    ///
    /// # Errors
    /// [`DelayError`], which says what to measure instead.
    ///
    /// ```
    /// use jigwise_physics::{Complex64, PlaneBlank, PortExtension};
    ///
    /// let arm = |freq_hz: f64| Complex64::from_polar(1.0, -2.0 * 6.28318531 * freq_hz * 1e-9);
    /// let sweep: Vec<_> = (0..=40).map(|k| 1e7 * f64::from(k)).map(|f| (f, arm(f))).collect();
    /// let found = PortExtension::from_blank(PlaneBlank::Open, &sweep, 2e-9)?;
    /// assert!((found.extension.one_way_delay_s - 1e-9).abs() < 1e-17);
    ///
    /// let few: Vec<_> = sweep.iter().copied().step_by(20).collect();
    /// let coarse = PortExtension::from_blank(PlaneBlank::Open, &few, 2e-9).unwrap_err();
    /// assert!(coarse.to_string().contains("at least 5 evenly spaced points"), "{coarse}");
    /// # Ok::<(), jigwise_physics::DelayError>(())
    /// ```
    pub fn from_blank(
        blank: PlaneBlank,
        sweep: &[(f64, Complex64)],
        longest_delay_s: f64,
    ) -> Result<DelayEstimate, DelayError> {
        checked_sweep(sweep, longest_delay_s)?;
        let ideal = match blank {
            PlaneBlank::Open => Complex64::ONE,
            PlaneBlank::Short => -Complex64::ONE,
        };
        let fit = PhaseFit::of(sweep, ideal);
        let slope_to_delay = -1.0 / (2.0 * TAU);
        let delay_s = fit.slope * slope_to_delay;
        let delay_uncertainty_s = fit.slope_uncertainty * -slope_to_delay;
        let slack = 3.0 * delay_uncertainty_s + 1e-3 * longest_delay_s;
        if !(-slack..=longest_delay_s + slack).contains(&delay_s) {
            return Err(DelayError::OutOfRange {
                delay_s,
                longest_s: longest_delay_s,
            });
        }
        let offset = fit.at_zero - TAU * (fit.at_zero / TAU).round();
        if offset.abs() > FRAC_PI_2 && fit.at_zero_uncertainty < PI / 6.0 {
            return Err(DelayError::OtherBlank {
                expected: blank,
                offset_degrees: offset.to_degrees(),
            });
        }
        let (mut losses, mut weights) = (0.0, 0.0);
        for (freq_hz, gamma) in sweep {
            let root_ghz = (freq_hz / 1e9).sqrt();
            losses += root_ghz * -10.0 * gamma.norm().log10();
            weights += root_ghz * root_ghz;
        }
        Ok(DelayEstimate {
            extension: Self {
                one_way_delay_s: delay_s,
                conductor_db_at_1ghz: (losses / weights).max(0.0),
                dielectric_db_at_1ghz: 0.0,
            },
            delay_uncertainty_s,
            offset_degrees: offset.to_degrees(),
            rms_degrees: fit.rms.to_degrees(),
        })
    }
}

/// What was put in place of the part to find the plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaneBlank {
    /// Γ = +1 at the part.
    Open,
    /// Γ = −1 at the part.
    Short,
}

impl PlaneBlank {
    fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Short => "short",
        }
    }
}

/// An extension found from a blank, and how well a straight line fits it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DelayEstimate {
    /// The extension. Its loss is not below zero, whatever the noise.
    pub extension: PortExtension,
    /// Standard uncertainty of the one-way delay from the scatter of the phase alone, s.
    pub delay_uncertainty_s: f64,
    /// Phase of the blank that the line through the sweep leaves at 0 Hz, −180° to 180°. Far from
    /// zero: the arm is no plain line.
    pub offset_degrees: f64,
    /// rms distance of the phase from the line.
    pub rms_degrees: f64,
}

/// A sweep of a blank that gives no delay.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum DelayError {
    /// Fewer than three points.
    TooFewPoints {
        /// Points given.
        points: usize,
    },
    /// A frequency outside 0 to 1 THz, not above the one before it, or a reflection that is
    /// zero or not finite.
    BadPoint {
        /// Place in the sweep, from 0.
        index: usize,
        /// Its frequency.
        freq_hz: f64,
    },
    /// The longest delay is not a number from 0 to 10 µs, zero left out.
    BadLongest {
        /// The value given.
        longest_s: f64,
    },
    /// The longest arm turns the reflection by 180° or more between two points.
    TooCoarse {
        /// Turn between the two points furthest apart.
        step_degrees: f64,
        /// Points, evenly spaced, that the span needs.
        points_needed: f64,
        /// Points given.
        points: usize,
        /// Span that the points given, evenly spaced, must stay below.
        span_hz: f64,
    },
    /// The delay found is below zero or above the longest.
    OutOfRange {
        /// The delay found.
        delay_s: f64,
        /// The longest delay allowed for.
        longest_s: f64,
    },
    /// The phase at 0 Hz is that of the other blank.
    OtherBlank {
        /// The blank that was named.
        expected: PlaneBlank,
        /// Its phase, extrapolated to 0 Hz.
        offset_degrees: f64,
    },
}

impl std::fmt::Display for DelayError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match *self {
            Self::TooFewPoints { points } => write!(
                f,
                "the sweep has {points} points: measure at least 3 to fit a delay"
            ),
            Self::BadPoint { index, freq_hz } => write!(
                f,
                "point {} of the sweep, at {freq_hz} Hz, can't be used: give frequencies that \
                 rise from 0 to 1 THz and a finite reflection that is not zero",
                index + 1
            ),
            Self::BadLongest { longest_s } => write!(
                f,
                "the longest delay of the arm is {longest_s} s: give a number above zero and \
                 not above {DELAY_S} s"
            ),
            Self::TooCoarse {
                step_degrees,
                points_needed,
                points,
                span_hz,
            } => write!(
                f,
                "an arm as long as allowed turns the reflection by {step_degrees:.0}° from one \
                 point to the next, and 180° or more can't be told from less: measure at least \
                 {points_needed:.0} evenly spaced points over this span, or {points} over less \
                 than {:.4} MHz",
                span_hz / 1e6
            ),
            Self::OutOfRange { delay_s, longest_s } => write!(
                f,
                "the sweep gives a delay of {:.2} ps, outside 0 to {:.2} ps: the arm is longer \
                 than allowed for, or the blank is not at its end; allow for a longer arm and \
                 measure closer points",
                delay_s * 1e12,
                longest_s * 1e12
            ),
            Self::OtherBlank {
                expected,
                offset_degrees,
            } => {
                let expected = expected.word();
                write!(
                    f,
                    "the phase at 0 Hz is {offset_degrees:.0}° from that of the {expected} it is \
                     said to be: put an {expected} in place of the part, or name the blank that \
                     was measured"
                )
            }
        }
    }
}

impl std::error::Error for DelayError {}

fn checked_sweep(sweep: &[(f64, Complex64)], longest_s: f64) -> Result<(), DelayError> {
    let points = sweep.len();
    if points < 3 {
        return Err(DelayError::TooFewPoints { points });
    }
    let mut last = -1.0;
    for (index, (freq_hz, gamma)) in sweep.iter().enumerate() {
        let size = gamma.norm();
        let usable = frequency(*freq_hz).is_ok() && *freq_hz > last && size.is_normal();
        if !usable {
            return Err(DelayError::BadPoint {
                index,
                freq_hz: *freq_hz,
            });
        }
        last = *freq_hz;
    }
    if !(longest_s > 0.0 && longest_s <= DELAY_S) {
        return Err(DelayError::BadLongest { longest_s });
    }
    let widest_hz = sweep
        .windows(2)
        .map(|pair| pair[1].0 - pair[0].0)
        .fold(0.0, f64::max);
    // There and back: 2·2π·Δf·τ. Half a turn at Δf = 1/(4τ).
    let step = 2.0 * TAU * widest_hz * longest_s;
    if step >= PI {
        let span_hz = last - sweep[0].0;
        return Err(DelayError::TooCoarse {
            step_degrees: step.to_degrees(),
            points_needed: (span_hz * 4.0 * longest_s).floor() + 2.0,
            points,
            span_hz: (points - 1) as f64 / (4.0 * longest_s),
        });
    }
    Ok(())
}

/// Phase over frequency, fitted by least squares. Radians and radians per hertz.
struct PhaseFit {
    slope: f64,
    slope_uncertainty: f64,
    at_zero: f64,
    at_zero_uncertainty: f64,
    rms: f64,
}

impl PhaseFit {
    fn of(sweep: &[(f64, Complex64)], ideal: Complex64) -> Self {
        let mut phase = (sweep[0].1 * ideal).arg();
        let mut phases = vec![phase];
        for pair in sweep.windows(2) {
            phase += (pair[1].1 * pair[0].1.conj()).arg();
            phases.push(phase);
        }
        let count = sweep.len() as f64;
        let mean_hz = sweep.iter().map(|point| point.0).sum::<f64>() / count;
        let mean = phases.iter().sum::<f64>() / count;
        let (mut square, mut product) = (0.0, 0.0);
        for ((freq_hz, _), phase) in sweep.iter().zip(&phases) {
            square += (freq_hz - mean_hz).powi(2);
            product += (freq_hz - mean_hz) * (phase - mean);
        }
        let slope = product / square;
        let residual: f64 = sweep
            .iter()
            .zip(&phases)
            .map(|((freq_hz, _), phase)| phase - mean - slope * (freq_hz - mean_hz))
            .map(|miss| miss * miss)
            .sum();
        let variance = residual / (count - 2.0);
        Self {
            slope,
            slope_uncertainty: (variance / square).sqrt(),
            at_zero: mean - slope * mean_hz,
            at_zero_uncertainty: (variance * (1.0 / count + mean_hz * mean_hz / square)).sqrt(),
            rms: (residual / count).sqrt(),
        }
    }
}
