//! Keys of the modes: those that a clicker sends, and those that leave.

use egui::{Event, Key, Ui};

use super::Mode;
use crate::Simulator;

/// Hears the keys of the mode in force, before anything is drawn.
pub(crate) fn hear(ui: &Ui, simulator: &mut Simulator) {
    let Mode::Talk(_) = simulator.teach.mode else {
        return;
    };
    let pressed = |key: Key| ui.input(|input| input.num_presses(key));
    for _ in 0..pressed(Key::PageDown) {
        simulator.next_in_talk();
    }
    for _ in 0..pressed(Key::PageUp) {
        simulator.previous_in_talk();
    }
    // What a clicker sends for a blank screen; in a field it is a letter.
    let is_typing = ui.ctx().text_edit_focused();
    let blanks = ui.input(|input| {
        let is_blank =
            |event: &&Event| matches!(event, Event::Text(text) if text == "b" || text == ".");
        input.events.iter().filter(is_blank).count()
    });
    if !is_typing && blanks % 2 == 1 {
        simulator.blank();
    }
    let has_drawer = simulator.view.drawer.is_some();
    if pressed(Key::Escape) > 0 && !is_typing && !has_drawer {
        simulator.back_to_stop();
    }
}
