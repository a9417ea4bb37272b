//! Nothing is drawn while nothing happens.

use bevy::app::{App, PostUpdate, PreUpdate};
use bevy::ecs::message::MessageWriter;
use bevy::ecs::schedule::IntoScheduleConfigs;
use bevy::ecs::system::{Local, Query, Res};
use bevy::window::RequestRedraw;
use bevy_egui::{EguiInput, EguiPostUpdateSet, EguiPreUpdateSet};
use egui::{Event, Modifiers};

use crate::Desk;

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

/// A move is spoken of half a second after the last one: until then frames go on.
fn wait_for_rest(desk: Res<Desk>, mut redraw: MessageWriter<RequestRedraw>) {
    if desk.announcement().is_waiting() {
        redraw.write(RequestRedraw);
    }
}
