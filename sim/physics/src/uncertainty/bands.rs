//! A budget that differs by frequency band.

use crate::Budget;

/// Budgets side by side in frequency, each up to an edge that belongs to it.
///
/// ```
/// use jigwise_physics::{Bands, Budget, Fixture, Immittance, Instrument, ReferenceImpedance};
///
/// let of = |instrument| Budget::new(instrument, ReferenceImpedance::FIFTY_OHM, 0);
/// let [(edge_hz, above), _] = &Instrument::PRESETS_ABOVE[1];
/// let bands = Bands::new(vec![(30e6, of(&Instrument::CLUB_BENCH)?), (*edge_hz, of(above)?)]);
/// let floor = |freq_hz: f64| {
///     let budget = bands.at(freq_hz).unwrap();
///     budget.noise_of(num_complex::Complex64::ZERO, Fixture::Reflect).trace()
/// };
/// assert_eq!(floor(30e6), floor(1e6));
/// assert!(floor(31e6) > 25.0 * floor(30e6));
/// assert!(bands.at(301e6).is_none());
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Bands {
    /// Upper edge in Hz and budget, rising.
    bands: Vec<(f64, Budget)>,
}

impl Bands {
    /// Bands by their upper edges, Hz, which must rise.
    pub fn new(bands: Vec<(f64, Budget)>) -> Self {
        Self { bands }
    }

    /// The budget at a frequency; `None` above the last band.
    pub fn at(&self, freq_hz: f64) -> Option<&Budget> {
        self.bands
            .iter()
            .find(|(up_to_hz, _)| freq_hz <= *up_to_hz)
            .map(|(_, budget)| budget)
    }

    /// The budgets with their upper edges, Hz, rising.
    pub fn all(&self) -> &[(f64, Budget)] {
        &self.bands
    }
}

impl From<Budget> for Bands {
    /// The same budget at every frequency.
    fn from(budget: Budget) -> Self {
        Self::new(vec![(f64::INFINITY, budget)])
    }
}
