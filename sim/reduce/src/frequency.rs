//! Points of different sweeps at one frequency.

/// Two frequencies that differ by no more than this part are one.
const SAME_FREQUENCY: f64 = 1e-9;

/// As [`point_at`], where the point is most likely `near`: sweeps of one session share their
/// frequencies.
pub(crate) fn point_near(all: &[f64], near: usize, freq_hz: f64) -> Option<usize> {
    match all.get(near) {
        Some(hz) if (hz - freq_hz).abs() <= SAME_FREQUENCY * freq_hz => Some(near),
        _ => point_at(all, freq_hz),
    }
}

/// The point at a frequency, among rising ones.
pub(crate) fn point_at(all: &[f64], freq_hz: f64) -> Option<usize> {
    let above = all.partition_point(|f| *f < freq_hz);
    [above.checked_sub(1), Some(above)]
        .into_iter()
        .flatten()
        .filter(|k| *k < all.len())
        .find(|k| (all[*k] - freq_hz).abs() <= SAME_FREQUENCY * freq_hz)
}
