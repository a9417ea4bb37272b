//! The face carried into Bevy: one plugin function per concern.

mod access;
#[cfg(not(target_arch = "wasm32"))]
mod book;
mod error;
#[cfg(not(target_arch = "wasm32"))]
pub mod headless;
mod idle;
mod log;
#[cfg(target_arch = "wasm32")]
mod page;
#[cfg(not(target_arch = "wasm32"))]
mod platform;
#[cfg(not(target_arch = "wasm32"))]
pub mod progress;
#[cfg(not(target_arch = "wasm32"))]
pub mod settings;
#[cfg(not(target_arch = "wasm32"))]
pub mod snapshot;
mod tree;
pub mod window;

pub use error::HostError;
pub use tree::spoken_lines;

use bevy::app::{App, Update};
use bevy::camera::ClearColor;
use bevy::color::Color;
use bevy::ecs::change_detection::DetectChanges;
use bevy::ecs::system::{Res, ResMut};
use bevy_egui::{EguiContexts, EguiPlugin, EguiPrimaryContextPass};
use egui::{LayerId, Ui, UiBuilder};

use crate::Simulator;
use crate::face::simulator_ui;

/// Everything but the window itself: the face, quiet when nothing happens, open to screen
/// readers. The app must hold a [`Simulator`] and Bevy's default plugins.
pub fn plugin(app: &mut App) {
    app.add_plugins(EguiPlugin::default())
        .add_plugins((idle::plugin, access::plugin))
        .add_systems(EguiPrimaryContextPass, show_simulator)
        .add_systems(Update, wear_ground);
}

fn show_simulator(mut contexts: EguiContexts, mut simulator: ResMut<Simulator>) {
    // The context is there from the second frame on.
    let Ok(ctx) = contexts.ctx_mut() else {
        return;
    };
    let mut ui = Ui::new(
        ctx.clone(),
        "simulator".into(),
        UiBuilder::new()
            .layer_id(LayerId::background())
            .max_rect(ctx.viewport_rect()),
    );
    simulator_ui(&mut ui, &mut simulator);
}

fn wear_ground(simulator: Res<Simulator>, mut clear: ResMut<ClearColor>) {
    if simulator.is_changed() {
        let [r, g, b] = simulator.view.theme.palette().ground.0;
        let color = Color::srgb_u8(r, g, b);
        if clear.0 != color {
            clear.0 = color;
        }
    }
}
