//! Where the reactance changes its sign.

use nalgebra::{Matrix2, Vector2};
use num_complex::Complex64;

use super::bic::{CALIBRATION_RESIDUAL, ROUNDING_RESIDUAL};
use super::extracted::{Extracted, Quantity};
use super::scatter::about_a_smooth_curve;
use super::{ExtractError, ImpedanceSweep, Reactive};
use crate::Covariance;

/// A change of kind between two points whose reactance is clear of zero.
pub(super) struct Change {
    pub was: Reactive,
    pub before: usize,
    pub after: usize,
}

/// Reactance counts as seen above this many standard uncertainties.
pub(super) const SEEN: f64 = 3.0;

/// A kind counts for a change at this many points in a row where each is seen: one alone is that
/// of noise in a quarter of all sweeps of a hundred points.
const MIN_POINTS_OF_KIND: usize = 3;

/// Above this many standard uncertainties a single point is enough.
const SEEN_ALONE: f64 = 6.0;

impl ImpedanceSweep<'_> {
    /// Random and systematic covariance of every point together, Ω². Where none is given, the
    /// scatter of the readings about a smooth curve.
    pub(super) fn doubts(&self) -> Vec<Covariance> {
        if self.has_random_scatter() || !self.shifts().is_empty() {
            (0..self.points()).map(|k| self.total(k)).collect()
        } else {
            about_a_smooth_curve(self.z_ohm())
        }
    }

    /// As [`Self::doubts`], but where none is given with what a calibration may leave in the
    /// readings, [`CALIBRATION_RESIDUAL`] of |Z|, and true where that was added. Readings that are
    /// smooth to the last digits hold no such error.
    pub(super) fn doubts_with_calibration(&self) -> (Vec<Covariance>, bool) {
        let mut doubts = self.doubts();
        let is_given = self.has_random_scatter() || !self.shifts().is_empty();
        let scattered = self
            .z_ohm()
            .iter()
            .zip(&doubts)
            .filter(|(z, doubt)| doubt.trace().sqrt() > ROUNDING_RESIDUAL * z.norm())
            .count();
        let is_added = !is_given && scattered > self.points() / 2;
        if is_added {
            for (doubt, z) in doubts.iter_mut().zip(self.z_ohm()) {
                *doubt = *doubt + Covariance::circular((CALIBRATION_RESIDUAL * z.norm()).powi(2));
            }
        }
        (doubts, is_added)
    }

    /// The kind of the part at every point; `None` where X is within `limit` of its u from zero.
    pub(super) fn kinds_above(&self, limit: f64, doubts: &[Covariance]) -> Vec<Option<Reactive>> {
        let points = self.z_ohm().iter().zip(doubts);
        points
            .map(|(z, doubt)| {
                let is_seen = z.im != 0.0 && z.im.abs() > limit * doubt.im.sqrt();
                is_seen.then(|| Reactive::of(z.im))
            })
            .collect()
    }

    /// As [`Self::kinds_above`] [`SEEN`], but only where noise does not make it.
    fn sure_kinds(&self, doubts: &[Covariance]) -> Vec<Option<Reactive>> {
        let seen = self.kinds_above(SEEN, doubts);
        let alone = self.kinds_above(SEEN_ALONE, doubts);
        let is_sure = |k: usize| {
            let of_kind = |j: &usize| seen[*j] == seen[k];
            let before = (0..k).rev().take_while(of_kind).take(MIN_POINTS_OF_KIND);
            let after = (k..self.points())
                .take_while(of_kind)
                .take(MIN_POINTS_OF_KIND);
            alone[k].is_some() || before.count() + after.count() >= MIN_POINTS_OF_KIND
        };
        (0..self.points())
            .map(|k| seen[k].filter(|_| is_sure(k)))
            .collect()
    }

    /// The first point with a visible reactance, and its kind: the first that neither noise nor
    /// what a calibration may leave explains, or where there is none the first that is seen.
    pub(super) fn first_kind(&self) -> Option<(usize, Reactive)> {
        let (doubts, _) = self.doubts_with_calibration();
        let first = |kinds: Vec<Option<Reactive>>| {
            let kinds = kinds.into_iter().enumerate();
            kinds.filter_map(|(k, kind)| Some((k, kind?))).next()
        };
        first(self.sure_kinds(&doubts)).or_else(|| first(self.kinds_above(SEEN, &self.doubts())))
    }

    /// The changes of kind that the scatter of the points does not make.
    pub(super) fn changes(&self) -> Vec<Change> {
        self.changes_beyond(&self.doubts())
    }

    /// As [`Self::changes`], but beyond [`Self::doubts_with_calibration`].
    pub(super) fn clear_changes(&self) -> Vec<Change> {
        self.changes_beyond(&self.doubts_with_calibration().0)
    }

    fn changes_beyond(&self, doubts: &[Covariance]) -> Vec<Change> {
        let kinds = self.sure_kinds(doubts);
        let mut changes = Vec::new();
        let mut last: Option<(usize, Reactive)> = None;
        for (point, kind) in kinds.into_iter().enumerate() {
            let Some(kind) = kind else {
                continue;
            };
            if let Some((before, was)) = last
                && was != kind
            {
                changes.push(Change {
                    was,
                    before,
                    after: point,
                });
            }
            last = Some((point, kind));
        }
        changes
    }

    /// The lowest frequency where a capacitor becomes a coil (X crosses zero) or a coil a
    /// capacitor (B crosses zero), with its uncertainty. Around the crossing f·X or f·B is a
    /// straight line in f² for L and C; two points that bracket it are enough.
    ///
    /// A kind counts where X is more than 3 u from zero at three points in a row, or 6 u at one.
    /// Without a given scatter u is that of the readings about a smooth curve, with
    /// [`CALIBRATION_RESIDUAL`] of |Z| for what a calibration may leave.
    ///
    /// # Errors
    /// [`ExtractError::NoResonance`] where the part stays of one kind.
    pub fn self_resonance(&self) -> Result<Extracted, ExtractError> {
        let no_resonance = || ExtractError::NoResonance {
            span_hz: self.span_hz(),
            kind: self.first_kind().map(|(_, kind)| kind),
        };
        let changes = self.clear_changes();
        let change = changes.first().ok_or_else(no_resonance)?;
        let (hz, variance) = self.crossing(change).ok_or_else(no_resonance)?;
        let covariance = nalgebra::DMatrix::from_element(1, 1, variance);
        let named = [(Quantity::SelfResonance, hz)];
        Ok(Extracted::new(&named, &covariance, Vec::new(), None))
    }

    /// The points a crossing is told by: the two that bracket it, or where the reactance of
    /// some is lost in its uncertainty, three times the stretch between the two that are seen.
    /// The outermost of those seen alone would have been chosen for their errors.
    fn around(&self, change: &Change) -> std::ops::RangeInclusive<usize> {
        let lost = change.after - change.before;
        if lost == 1 {
            return change.before..=change.after;
        }
        let first = change.before.saturating_sub(lost);
        let last = (change.after + lost).min(self.points() - 1);
        let changes = self.changes();
        let next = changes.iter().find(|other| other.before >= change.after);
        let previous = changes.iter().rev().find(|o| o.after <= change.before);
        first.max(previous.map_or(0, |o| o.after))..=last.min(next.map_or(last, |o| o.before))
    }

    /// Frequency and variance of a crossing.
    pub(super) fn crossing(&self, change: &Change) -> Option<(f64, f64)> {
        let (mut covariances, is_given) = super::fit::weighed(self);
        if !is_given {
            // The digits of the numbers stay below what scatters.
            let scatter = about_a_smooth_curve(self.z_ohm());
            for (covariance, scatter) in covariances.iter_mut().zip(scatter) {
                *covariance = *covariance * 1e-18 + scatter;
            }
        }
        let reactive = |z: Complex64, c: Covariance, k: usize| {
            let hz = self.freq_hz()[k];
            match change.was {
                Reactive::Capacitive => (hz * z.im, hz * hz * c.im, 1.0.into()),
                Reactive::Inductive => {
                    let slope = -1.0 / (z * z);
                    let b = z.inv().im;
                    (hz * b, hz * hz * c.through(slope).im, slope)
                }
            }
        };
        // y = a + b·t with t = (f/f1)² − 1, f1 the first of the points.
        let f1 = self.freq_hz()[change.before];
        let points = self.around(change);
        let t_at = |k: usize| (self.freq_hz()[k] / f1).powi(2) - 1.0;
        let mut normal = Matrix2::zeros();
        let mut right = Vector2::zeros();
        for k in points.clone() {
            let (y, variance, _) = reactive(self.z_ohm()[k], covariances[k], k);
            let basis = Vector2::new(1.0, t_at(k));
            normal += basis * basis.transpose() / variance;
            right += basis * (y / variance);
        }
        let inverse = normal.try_inverse()?;
        let line = inverse * right;
        let t = -line[0] / line[1];
        let hz = f1 * (1.0 + t).sqrt();
        // d f/d(a, b) = −f1²/(2·f·b)·(1, t).
        let slope = -f1 * f1 / (2.0 * hz * line[1]);
        let gradient = Vector2::new(slope, slope * t);
        let mut variance = gradient.dot(&(inverse * gradient));
        for shift in self.shifts() {
            let mut moved = Vector2::zeros();
            for k in points.clone() {
                let (_, variance, slope) = reactive(self.z_ohm()[k], covariances[k], k);
                let change = self.freq_hz()[k] * (slope * shift[k]).im;
                moved += Vector2::new(1.0, t_at(k)) * (change / variance);
            }
            variance += gradient.dot(&(inverse * moved)).powi(2);
        }
        hz.is_finite().then_some((hz, variance))
    }
}
