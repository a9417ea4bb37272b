//! The points asked for, one after the other.

use jigwise_reduce::{Ensemble, PartPoint, ReduceError};

use crate::progress::Progress;

/// Hands on the points asked for: every one, or those nearest to some frequencies.
pub(super) fn wanted<E: From<ReduceError>>(
    ensemble: &Ensemble<'_>,
    at_hz: &[f64],
    mut take: impl FnMut(&PartPoint) -> Result<(), E>,
) -> Result<(), E> {
    if at_hz.is_empty() {
        let mut progress = Progress::new("reducing");
        return ensemble.each(take, |share| progress.at(share));
    }
    for freq_hz in at_hz {
        if let Some(point) = nearest(ensemble, *freq_hz)? {
            take(&point)?;
        }
    }
    Ok(())
}

/// The point nearest to a frequency that can be told.
fn nearest(ensemble: &Ensemble<'_>, freq_hz: f64) -> Result<Option<PartPoint>, ReduceError> {
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
