//! What was read in a round, as the analyzer shows it.

use std::fmt;

use jigwise_bench::words::fixture_title;
use jigwise_bench::{Blank, Complex64, Formula, NamedInstrument, ReferenceImpedance, fixed};

use super::{Purchase, Subject, hertz};

/// A reading as the analyzer shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// 20·log10|S| in whole steps of the display.
    pub level_db: f64,
    /// The angle in whole steps of the display, degrees.
    pub angle_deg: f64,
}

impl Shown {
    pub(super) fn of(reading: Complex64, instrument: &NamedInstrument) -> Self {
        let figures = &instrument.figures;
        let decibel_per_neper = 20.0 / std::f64::consts::LN_10;
        let steps = |value: f64, step: f64| match step > 0.0 {
            true => (value / step).round() * step,
            false => value,
        };
        Self {
            level_db: steps(
                20.0 * reading.norm().log10(),
                figures.display_magnitude * decibel_per_neper,
            ),
            angle_deg: steps(
                reading.arg().to_degrees(),
                figures.display_phase_rad.to_degrees(),
            ),
        }
    }

    /// The reading as one complex number.
    pub fn reading(self) -> Complex64 {
        Complex64::from_polar(
            10f64.powf(self.level_db / 20.0),
            self.angle_deg.to_radians(),
        )
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}\u{202f}dB, {}°",
            fixed(self.level_db, 2),
            fixed(self.angle_deg, 1)
        )
    }
}

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// What was wanted.
    pub purchase: Purchase,
    /// The readings; two for the blanks of reflect, empty and then shorted.
    pub shown: Vec<Shown>,
    /// The calibration in force, 0 for the one that was there before.
    pub calibration: u32,
    /// What it cost.
    pub cost: u32,
}

impl Bought {
    /// What a formula in S and Z0 makes of the first reading.
    pub fn converted(&self, formula: &Formula) -> Option<Complex64> {
        let reading = self.shown.first()?.reading();
        formula.evaluate(reading, ReferenceImpedance::FIFTY_OHM)
    }
}

/// In a line: what was read, how, and what it showed.
impl fmt::Display for Bought {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Purchase {
            subject,
            fixture,
            freq_hz,
            averages,
        } = self.purchase;
        write!(
            f,
            "{} in {}, {}, ",
            subject.title(),
            fixture_title(fixture).to_lowercase(),
            hertz(freq_hz)
        )?;
        if averages > 1 {
            write!(f, "{averages} averages, ")?;
        }
        write!(f, "calibration {}: ", self.calibration)?;
        let names = match subject {
            Subject::Blank => Blank::of(fixture),
            Subject::Part | Subject::Known => &[],
        };
        for (at, shown) in self.shown.iter().enumerate() {
            if at > 0 {
                f.write_str("; ")?;
            }
            match names.get(at) {
                Some(blank) => write!(f, "{blank} {shown}")?,
                None => write!(f, "{shown}")?,
            }
        }
        Ok(())
    }
}
