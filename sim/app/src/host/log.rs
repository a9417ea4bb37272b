//! What reaches the terminal.

use bevy::log::LogPlugin;
use bevy::utils::default;

/// The errors, without the renderer's remarks on how it is getting on.
pub(super) fn quiet() -> LogPlugin {
    LogPlugin {
        filter: "error,wgpu_hal=off,wgpu_core=error".to_owned(),
        ..default()
    }
}
