//! What the ports reflect before any correction, where the front end is known.

use num_complex::Complex64;

use crate::TwelveTerms;

/// The raw match of both ports in both directions, at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RawMatch {
    /// s and s′.
    pub source: [Complex64; 2],
    /// l and l′.
    pub load: [Complex64; 2],
}

impl RawMatch {
    pub(crate) fn of(terms: &TwelveTerms) -> Self {
        let both = [terms.forward, terms.reverse];
        Self {
            source: both.map(|direction| direction.one_port.source_match),
            load: both.map(|direction| direction.load_match),
        }
    }
}
