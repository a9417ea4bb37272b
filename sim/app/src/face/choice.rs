//! Words that are pressed to choose one of several.

use accesskit::Toggled;
use egui::{
    Align2, FontId, Id, Key, Popup, Rect, Response, Sense, Stroke, StrokeKind, Ui, Vec2,
    WidgetInfo, WidgetType,
};

use super::look::strong_family;
use super::steer::keep_arrows;
use crate::{Stage, View};

/// Height of what is pressed.
const TARGET: f32 = 32.0;

/// One of several, underlined where it is chosen. True when it has just been chosen.
pub(super) fn choice(ui: &mut Ui, name: &str, chosen: bool) -> bool {
    choice_named(ui, name, name, chosen)
}

/// The same with a longer name for screen readers than the one that is shown.
pub(super) fn choice_named(ui: &mut Ui, shown: &str, name: &str, chosen: bool) -> bool {
    one_of_several(ui, shown, name, chosen).clicked()
}

fn one_of_several(ui: &mut Ui, shown: &str, name: &str, chosen: bool) -> Response {
    let response = word(ui, shown, name, chosen);
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_toggled(if chosen {
            Toggled::True
        } else {
            Toggled::False
        });
    });
    response
}

/// The up and down arrows go through a list and from its end to its beginning.
fn walk_by_arrows(ui: &Ui, items: &[Id]) {
    let focused = ui.memory(|memory| memory.focused());
    let Some(here) = items.iter().position(|item| Some(*item) == focused) else {
        return;
    };
    keep_arrows(ui, items[here]);
    let steps = ui.input(|input| {
        input.num_presses(Key::ArrowDown) as isize - input.num_presses(Key::ArrowUp) as isize
    });
    if steps != 0 {
        let next = (here as isize + steps).rem_euclid(items.len() as isize);
        ui.memory_mut(|memory| memory.request_focus(items[next as usize]));
    }
}

/// A row of words, which goes on below where there is no room.
pub(super) fn row_of_words(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    row_of_height(ui, TARGET, content);
}

/// A row of things of one height, which goes on below where there is no room.
pub(super) fn row_of_height(ui: &mut Ui, height: f32, content: impl FnOnce(&mut Ui)) {
    ui.scope(|ui| {
        ui.spacing_mut().interact_size.y = height;
        ui.horizontal_wrapped(content);
    });
}

/// A word that does something when it is pressed.
pub(super) fn command(ui: &mut Ui, shown: &str, name: &str) -> bool {
    word(ui, shown, name, false).clicked()
}

fn word(ui: &mut Ui, shown: &str, name: &str, strong: bool) -> Response {
    let size = ui.style().text_styles[&egui::TextStyle::Body].size;
    let size = size.min(ui.style().text_styles[&egui::TextStyle::Small].size + 1.0);
    let font = if strong {
        FontId::new(size, strong_family())
    } else {
        FontId::proportional(size)
    };
    let ink = ui.visuals().text_color();
    let galley = ui.painter().layout_no_wrap(shown.to_owned(), font, ink);
    let room = Vec2::new(galley.size().x, TARGET.max(galley.size().y));
    let (rect, response) = ui.allocate_exact_size(room, Sense::click());
    let at = Rect::from_center_size(rect.center(), galley.size());
    ui.painter().galley(at.min, galley, ink);
    if strong || response.hovered() {
        let width = if strong { 2.0 } else { 1.0 };
        let y = at.bottom() + 1.0;
        ui.painter().hline(at.x_range(), y, Stroke::new(width, ink));
    }
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, name));
    response
}

/// A button with an edge, dark where it is the one that counts.
/// The letters come smaller where there is less room.
pub(super) fn button(ui: &mut Ui, shown: &str, height: f32, is_dark: bool) -> Response {
    let styles = &ui.style().text_styles;
    let body = styles[&egui::TextStyle::Body].size;
    let is_tight = ui.available_width() < 9.0 * body;
    let size = if is_tight {
        styles[&egui::TextStyle::Small].size
    } else {
        body
    };
    let font = FontId::new(size, strong_family());
    let visuals = ui.visuals();
    let (ink, paper) = (visuals.text_color(), visuals.panel_fill);
    let (letters, fill) = if is_dark { (paper, ink) } else { (ink, paper) };
    let galley = ui.painter().layout_no_wrap(shown.to_owned(), font, letters);
    let room = Vec2::new(ui.available_width().max(galley.size().x), height);
    let (rect, response) = ui.allocate_exact_size(room, Sense::click());
    let edge = Stroke::new(1.2, ink);
    ui.painter().rect(rect, 4.0, fill, edge, StrokeKind::Inside);
    if response.is_pointer_button_down_on() {
        let pressed = rect.shrink(3.0);
        ui.painter()
            .rect_stroke(pressed, 2.0, Stroke::new(1.2, letters), StrokeKind::Inside);
    }
    let at = Align2::CENTER_CENTER.align_size_within_rect(galley.size(), rect);
    ui.painter().galley(at.min, galley, letters);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, shown));
    response
}

/// A box with the one of several that is chosen, and the list to choose another one from.
pub(super) fn list_ui<'a>(
    ui: &mut Ui,
    name: &str,
    now: &str,
    all: impl Iterator<Item = &'a str>,
    rect: Rect,
) -> Option<&'a str> {
    let ink = ui.visuals().text_color();
    let response = ui.interact(rect, Id::new(("list", name)), Sense::click());
    let paper = ui.visuals().extreme_bg_color;
    let painter = ui.painter_at(rect);
    let edge = Stroke::new(1.2, ink);
    painter.rect(rect, 4.0, paper, edge, StrokeKind::Inside);
    let size = ui.style().text_styles[&egui::TextStyle::Body].size;
    let font = FontId::new(size, strong_family());
    let at = rect.left_center() + Vec2::new(9.0, 0.0);
    painter.text(at, Align2::LEFT_CENTER, now, font, ink);
    response
        .widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, format!("{name}: {now}")));
    let mut chosen = None;
    let is_opening = response.clicked();
    Popup::menu(&response).show(|ui| {
        let mut items = Vec::new();
        for each in all {
            let item = one_of_several(ui, each, each, each == now);
            if is_opening && each == now {
                item.request_focus();
            }
            if item.clicked() {
                chosen = Some(each);
                // A choice by key is no click, which would close the list by itself.
                ui.close();
            }
            items.push(item.id);
        }
        walk_by_arrows(ui, &items);
    });
    if chosen.is_some() {
        response.request_focus();
    }
    chosen
}

/// The names of the pictures on which the device is dragged.
pub(super) fn stages_ui(ui: &mut Ui, view: &mut View) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 20.0;
        for stage in Stage::ALL {
            if choice(ui, stage.name(), view.stage == stage) {
                view.stage = stage;
            }
        }
    });
}
