//! The window.

use bevy::DefaultPlugins;
use bevy::app::{App, AppExit, PluginGroup, Startup};
use bevy::camera::Camera2d;
use bevy::ecs::system::Commands;
use bevy::utils::default;
use bevy::window::{Window, WindowPlugin, WindowResolution};
use bevy::winit::WinitSettings;

#[cfg(not(target_arch = "wasm32"))]
use super::progress::{self, Kept};
#[cfg(not(target_arch = "wasm32"))]
use super::settings::{self, Settings};
use super::{HostError, log};
use crate::Simulator;

/// Opens the window, as the user's settings say, and returns when it is closed.
///
/// # Errors
/// [`HostError::NoDisplay`], [`HostError::NoAdapter`].
#[cfg(not(target_arch = "wasm32"))]
pub fn open(
    simulator: Simulator,
    size: [u32; 2],
    settings: Settings,
    kept: Kept,
) -> Result<AppExit, HostError> {
    super::platform::require_display()?;
    super::platform::require_adapter()?;
    let mut app = super::platform::where_no_display_answers(|| {
        let mut app = App::new();
        furnish(&mut app, simulator, size);
        settings::plugin(&mut app, settings);
        progress::plugin(&mut app, kept);
        super::book::plugin(&mut app);
        app
    });
    Ok(app.run())
}

/// Fills the page's canvas. A page remembers nothing.
///
/// # Errors
/// None; the result is the native one.
#[cfg(target_arch = "wasm32")]
pub fn open(simulator: Simulator, size: [u32; 2]) -> Result<AppExit, HostError> {
    let mut app = App::new();
    furnish(&mut app, simulator, size);
    super::page::plugin(&mut app);
    Ok(app.run())
}

fn furnish(app: &mut App, simulator: Simulator, [width, height]: [u32; 2]) {
    app.add_plugins(
        DefaultPlugins
            .set(WindowPlugin {
                primary_window: Some(Window {
                    title: "Jigwise".to_owned(),
                    resolution: WindowResolution::new(width, height),
                    canvas: Some("#jigwise".to_owned()),
                    fit_canvas_to_parent: true,
                    prevent_default_event_handling: false,
                    ..default()
                }),
                ..default()
            })
            .set(log::quiet()),
    )
    .insert_resource(WinitSettings::desktop_app())
    .insert_resource(simulator)
    .add_plugins(super::plugin)
    .add_systems(Startup, |mut commands: Commands| {
        commands.spawn(Camera2d);
    });
}
