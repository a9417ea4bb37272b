//! The window.

use bevy::DefaultPlugins;
use bevy::app::{App, AppExit, PluginGroup, Startup};
use bevy::camera::Camera2d;
use bevy::ecs::system::Commands;
use bevy::log::LogPlugin;
use bevy::utils::default;
use bevy::window::{Window, WindowPlugin, WindowResolution};
use bevy::winit::WinitSettings;

use super::HostError;
use crate::Desk;

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`HostError::NoDisplay`], [`HostError::NoAdapter`].
#[cfg(not(target_arch = "wasm32"))]
pub fn open(desk: Desk, size: [u32; 2]) -> Result<AppExit, HostError> {
    super::platform::require_display()?;
    super::platform::require_adapter()?;
    let mut app = quietly_prepared(desk, size);
    Ok(app.run())
}

/// Fills the page's canvas.
///
/// # Errors
/// None; the signature is the native one.
#[cfg(target_arch = "wasm32")]
pub fn open(desk: Desk, size: [u32; 2]) -> Result<AppExit, HostError> {
    let mut app = App::new();
    furnish(&mut app, desk, size);
    Ok(app.run())
}

/// The app. Where the display named by the environment does not answer, the event loop's own
/// way to say so is a panic: while it is being made, that is told in our sentence instead.
#[cfg(not(target_arch = "wasm32"))]
fn quietly_prepared(desk: Desk, size: [u32; 2]) -> App {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {
        crate::start::tell(&HostError::NoDisplay);
        std::process::exit(i32::from(crate::start::BAD_INPUT));
    }));
    let mut app = App::new();
    furnish(&mut app, desk, size);
    std::panic::set_hook(hook);
    app
}

fn furnish(app: &mut App, desk: Desk, [width, height]: [u32; 2]) {
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
            .set(quiet_log()),
    )
    .insert_resource(WinitSettings::desktop_app())
    .insert_resource(desk)
    .add_plugins(super::plugin)
    .add_systems(Startup, |mut commands: Commands| {
        commands.spawn(Camera2d);
    });
}

/// A user is told what goes wrong, not how the renderer is getting on.
pub(super) fn quiet_log() -> LogPlugin {
    LogPlugin {
        filter: "error,wgpu_hal=off,wgpu_core=error".to_owned(),
        ..default()
    }
}
