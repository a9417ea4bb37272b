//! The real plugins without event loop, graphics adapter or log: for tests and benches.

use bevy::DefaultPlugins;
use bevy::app::{App, PluginGroup};
use bevy::camera::Camera2d;
use bevy::log::LogPlugin;
use bevy::render::RenderPlugin;
use bevy::render::settings::{RenderCreation, WgpuSettings};
use bevy::utils::default;
use bevy::winit::WinitPlugin;

use crate::Simulator;

/// An app around `simulator`, ready for its first update, with a window that no screen shows.
pub fn app(simulator: Simulator) -> App {
    let mut app = App::new();
    app.add_plugins(
        DefaultPlugins
            .build()
            .disable::<WinitPlugin>()
            .disable::<LogPlugin>()
            .set(RenderPlugin {
                render_creation: RenderCreation::Automatic(Box::new(WgpuSettings {
                    backends: None,
                    ..default()
                })),
                ..default()
            }),
    )
    .insert_resource(simulator)
    .add_plugins(super::plugin);
    app.finish();
    app.cleanup();
    app.world_mut().spawn(Camera2d);
    app
}
