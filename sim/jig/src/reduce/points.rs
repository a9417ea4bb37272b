//! The points asked for, one after the other.

use std::io::Write;

use jigwise_quantity::engineering;
use jigwise_reduce::{Ensemble, PartPoint, ReduceError};

use super::Prepared;
use crate::CommandError;
use jigwise_bench::shell::Progress;

/// Hands on the points asked for: every one, or those nearest to some frequencies.
pub(super) fn wanted<E: From<ReduceError>>(
    ensemble: &Ensemble<'_>,
    at_hz: &[f64],
    take: impl FnMut(&PartPoint) -> Result<(), E>,
) -> Result<(), E> {
    wanted_as(ensemble, at_hz, |point| point, take)
}

/// The same with what `make` makes of a point on the core that reduced it.
pub(super) fn wanted_as<T: Send, E: From<ReduceError>>(
    ensemble: &Ensemble<'_>,
    at_hz: &[f64],
    make: impl Fn(PartPoint) -> T + Sync,
    mut take: impl FnMut(&T) -> Result<(), E>,
) -> Result<(), E> {
    if at_hz.is_empty() {
        let progress = Progress::new("reducing");
        return ensemble.each_made(make, take, |share| progress.at(share));
    }
    for freq_hz in at_hz {
        if let Some(point) = nearest(ensemble, *freq_hz)? {
            take(&make(point))?;
        }
    }
    Ok(())
}

/// A measured frequency this far from the one asked for, as a share of it, is told.
const TOLD_APART: f64 = 1e-3;

/// Says which frequencies asked for were answered by a point that lies apart from them.
pub(super) fn write_asked(
    part: &Prepared<'_>,
    at_hz: &[f64],
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    for asked_hz in at_hz {
        let Some(point) = nearest(&part.ensemble, *asked_hz)? else {
            continue;
        };
        if (point.freq_hz - asked_hz).abs() > TOLD_APART * asked_hz {
            writeln!(
                err,
                "jig: {}: {} was asked for; the nearest measured point is {}",
                part.inputs.title(),
                engineering(*asked_hz, "Hz", 6),
                engineering(point.freq_hz, "Hz", 6)
            )?;
        }
    }
    Ok(())
}

/// The point nearest to a frequency that can be told.
pub(super) fn nearest(
    ensemble: &Ensemble<'_>,
    freq_hz: f64,
) -> Result<Option<PartPoint>, ReduceError> {
    let all = ensemble.freq_hz();
    let distance = |k: usize| (all[k] - freq_hz).abs();
    let by_distance = |a: &usize, b: &usize| distance(*a).total_cmp(&distance(*b));
    let Some(first) = (0..all.len()).min_by(by_distance) else {
        return Ok(None);
    };
    match ensemble.point(first) {
        Err(ReduceError::Blank { .. }) => {}
        found => return found.map(Some),
    }
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(by_distance);
    for index in order {
        match ensemble.point(index) {
            Err(ReduceError::Blank { .. }) => {}
            found => return found.map(Some),
        }
    }
    Ok(None)
}
