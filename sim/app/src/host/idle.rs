//! Nothing is drawn while nothing happens.

use bevy::app::{App, PostUpdate, PreUpdate};
use bevy::ecs::message::{MessageReader, MessageWriter};
use bevy::ecs::schedule::IntoScheduleConfigs;
use bevy::ecs::system::{Local, Query, Res};
use bevy::window::{RequestRedraw, WindowResized};
use bevy_egui::{EguiContext, EguiInput, EguiPostUpdateSet, EguiPreUpdateSet};
use egui::{Event, Modifiers};

use crate::Simulator;

pub(super) fn plugin(app: &mut App) {
    app.add_systems(
        PreUpdate,
        drop_idle_modifiers
            .after(EguiPreUpdateSet::ProcessInput)
            .before(EguiPreUpdateSet::BeginPass),
    )
    .add_systems(
        PostUpdate,
        wait_for_rest.after(EguiPostUpdateSet::ProcessOutput),
    );
}

/// Every frame brings word of the modifier keys, changed or not, and egui draws again at any
/// word. What says nothing new is dropped.
fn drop_idle_modifiers(mut inputs: Query<&mut EguiInput>, mut held: Local<Modifiers>) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            Event::ModifiersChanged(modifiers) => {
                std::mem::replace(&mut *held, *modifiers) != *modifiers
            }
            _ => true,
        });
    }
}

/// Frames drawn after the last that anything changed in: new letters and a panel's new height
/// reach the screen one frame late, and a display may hold back two more.
const FRAMES_AFTER: u8 = 4;

/// A move is spoken of half a second after the last one: until then frames go on. After that,
/// and after whatever else asked for frames, a few more follow.
fn wait_for_rest(
    simulator: Res<Simulator>,
    mut contexts: Query<&mut EguiContext>,
    mut resized: MessageReader<WindowResized>,
    mut left: Local<u8>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let asked = contexts
        .iter_mut()
        .any(|mut context| context.get_mut().has_requested_repaint());
    // Zoom and letters follow a new size some frames late.
    let is_resized = resized.read().count() > 0;
    if asked || is_resized || simulator.memory.is_at_work() {
        *left = FRAMES_AFTER;
    } else {
        *left = left.saturating_sub(1);
    }
    if *left > 0 {
        redraw.write(RequestRedraw);
    }
}
