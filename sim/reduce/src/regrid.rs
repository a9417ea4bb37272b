//! Sweeps of standards and blanks brought to the part's frequencies.
//!
//! Analyzers compute their frequencies in more than one way, and people change the number of points
//! between two sweeps. A reading between two points of a sweep is that of a cubic through the four
//! nearest. The two parabolas through three of them differ by what the curve does in third order
//! and by the noise: that is taken as the standard uncertainty of the reading found, which is more
//! than the cubic leaves. Beside an end of the sweep, where one of them goes through both neighbours,
//! it is that one's difference from the cubic. Where it is above [`MAX_DOUBT`] the sweep is refused.

use jigwise_physics::Complex64;
use jigwise_touchstone::Sweep;

use crate::frequency::point_near;
use crate::{Beside, ReduceError};

/// Largest standard uncertainty of a reading that is found between two points.
pub(crate) const MAX_DOUBT: f64 = 0.01;
/// Points of the cubic.
const NEAREST: usize = 4;
/// How far beyond its ends a sweep may be continued, in steps between its points.
const MAX_BEYOND: f64 = 0.01;

/// A sweep at the part's frequencies.
#[derive(Debug)]
pub(crate) struct Regridded {
    pub(crate) sweep: Sweep,
    /// Standard uncertainty of the readings that were found, for each frequency.
    pub(crate) doubts: Vec<f64>,
}

impl Regridded {
    /// The largest doubt.
    pub(crate) fn largest(&self) -> f64 {
        self.doubts.iter().copied().fold(0.0, f64::max)
    }
}

/// A sweep at other frequencies; `None` where it was measured at all of them.
///
/// # Errors
/// [`ReduceError`] where it does not reach a frequency, or its points are too far apart.
pub(crate) fn at_frequencies(
    sweep: &Sweep,
    what: Beside,
    freq_hz: &[f64],
) -> Result<Option<Regridded>, ReduceError> {
    let own = sweep.frequency_hz();
    let mut all = freq_hz.iter().enumerate();
    let Some((_, missing)) = all.find(|(k, hz)| point_near(own, *k, **hz).is_none()) else {
        return Ok(None);
    };
    let misses = |freq_hz| ReduceError::MissesFrequency { what, freq_hz };
    if own.len() < NEAREST {
        return Err(misses(*missing));
    }
    let cells = sweep.ports() * sweep.ports();
    let mut s = Vec::with_capacity(freq_hz.len() * cells);
    let mut doubts = Vec::with_capacity(freq_hz.len());
    for (near, &hz) in freq_hz.iter().enumerate() {
        if let Some(k) = point_near(own, near, hz) {
            s.extend(readings(sweep, k));
            doubts.push(0.0);
            continue;
        }
        let first = first_of(own, hz).ok_or_else(|| misses(hz))?;
        let mut doubt: f64 = 0.0;
        let near = [0, 1, 2, 3].map(|k| readings(sweep, first + k).collect::<Vec<_>>());
        let at = [0, 1, 2, 3].map(|k| own[first + k]);
        let values_of = |cell: usize| [0, 1, 2, 3].map(|k| near[k][cell]);
        for cell in 0..cells {
            let values = values_of(cell);
            let found = polynomial(&at, &values, hz);
            s.push(found);
            let low = polynomial(&at[..3], &values[..3], hz);
            let high = polynomial(&at[1..], &values[1..], hz);
            // Beside an end of the sweep only one parabola goes through both neighbours.
            let apart = if hz < at[1] {
                low - found
            } else if hz > at[2] {
                high - found
            } else {
                low - high
            };
            doubt = doubt.max(apart.norm());
        }
        if doubt > MAX_DOUBT {
            return Err(ReduceError::TooCoarse {
                what,
                freq_hz: hz,
                doubt,
            });
        }
        doubts.push(doubt);
    }
    let sweep = Sweep::new(sweep.ports(), sweep.references_ohm(), freq_hz.to_vec(), s)
        .map_err(ReduceError::References)?;
    Ok(Some(Regridded { sweep, doubts }))
}

/// S of a point, row by row.
fn readings(sweep: &Sweep, k: usize) -> impl Iterator<Item = Complex64> {
    let ports = sweep.ports();
    (0..ports * ports).map(move |at| sweep.s(k, at / ports + 1, at % ports + 1))
}

/// The first of the four points about a frequency; `None` where the sweep does not reach it.
fn first_of(own: &[f64], hz: f64) -> Option<usize> {
    let above = own.partition_point(|f| *f < hz);
    let last = own.len() - 1;
    let beyond = if above == 0 {
        (own[0] - hz) / (own[1] - own[0])
    } else if above > last {
        (hz - own[last]) / (own[last] - own[last - 1])
    } else {
        0.0
    };
    (beyond <= MAX_BEYOND).then(|| above.saturating_sub(NEAREST / 2).min(own.len() - NEAREST))
}

/// The polynomial through the points, by Lagrange.
fn polynomial(at: &[f64], values: &[Complex64], hz: f64) -> Complex64 {
    let weight = |k: usize| -> f64 {
        let others = at.iter().enumerate().filter(|(j, _)| *j != k);
        others
            .map(|(_, other)| (hz - other) / (at[k] - other))
            .product()
    };
    values
        .iter()
        .enumerate()
        .map(|(k, value)| value * weight(k))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    const THROUGH: Beside = Beside::Through;

    /// A line of 2 ns, exactly: cis(−2πfτ), any textbook.
    fn line(freq_hz: &[f64]) -> Sweep {
        let s = freq_hz
            .iter()
            .map(|hz| Complex64::cis(-std::f64::consts::TAU * hz * 2e-9))
            .collect();
        Sweep::new(1, &[50.0], freq_hz.to_vec(), s).unwrap()
    }

    fn grid(from: f64, step: f64, points: usize) -> Vec<f64> {
        (0..points).map(|k| from + step * k as f64).collect()
    }

    #[test]
    fn what_is_found_is_within_its_doubt() {
        let measured = line(&grid(1e6, 1e6, 101));
        let wanted = grid(1.3e6, 0.7e6, 120);
        let found = at_frequencies(&measured, THROUGH, &wanted)
            .unwrap()
            .unwrap();
        let truth = line(&wanted);
        for k in 0..wanted.len() {
            let off = (found.sweep.s(k, 1, 1) - truth.s(k, 1, 1)).norm();
            assert!(off <= found.doubts[k], "{k}: {off} {}", found.doubts[k]);
        }
        assert!(found.largest() < 1e-5, "{}", found.largest());
    }

    #[test]
    fn the_same_frequencies_stay_as_they_are() {
        let own = grid(1e6, 1e6, 5);
        assert!(
            at_frequencies(&line(&own), THROUGH, &own)
                .unwrap()
                .is_none()
        );
    }

    #[test]
    fn frequencies_that_differ_in_the_last_digits_are_found() {
        let own = grid(1e6, 1e6, 5);
        let jittered: Vec<f64> = own.iter().map(|hz| hz * (1.0 - 1e-7)).collect();
        let found = at_frequencies(&line(&own), THROUGH, &jittered)
            .unwrap()
            .unwrap();
        assert!(found.largest() < 1e-8, "{}", found.largest());
    }

    #[test]
    fn what_is_not_reached_or_too_coarse_is_refused() {
        let own = grid(1e6, 1e6, 5);
        for wanted in [[0.9e6, 2e6], [4.5e6, 5.1e6]] {
            let error = at_frequencies(&line(&own), THROUGH, &wanted).unwrap_err();
            assert!(
                matches!(error, ReduceError::MissesFrequency { .. }),
                "{error}"
            );
        }
        let coarse = line(&grid(1e6, 100e6, 9));
        let error = at_frequencies(&coarse, THROUGH, &[51e6]).unwrap_err();
        assert!(matches!(error, ReduceError::TooCoarse { .. }), "{error}");
    }
}
