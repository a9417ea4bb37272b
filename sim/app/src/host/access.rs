//! Screen readers: what they ask for reaches the face.

use std::time::Duration;

use bevy::a11y::{AccessibilityRequested, ActionRequest};
use bevy::app::{App, PreUpdate, Update};
use bevy::ecs::message::{MessageReader, MessageWriter};
use bevy::ecs::query::With;
use bevy::ecs::schedule::IntoScheduleConfigs;
use bevy::ecs::system::{Query, Res, ResMut};
use bevy::window::RequestRedraw;
use bevy::winit::{UpdateMode, WinitSettings};
use bevy_egui::{EguiContext, EguiInput, EguiPreUpdateSet, PrimaryEguiContext};
use egui::Event;

/// While a screen reader listens, its wishes are looked for this often; they don't wake the
/// event loop by themselves.
const LISTEN_EVERY: Duration = Duration::from_millis(100);

pub(super) fn plugin(app: &mut App) {
    // The window registers it too; a frame drawn without one does not.
    app.add_message::<ActionRequest>()
        .add_systems(
            PreUpdate,
            forward_actions
                .after(EguiPreUpdateSet::ProcessInput)
                .before(EguiPreUpdateSet::BeginPass),
        )
        .add_systems(Update, listen);
}

fn forward_actions(
    mut actions: MessageReader<ActionRequest>,
    mut inputs: Query<&mut EguiInput, With<PrimaryEguiContext>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    for ActionRequest(request) in actions.read() {
        for mut input in &mut inputs {
            input
                .events
                .push(Event::AccessKitActionRequest(request.clone()));
            redraw.write(RequestRedraw);
        }
    }
}

/// The tree is kept once a screen reader has asked for it, however late it came.
fn listen(
    requested: Option<Res<AccessibilityRequested>>,
    settings: Option<ResMut<WinitSettings>>,
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
) {
    if !requested.is_some_and(|requested| requested.get()) {
        return;
    }
    for mut context in &mut contexts {
        context.get_mut().enable_accesskit();
    }
    if let Some(mut settings) = settings {
        let mode = UpdateMode::reactive_low_power(LISTEN_EVERY);
        if settings.unfocused_mode != mode {
            settings.unfocused_mode = mode;
            settings.focused_mode = UpdateMode::reactive(LISTEN_EVERY);
        }
    }
}
