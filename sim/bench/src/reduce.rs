//! From a measured sweep to ohms.

use std::borrow::Cow;
use std::fmt;

use jigwise_physics::{
    Complex64, Equivalents, Fixture, Immittance, NumberError, ReferenceImpedance,
};
use jigwise_touchstone::{Sweep, SweepError};

use crate::words::{fixture_key, reading_name};

/// A sweep turned into impedances.
#[derive(Debug, Clone)]
pub struct Reduction {
    /// The fixture the part was measured in.
    pub fixture: Fixture,
    /// The reference of the readings: the file's, and port 1's where the file has several.
    pub reference: ReferenceImpedance,
    /// One entry per frequency, rising.
    pub points: Vec<ReducedPoint>,
}

/// One frequency of a reduced sweep.
#[derive(Debug, Clone, Copy)]
pub struct ReducedPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// S11 or S21 as measured.
    pub reading: Complex64,
    /// The device that gives this reading.
    pub device: Immittance,
    /// |S21 − S11 − 1| for shunt, |S21 + S11 − 1| for series; `None` where only one reading
    /// exists. Zero for one lumped part at the reference plane.
    pub consistency: Option<f64>,
}

impl ReducedPoint {
    /// |Z| in ohms; `None` for an open.
    pub fn magnitude_ohm(&self) -> Option<f64> {
        self.device.impedance().map(Complex64::norm)
    }

    /// The angle of Z in degrees; `None` for an open or a short.
    pub fn phase_deg(&self) -> Option<f64> {
        let z = self.device.impedance()?;
        (z.norm() > 0.0).then(|| z.arg().to_degrees())
    }

    /// X/ω in henries where the part is inductive.
    pub fn inductance_h(&self) -> Option<f64> {
        self.equivalents()?.series_inductance_h()
    }

    /// −1/(ωX) in farads where the part is capacitive.
    pub fn capacitance_f(&self) -> Option<f64> {
        self.equivalents()?.series_capacitance_f()
    }

    fn equivalents(&self) -> Option<Equivalents> {
        Equivalents::new(self.device, self.freq_hz).ok()
    }
}

/// Why a sweep can't be reduced.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ReduceError {
    /// A through fixture needs two ports.
    OnePort {
        /// The fixture asked for.
        fixture: Fixture,
    },
    /// S21 is zero at every frequency: it was not measured.
    NoThrough {
        /// The fixture asked for.
        fixture: Fixture,
    },
    /// More ports than a fixture has.
    ManyPorts {
        /// Ports of the sweep.
        ports: usize,
    },
    /// Mixed-mode readings, which no fixture gives.
    MixedMode,
    /// Readings at two references that can't be brought to one.
    References(SweepError),
    /// A value outside what physics takes.
    Number(NumberError),
}

impl std::error::Error for ReduceError {}

impl From<NumberError> for ReduceError {
    fn from(error: NumberError) -> Self {
        Self::Number(error)
    }
}

impl fmt::Display for ReduceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OnePort { fixture } => write!(
                f,
                "{} needs S21 and this is a one-port sweep; expected a two-port file (.s2p). \
                 Measure again with both ports, or reduce it as reflect if the part was across \
                 one port",
                fixture_key(*fixture)
            ),
            Self::NoThrough { fixture } => write!(
                f,
                "{} needs S21, which is zero at every frequency, as an export of reflection \
                 alone leaves it; export S21 too, or reduce it as reflect if the part was \
                 across one port",
                fixture_key(*fixture)
            ),
            Self::ManyPorts { ports } => write!(
                f,
                "found {ports} ports, expected one or two; export the two ports that held the \
                 part"
            ),
            Self::MixedMode => f.write_str(
                "found mixed-mode readings, expected single-ended ones; export the two ports \
                 that held the part, single-ended",
            ),
            Self::References(error) => {
                write!(f, "the ports refer to different impedances: {error}")
            }
            Self::Number(error) => error.fmt(f),
        }
    }
}

/// Reduces a sweep measured in `fixture`: from S11 for reflect, from S21 for the others.
///
/// Where the ports have different references, a through reading is first brought to that of
/// port 1 at both; reflect needs port 1 alone.
///
/// # Errors
/// [`ReduceError`] where the sweep does not hold the reading that the fixture needs.
pub fn reduce(sweep: &Sweep, fixture: Fixture) -> Result<Reduction, ReduceError> {
    if sweep.ports() > 2 {
        return Err(ReduceError::ManyPorts {
            ports: sweep.ports(),
        });
    }
    if !sweep.modes().is_empty() {
        return Err(ReduceError::MixedMode);
    }
    let first_ohm = sweep.references_ohm()[0];
    let reference = ReferenceImpedance::new(first_ohm)?;
    let through = fixture != Fixture::Reflect;
    if through && sweep.ports() < 2 {
        return Err(ReduceError::OnePort { fixture });
    }
    let indices = 0..sweep.len();
    if through && indices.clone().all(|k| sweep.s(k, 2, 1) == Complex64::ZERO) {
        return Err(ReduceError::NoThrough { fixture });
    }
    let sweep = if through && sweep.reference_ohm().is_nan() {
        let moved = sweep.renormalised(&[first_ohm]);
        Cow::Owned(moved.map_err(ReduceError::References)?)
    } else {
        Cow::Borrowed(sweep)
    };
    let points = indices
        .map(|k| {
            let s11 = sweep.s(k, 1, 1);
            let reading = if through { sweep.s(k, 2, 1) } else { s11 };
            Ok(ReducedPoint {
                freq_hz: sweep.frequency_hz()[k],
                reading,
                device: fixture.immittance(reading, reference)?,
                consistency: fixture.consistency(s11, reading),
            })
        })
        .collect::<Result<_, NumberError>>()?;
    Ok(Reduction {
        fixture,
        reference,
        points,
    })
}

/// Something about a reduced sweep that its owner should know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remark {
    /// Readings beyond one, which no passive part gives.
    BeyondOne {
        /// The fixture.
        fixture: Fixture,
        /// How many points.
        count: usize,
        /// Of how many.
        of: usize,
        /// The largest magnitude.
        largest: f64,
    },
    /// Points with a negative resistance.
    NegativeResistance {
        /// How many points.
        count: usize,
        /// Of how many.
        of: usize,
    },
    /// S11 and S21 do not belong to one lumped part at the reference plane.
    Inconsistent {
        /// The largest |S21 ∓ S11 − 1|.
        largest: f64,
        /// Where, Hz.
        freq_hz: f64,
    },
}

/// Above this the fixture's own identity is broken by more than a few percent of full scale.
const CONSISTENCY_LIMIT: f64 = 0.05;

impl Reduction {
    /// What should be said beside the numbers.
    pub fn remarks(&self) -> Vec<Remark> {
        let of = self.points.len();
        let mut remarks = Vec::new();
        let beyond = || {
            self.points
                .iter()
                .map(|p| p.reading.norm())
                .filter(|m| *m > 1.0)
        };
        let count = beyond().count();
        if count > 0 {
            remarks.push(Remark::BeyondOne {
                fixture: self.fixture,
                count,
                of,
                largest: beyond().fold(0.0, f64::max),
            });
        }
        let count = self.points.iter().filter(|p| p.device.is_active()).count();
        if count > 0 {
            remarks.push(Remark::NegativeResistance { count, of });
        }
        let worst = self
            .points
            .iter()
            .filter_map(|p| Some((p.consistency?, p.freq_hz)))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((largest, freq_hz)) = worst.filter(|(c, _)| *c > CONSISTENCY_LIMIT) {
            remarks.push(Remark::Inconsistent { largest, freq_hz });
        }
        remarks
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::BeyondOne {
                fixture,
                count,
                of,
                largest,
            } => write!(
                f,
                "|{}| is above one at {count} of {of} points (largest {largest:.5}): no passive \
                 part does that, so what is above one is calibration error or noise",
                reading_name(fixture)
            ),
            Self::NegativeResistance { count, of } => write!(
                f,
                "the resistance is below zero at {count} of {of} points: unless the part is \
                 active, the error of the reading is larger than the resistance there"
            ),
            Self::Inconsistent { largest, freq_hz } => write!(
                f,
                "S21 and S11 miss the identity of this fixture by up to {largest:.3} (at {}): \
                 the part is not one lumped part at the reference plane, the wrong fixture was \
                 named, or S11 was not corrected",
                crate::engineering(freq_hz, "Hz", 4)
            ),
        }
    }
}
