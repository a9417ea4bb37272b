//! Frequencies to sweep over.

/// `points` of them from `from_hz` to `to_hz`, each the same factor above the one before.
pub fn log_sweep(from_hz: f64, to_hz: f64, points: usize) -> Vec<f64> {
    (0..points)
        .map(|k| from_hz * (to_hz / from_hz).powf(k as f64 / (points - 1) as f64))
        .collect()
}

/// `points` of them from `from_hz` to `to_hz`, each the same step above the one before.
pub fn even_sweep(from_hz: f64, to_hz: f64, points: usize) -> Vec<f64> {
    (0..points)
        .map(|k| from_hz + (to_hz - from_hz) * k as f64 / (points - 1) as f64)
        .collect()
}
