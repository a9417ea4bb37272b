//! The answer in large letters, and why.

use egui::text::LayoutJob;
use egui::{Align, FontId, Galley, RichText, ScrollArea, Ui, Vec2, pos2};
use jigwise_bench::words::{beside_an_end, device_sentence, nudge_in_ohms};
use std::sync::Arc;

use super::layout::{Layout, Shape};
use super::look::strong_family;
use super::memory::{FrameMemory, Seen};
use super::named;
use crate::{Desk, View};

/// The least size of the answer's letters.
const LEAST: f32 = 14.0;

/// The sentence that names the fixture, and under it why.
pub(super) fn answer_ui(ui: &mut Ui, view: &View, seen: &Seen, layout: &Layout) {
    let rect = layout.answer;
    if !rect.is_positive() {
        return;
    }
    let has_why = layout.has_why && !seen.answer.why.is_empty() && !view.covers.why();
    let (line, spoken) = match view.covers.answer() {
        true => ("?", "covered"),
        false => (seen.answer.line.as_str(), seen.answer.line.as_str()),
    };
    let why_size = if layout.shape == Shape::Wide && layout.answer_size >= 28.0 {
        layout.sizes.body
    } else {
        layout.sizes.small
    };
    let why_lines = if layout.shape == Shape::Wide { 1 } else { 2 };
    let why = has_why.then(|| {
        let ink = ui.visuals().weak_text_color();
        let font = FontId::proportional(why_size);
        lines(ui, &seen.answer.why, font, ink, rect.width(), why_lines)
    });
    let why_height = why.as_ref().map_or(0.0, |why| why.size().y + 2.0);
    let room = Vec2::new(rect.width(), rect.height() - why_height - 4.0);
    let answer = fitting(ui, line, layout.answer_size, room);
    let whole = answer.size().y + why_height;
    let top = rect.top() + ((rect.height() - whole) / 2.0).max(2.0);
    let at = pos2(rect.left(), top);
    let below = at + Vec2::new(0.0, answer.size().y + 2.0);
    named::galley(ui, "Answer", spoken, at, answer);
    if let Some(why) = why {
        named::galley(ui, "Why", &seen.answer.why, below, why);
    }
}

/// Letters as large as the room allows.
pub(super) fn fitting(ui: &Ui, text: &str, largest: f32, room: Vec2) -> Arc<Galley> {
    let ink = ui.visuals().text_color();
    let mut size = largest;
    loop {
        let font = FontId::new(size, strong_family());
        let galley = lines(ui, text, font, ink, room.x, 4);
        if size <= LEAST || galley.size().y <= room.y {
            return galley;
        }
        size -= 1.0;
    }
}

fn lines(
    ui: &Ui,
    text: &str,
    font: FontId,
    ink: egui::Color32,
    width: f32,
    most: usize,
) -> Arc<Galley> {
    let mut job = LayoutJob::simple(text.to_owned(), font, ink, width);
    job.wrap.max_rows = most;
    job.halign = Align::LEFT;
    ui.painter().layout_job(job)
}

/// Everything that is said of the answer, for a window without room for it.
pub(super) fn why_ui(ui: &mut Ui, desk: &Desk, view: &View, memory: &mut FrameMemory) {
    let seen = memory.seen(desk, view.wanted);
    if view.covers.any() {
        ui.label("Something is covered: predict it first.");
        return;
    }
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.label(RichText::new("Why").strong());
        ui.label(RichText::new(&seen.answer.why).strong());
        ui.label(device_sentence(desk.device()));
        ui.label(nudge_in_ohms(&seen.readout));
        for sentence in beside_an_end(&seen.readout, desk.bench()) {
            ui.label(sentence);
        }
        super::sums::sums_ui(ui, desk, &seen);
    });
}
