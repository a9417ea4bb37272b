//! The laws that the readings of one passive part at the reference plane keep, their limits, and
//! one tally of a sweep against them. The remarks of the text command and the checks of a report
//! are both made from it.
//!
//! | law | reflect | shunt-through | series-through |
//! | --- | --- | --- | --- |
//! | passivity | \|S11\|² ≤ 1 | \|S11\|² + \|S21\|² ≤ 1 | the same |
//! | identity | – | S21 − S11 = 1 | S21 + S11 = 1 |
//! | reciprocity | – | S12 = S21 | S12 = S21 |
//! | resistance | R ≥ 0 | R ≥ 0 | R ≥ 0 |

use jigwise_physics::{Fixture, Port, ReferenceImpedance};
use jigwise_touchstone::Sweep;

use crate::{COVERAGE_FACTOR, ReducedPoint};

/// By how much a reading may miss its passive range before something is said: digits of a file,
/// not power.
pub const ROUNDING: f64 = 1e-9;

/// A miss up to which a law holds, and one above which it is broken; between them it is worth a
/// look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// A miss up to this is within what good readings show.
    pub holds: f64,
    /// A miss above this breaks the law.
    pub broken: f64,
}

/// |S21 − S11 − 1| for shunt-through, |S21 + S11 − 1| for series-through. Common practice, no
/// source.
pub const IDENTITY: Limits = Limits {
    holds: 0.01,
    broken: 0.05,
};
/// |S21 − S12|. Common practice, no source.
pub const RECIPROCITY: Limits = Limits {
    holds: 0.01,
    broken: 0.05,
};
/// Power out of a passive part above one: between the limits calibration and noise are to blame.
pub const PASSIVITY: Limits = Limits {
    holds: ROUNDING,
    broken: 0.01,
};

/// A transmission of less than this (rms, −40 dB) may be a leak beside a part in reflect.
const MAX_LEAK: f64 = 0.01;
/// How well the identity explains S21, as a share of it (rms), for a file to look like one of that
/// fixture, raw readings included.
const LIKE_THROUGH: f64 = 0.3;

/// The through fixture whose identity the readings of a two-port file keep, seen from `port`. In
/// reflect S21 is no more than a leak, and no identity ties it to S11.
pub(crate) fn through_like(sweep: &Sweep, port: Port) -> Option<Fixture> {
    if sweep.ports() < 2 {
        return None;
    }
    let (own, other) = (port.number(), 3 - port.number());
    let mean_square = |of: &dyn Fn(usize) -> f64| {
        (0..sweep.len()).map(|k| of(k).powi(2)).sum::<f64>() / sweep.len() as f64
    };
    let passed = mean_square(&|k| sweep.s(k, other, own).norm());
    if passed < MAX_LEAK.powi(2) {
        return None;
    }
    let missed = |fixture: Fixture| {
        mean_square(&|k| {
            let (s11, s21) = (sweep.s(k, own, own), sweep.s(k, other, own));
            fixture.consistency(s11, s21).unwrap_or(f64::INFINITY)
        })
    };
    [Fixture::ShuntThrough, Fixture::SeriesThrough]
        .into_iter()
        .map(|fixture| (missed(fixture), fixture))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(missed, _)| *missed < LIKE_THROUGH.powi(2) * passed)
        .map(|(_, fixture)| fixture)
}

/// The passivity law of a fixture's readings.
pub const fn passivity_words(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "|S11|²",
        Fixture::ShuntThrough | Fixture::SeriesThrough => "|S11|² + |S21|²",
    }
}

/// What a resistance below zero means where no uncertainty tells.
pub(crate) const NEGATIVE_RESISTANCE: &str = "unless the part is active, an error is larger than \
     the resistance there, that of the reading or of a standard, a blank or a fixture that is not \
     what it was named";

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

/// The largest of some numbers, where it was, and their sum.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Largest {
    pub(crate) count: usize,
    pub(crate) value: f64,
    pub(crate) freq_hz: f64,
    sum: f64,
}

impl Largest {
    fn add(&mut self, value: f64, freq_hz: f64) {
        if self.count == 0 || value > self.value {
            (self.value, self.freq_hz) = (value, freq_hz);
        }
        self.count += 1;
        self.sum += value;
    }

    pub(crate) fn mean(&self) -> f64 {
        self.sum / self.count.max(1) as f64
    }
}

/// Resistances counted against R ≥ 0.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct ResistanceTally {
    /// Points with R below zero by more than the digits of the reading explain.
    pub(crate) negative: usize,
    /// Of those, points below by more than the expanded uncertainty; all of them without an
    /// instrument.
    pub(crate) clearly_negative: usize,
    /// The lowest R in its standard uncertainties, or in ohms without an instrument, and where,
    /// Hz.
    pub(crate) lowest: Option<(f64, f64)>,
}

impl ResistanceTally {
    /// Counts a point; `u_r_ohm` is the standard uncertainty of its resistance.
    pub(crate) fn add(
        &mut self,
        point: &ReducedPoint,
        u_r_ohm: Option<f64>,
        fixture: Fixture,
        reference: ReferenceImpedance,
    ) {
        let Some(z) = point.device.impedance() else {
            return;
        };
        let measure = z.re / u_r_ohm.filter(|u| *u > 0.0).unwrap_or(1.0);
        if self.lowest.is_none_or(|(lowest, _)| measure < lowest) {
            self.lowest = Some((measure, point.freq_hz));
        }
        if point.has_negative_resistance(fixture, reference) {
            self.negative += 1;
            let is_clear = is_clearly_negative(z.re, u_r_ohm);
            self.clearly_negative += usize::from(is_clear);
        }
    }
}

/// True where R lies below zero by more than its expanded uncertainty.
fn is_clearly_negative(r_ohm: f64, u_r_ohm: Option<f64>) -> bool {
    r_ohm < -COVERAGE_FACTOR * u_r_ohm.unwrap_or(0.0)
}

/// The readings of one fixture against all laws.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct LawTally {
    pub(crate) points: usize,
    pub(crate) identity: Largest,
    pub(crate) reciprocity: Largest,
    pub(crate) power: Largest,
    /// The largest |S| of the fixture's reading.
    pub(crate) largest_reading: f64,
    /// Points with more power out than in.
    pub(crate) beyond: usize,
    /// Of those, points whose R is clearly below zero.
    pub(crate) clearly_beyond: usize,
    pub(crate) resistance: ResistanceTally,
}

impl LawTally {
    pub(crate) fn add(
        &mut self,
        point: &ReducedPoint,
        fixture: Fixture,
        reference: ReferenceImpedance,
    ) {
        let u_r_ohm = point.uncertainty_ohm().map(|(u_r, _)| u_r);
        self.points += 1;
        self.power.add(point.power_out, point.freq_hz);
        self.largest_reading = self.largest_reading.max(point.reading.norm());
        if point.power_out > 1.0 + PASSIVITY.holds {
            self.beyond += 1;
            let r_ohm = point.device.impedance().map_or(0.0, |z| z.re);
            self.clearly_beyond += usize::from(is_clearly_negative(r_ohm, u_r_ohm));
        }
        if let Some(miss) = point.consistency {
            self.identity.add(miss, point.freq_hz);
        }
        if let Some(miss) = point.reciprocity {
            self.reciprocity.add(miss, point.freq_hz);
        }
        self.resistance.add(point, u_r_ohm, fixture, reference);
    }
}
