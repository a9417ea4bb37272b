//! What is said beside the ohms of a reduced sweep.

use std::fmt;

use jigwise_physics::{Fixture, Method, ReferenceImpedance};

use super::{ReducedPoint, Reduction};
use jigwise_bench::left_by;
use jigwise_bench::method_key;
use jigwise_bench::words::reading_name;

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
    /// One direction was measured, so the full calibration asked for was used as one-path.
    OneWay {
        /// The calibration asked for.
        asked: Method,
    },
    /// The calibration asked for leaves errors in this fixture's reading.
    LeftRaw {
        /// The calibration.
        method: Method,
    },
    /// With these standards a port would reflect more than it gets, which no port does.
    ActivePort {
        /// The port, 1 or 2.
        port: u8,
        /// The size of the source match found.
        source_match: f64,
        /// Where, Hz.
        freq_hz: f64,
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
pub const CONSISTENCY_LIMIT: f64 = 0.05;

/// By how much a reading may miss its passive range before something is said: digits of a file,
/// not power.
pub const ROUNDING: f64 = 1e-9;

impl ReducedPoint {
    /// True where the resistance is below zero by more than the digits of a reading in this
    /// fixture explain, |dZ/dS|·1e-9.
    pub fn has_negative_resistance(&self, fixture: Fixture, reference: ReferenceImpedance) -> bool {
        let Some(z) = self.device.impedance() else {
            return false;
        };
        let slope = fixture.ohm_per_reading(self.device, reference);
        z.re < -ROUNDING * slope.map_or(0.0, |slope| slope.norm())
    }
}

/// Counts what remarks are made of, point by point.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Tally {
    of: usize,
    beyond: usize,
    largest: f64,
    active: usize,
    worst: Option<(f64, f64)>,
}

impl Tally {
    pub(super) fn add(
        &mut self,
        point: &ReducedPoint,
        fixture: Fixture,
        reference: ReferenceImpedance,
    ) {
        self.of += 1;
        let size = point.reading.norm();
        if size > 1.0 + ROUNDING {
            self.beyond += 1;
            self.largest = self.largest.max(size);
        }
        if point.has_negative_resistance(fixture, reference) {
            self.active += 1;
        }
        if let Some(miss) = point.consistency
            && self.worst.is_none_or(|(worst, _)| miss >= worst)
        {
            self.worst = Some((miss, point.freq_hz));
        }
    }

    pub(super) fn remarks(&self, fixture: Fixture) -> Vec<Remark> {
        let of = self.of;
        let mut remarks = Vec::new();
        if self.beyond > 0 {
            remarks.push(Remark::BeyondOne {
                fixture,
                count: self.beyond,
                of,
                largest: self.largest,
            });
        }
        if self.active > 0 {
            remarks.push(Remark::NegativeResistance {
                count: self.active,
                of,
            });
        }
        if let Some((largest, freq_hz)) = self.worst.filter(|(miss, _)| *miss > CONSISTENCY_LIMIT) {
            remarks.push(Remark::Inconsistent { largest, freq_hz });
        }
        remarks
    }
}

impl Reduction {
    /// What should be said beside the numbers.
    pub fn remarks(&self) -> Vec<Remark> {
        let mut tally = Tally::default();
        for point in &self.points {
            tally.add(point, self.fixture, self.reference);
        }
        tally.remarks(self.fixture)
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
                "|{}| is above one at {count} of {of} points (largest {}): no passive part does \
                 that, so what is above one is calibration error or noise",
                reading_name(fixture),
                if largest < 1e3 {
                    format!("{largest:.5}")
                } else {
                    format!("{largest:.1e}; such a file is damaged or not of S-parameters")
                }
            ),
            Self::NegativeResistance { count, of } => write!(
                f,
                "the resistance is below zero at {count} of {of} points: unless the part is \
                 active, an error is larger than the resistance there, that of the reading or of \
                 a standard, a blank or a fixture that is not what it was named"
            ),
            Self::OneWay { asked } => write!(
                f,
                "the readings are of one direction (S12 and S22 are zero or missing), so the \
                 calibration \"{asked}\" was used as one-path: exact for a part that looks the \
                 same from both sides, as one part in a fixture does"
            ),
            Self::LeftRaw { method } => write!(
                f,
                "the calibration \"{}\" leaves errors that no uncertainty here holds. {} Ask for \
                 full, or one-path where one direction was measured",
                method_key(method),
                left_by(method)
            ),
            Self::ActivePort {
                port,
                source_match,
                freq_hz,
            } => write!(
                f,
                "with these standards port {port} would reflect {source_match:.1} times what it \
                 gets (at {}), and no port reflects more than all of it: one of open, short and \
                 load is not what it was named. Check which file is which, then measure them again",
                jigwise_quantity::engineering(freq_hz, "Hz", 4)
            ),
            Self::Inconsistent { largest, freq_hz } => write!(
                f,
                "S21 and S11 miss the identity of this fixture by up to {largest:.3} (at {}): \
                 the part is not one lumped part at the reference plane, the wrong fixture was \
                 named, or S11 was not corrected",
                jigwise_quantity::engineering(freq_hz, "Hz", 4)
            ),
        }
    }
}
