//! What repeating a reading shows: the random part of the budget alone.

use crate::uncertainty::view::View;
use crate::{Budget, Cause, Covariance, Fixture, Immittance};

impl Budget {
    /// Covariance of one reading from noise: floor and trace noise, and for a `swapped` part
    /// what connecting it scatters. Dimensionless; `None` at the pole of an active part.
    ///
    /// This is the C of the separation d = √(ΔSᵀ·C̄⁻¹·ΔS).
    pub fn random_covariance(
        &self,
        fixture: Fixture,
        device: Immittance,
        swapped: bool,
    ) -> Option<Covariance> {
        let view = View::of(fixture, device, self.reference().ohm())?;
        let connecting = if swapped {
            Covariance::circular(self.reconnect_variance)
        } else {
            Covariance::ZERO
        };
        let noise = [Cause::NoiseFloor, Cause::TraceMagnitude, Cause::TracePhase];
        Some(
            noise
                .into_iter()
                .map(|cause| self.by_cause(cause, &view))
                .fold(connecting, |sum, one| sum + one),
        )
    }
}
