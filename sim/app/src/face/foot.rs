//! The last row: sums, the calibration in force, and the next move.

use egui::{Align, Ui, UiBuilder};

use super::bar::drawer_choice;
use super::choice::{choice, command};
use super::layout::{Layout, Shape};
use super::memory::Seen;
use crate::{BenchPage, Desk, Drawer, View};

/// The row.
pub(super) fn foot_ui(ui: &mut Ui, desk: &mut Desk, view: &mut View, seen: &Seen, layout: &Layout) {
    if layout.shape != Shape::Wide {
        let drawers: [(&str, Drawer); 4] = [
            ("Why", Drawer::Why),
            ("Bench", Drawer::Bench(BenchPage::Part)),
            ("View", Drawer::View),
            ("Learn", Drawer::Learn),
        ];
        ui.columns(drawers.len(), |rooms| {
            for (room, (name, drawer)) in rooms.iter_mut().zip(drawers) {
                room.vertical_centered(|ui| {
                    ui.add_space((layout.foot.height() - 32.0) / 2.0);
                    drawer_choice(ui, view, name, drawer);
                });
            }
        });
        return;
    }
    let mut row = row_of(ui, layout);
    row.spacing_mut().item_spacing.x = 22.0;
    if choice(&mut row, "Sums and formulas", view.sums) {
        view.sums = !view.sums;
    }
    if let Some(kept) = desk.kept().map(|kept| kept.device.to_string()) {
        let name = format!("Last copy: {kept}");
        if command(&mut row, &name, &name) {
            desk.swap_kept();
        }
    }
    if desk.calibration_number() > 0 {
        let shown = format!("Calibration {}", desk.calibration_number());
        let undo = format!("{shown}: back to a perfect one");
        if command(&mut row, &format!("{shown} ×"), &undo) {
            desk.calibrate_perfectly();
        }
    }
    guide_ui(&mut row, desk, view, seen);
}

fn row_of(ui: &mut Ui, layout: &Layout) -> Ui {
    ui.new_child(
        UiBuilder::new()
            .max_rect(layout.foot)
            .layout(egui::Layout::left_to_right(Align::Center)),
    )
}

/// The next move that is offered.
fn guide_ui(row: &mut Ui, desk: &Desk, view: &mut View, seen: &Seen) {
    let best = seen
        .readout
        .appraisal
        .and_then(|appraisal| appraisal.best_for_change);
    let Some(words) = view.guide.words(desk, best) else {
        return;
    };
    let room = row.available_rect_before_wrap();
    let mut end = row.new_child(
        UiBuilder::new()
            .max_rect(room)
            .layout(egui::Layout::right_to_left(Align::Center)),
    );
    if command(&mut end, "Leave me alone", "Leave me alone") {
        view.guide.leave_alone();
    }
    let font = egui::FontId::proportional(end.style().text_styles[&egui::TextStyle::Small].size);
    let ink = end.visuals().weak_text_color();
    let galley = end.painter().layout_no_wrap(words, font, ink);
    if galley.size().x <= end.available_width() {
        end.label(galley);
    }
}
