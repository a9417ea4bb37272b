//! The band at the top while a mode is on: the sentence of a talk, what is to be predicted, what is
//! left of a round.

use egui::{Align, Rect, RichText, Ui, UiBuilder, Vec2, pos2};
use jigwise_bench::words::fixture_title;
use jigwise_bench::{Fixture, engineering};
use jigwise_exercises::Cover;
use jigwise_exercises::predict::{Guess, how};
use jigwise_exercises::round::BUDGET;

use super::answer::fitting;
use super::choice::{choice_named, command};
use super::entries::{TypedText, field_ui};
use super::named;
use crate::teach::{Playing, Predicting, Speaking};
use crate::{Drawer, Mode, Simulator, Theme};

/// The window parted into the band and the rest; no band where no mode is on.
pub(super) fn parted(window: Rect, simulator: &Simulator) -> (Rect, Rect) {
    let size = window.size();
    let is_wide = size.x >= 600.0;
    let least = if is_wide { 340.0 } else { 480.0 };
    if !simulator.teach.is_on() || size.y < least {
        let none = Rect::from_min_size(window.min, Vec2::new(size.x, 0.0));
        return (none, window);
    }
    let is_hall = simulator.view.theme == Theme::Hall && size.y >= 600.0;
    let height = match (&simulator.teach.mode, is_wide) {
        (Mode::Talk(_), true) if is_hall => 70.0,
        (Mode::Talk(_), true) => 52.0,
        (_, true) => 48.0,
        (_, false) => 96.0,
    };
    let seam = window.top() + height;
    (
        Rect::from_min_max(window.min, pos2(window.right(), seam)),
        Rect::from_min_max(pos2(window.left(), seam), window.max),
    )
}

/// The band.
pub(super) fn band_ui(ui: &mut Ui, simulator: &mut Simulator, band: Rect) {
    if !band.is_positive() {
        return;
    }
    let inner = band.shrink2(Vec2::new(16.0, 4.0));
    let ink = ui.visuals().text_color();
    ui.painter()
        .hline(band.x_range(), band.bottom() - 1.0, (2.0, ink));
    let wish = match &simulator.teach.mode {
        Mode::Free => None,
        Mode::Talk(speaking) => talk_ui(ui, speaking, inner),
        Mode::Round(playing) => round_ui(ui, playing, inner),
        Mode::Predict(_) => {
            let Simulator { teach, memory, .. } = &mut *simulator;
            match &teach.mode {
                Mode::Predict(predicting) => predict_ui(ui, predicting, memory, inner),
                _ => None,
            }
        }
    };
    match wish {
        None => {}
        Some(Wish::Leave) => simulator.leave_mode(),
        Some(Wish::Next) => simulator.next_in_talk(),
        Some(Wish::Previous) => simulator.previous_in_talk(),
        Some(Wish::Back) => simulator.back_to_stop(),
        Some(Wish::Another) => simulator.predict_next(),
        Some(Wish::Commit(guess)) => simulator.commit(guess),
        Some(Wish::Typed(cover, text)) => match Guess::read(cover, &text) {
            Ok(guess) => simulator.commit(guess),
            Err(error) => simulator.memory.complain(Err(error.to_string())),
        },
        Some(Wish::Readings) => {
            let is_open = simulator.view.drawer == Some(Drawer::Round);
            simulator.view.drawer = (!is_open).then_some(Drawer::Round);
        }
    }
}

/// What was pressed in the band.
enum Wish {
    Leave,
    Next,
    Previous,
    Back,
    Another,
    Commit(Guess),
    Typed(Cover, String),
    Readings,
}

/// A row from the right end of the band; where its left end is.
fn from_right(ui: &mut Ui, place: Rect, content: impl FnOnce(&mut Ui)) -> f32 {
    let mut row = ui.new_child(
        UiBuilder::new()
            .id_salt("band")
            .max_rect(place)
            .layout(egui::Layout::right_to_left(Align::Center)),
    );
    row.spacing_mut().item_spacing.x = 18.0;
    content(&mut row);
    row.min_rect().left()
}

/// Writes a sentence into a place as large as it may be.
fn sentence(ui: &Ui, name: &str, text: &str, largest: f32, place: Rect) {
    let galley = fitting(ui, text, largest, place.size());
    let at = pos2(
        place.left(),
        place.center().y - (galley.size().y / 2.0).min(place.height() / 2.0),
    );
    named::galley(ui, name, text, at, galley);
}

fn talk_ui(ui: &mut Ui, speaking: &Speaking, inner: Rect) -> Option<Wish> {
    let mut wish = None;
    let is_wide = inner.width() >= 568.0;
    let row = if is_wide {
        inner
    } else {
        Rect::from_min_max(pos2(inner.left(), inner.bottom() - 34.0), inner.max)
    };
    let left = from_right(ui, row, |ui| {
        if command(ui, "End", "End the talk") {
            wish = Some(Wish::Leave);
        }
        let next = if speaking.has_covers() {
            "Uncover"
        } else {
            "Next"
        };
        if command(ui, next, next) {
            wish = Some(Wish::Next);
        }
        if command(ui, "As it was", "Back to the stop as it was") {
            wish = Some(Wish::Back);
        }
        if command(ui, "Previous", "The previous stop") {
            wish = Some(Wish::Previous);
        }
        let place = format!("{}/{}", speaking.at() + 1, speaking.talk().stops.len());
        let label = ui.label(RichText::new(&place).small().weak());
        ui.ctx().accesskit_node_builder(label.id, |node| {
            let stop = &speaking.talk().stops[speaking.at()];
            node.set_value(format!("Stop {place}: {}", stop.title));
        });
    });
    let room = if is_wide {
        Rect::from_min_max(inner.min, pos2(left - 20.0, inner.bottom()))
    } else {
        Rect::from_min_max(inner.min, pos2(inner.right(), row.top()))
    };
    let largest = (0.52 * inner.height()).clamp(16.0, 34.0);
    sentence(ui, "Sentence", &speaking.sentence(), largest, room);
    wish
}

fn round_ui(ui: &mut Ui, playing: &Playing, inner: Rect) -> Option<Wish> {
    let mut wish = None;
    let row = Rect::from_min_max(pos2(inner.left(), inner.bottom() - 34.0), inner.max);
    let row = if inner.width() >= 568.0 { inner } else { row };
    let left = from_right(ui, row, |ui| {
        if command(ui, "Stop", "Stop this round") {
            wish = Some(Wish::Leave);
        }
        if command(ui, "Readings", "Readings and answer") {
            wish = Some(Wish::Readings);
        }
        let left = format!("{} of {BUDGET} left", playing.round().left());
        ui.label(RichText::new(left).small());
    });
    let room = if inner.width() >= 568.0 {
        Rect::from_min_max(inner.min, pos2(left - 20.0, inner.bottom()))
    } else {
        Rect::from_min_max(inner.min, pos2(inner.right(), row.top()))
    };
    let text = match playing.graded() {
        Some(graded) => graded.to_string(),
        None => format!(
            "Unlabelled part {}. The bench below is yours to try a guess on.",
            playing.round().code()
        ),
    };
    sentence(ui, "Round", &text, 18.0, room);
    wish
}

fn predict_ui(
    ui: &mut Ui,
    predicting: &Predicting,
    memory: &mut super::FrameMemory,
    inner: Rect,
) -> Option<Wish> {
    let mut wish = None;
    let is_wide = inner.width() >= 568.0;
    let row = if is_wide {
        inner
    } else {
        Rect::from_min_max(pos2(inner.left(), inner.bottom() - 34.0), inner.max)
    };
    let cover = predicting.cover();
    let is_done = predicting.uncovered().is_some();
    let left = from_right(ui, row, |ui| {
        if command(ui, "Stop", "Stop predicting") {
            wish = Some(Wish::Leave);
        }
        if is_done {
            if command(ui, "Another part", "Predict another part") {
                wish = Some(Wish::Another);
            }
            return;
        }
        match cover {
            Cover::BestFixture => {
                for fixture in Fixture::ALL.into_iter().rev() {
                    let title = fixture_title(fixture);
                    let name = format!("Predict {title}");
                    if choice_named(ui, title, &name, false) {
                        wish = Some(Wish::Commit(Guess::Fixture(fixture)));
                    }
                }
            }
            Cover::Verdict(_) => {
                for (shown, sees) in [("does not see it", false), ("sees it", true)] {
                    if choice_named(ui, shown, &format!("Predict: {shown}"), false) {
                        wish = Some(Wish::Commit(Guess::Sees(sees)));
                    }
                }
            }
            Cover::Reading(_) | Cover::Bar(_) => {
                if let Some(ohm) = predicting.tapped_ohm {
                    let shown = format!("It ends at {}", engineering(ohm, "Ω", 3));
                    if command(ui, &shown, &format!("Predict: {shown}")) {
                        wish = Some(Wish::Commit(Guess::BarEnd(ohm)));
                    }
                }
                let (rect, _) =
                    ui.allocate_exact_size(Vec2::new(120.0, 32.0), egui::Sense::hover());
                let typed = TypedText {
                    name: "Prediction",
                    hint: how(cover),
                    width: 0.0,
                    shown: String::new(),
                };
                let entered = field_ui(ui, &mut memory.entries, &typed, "Prediction", rect);
                if let Some(text) = entered.filter(|text| !text.trim().is_empty()) {
                    wish = Some(Wish::Typed(cover, text));
                }
            }
        }
    });
    let room = if is_wide {
        Rect::from_min_max(inner.min, pos2(left - 20.0, inner.bottom()))
    } else {
        Rect::from_min_max(inner.min, pos2(inner.right(), row.top()))
    };
    let text = match predicting.uncovered() {
        Some(uncovered) => uncovered.to_string(),
        None => format!("Predict {cover}: {}.", how(cover)),
    };
    sentence(ui, "Prediction", &text, 20.0, room);
    wish
}

/// A dark window with nothing in it.
pub(super) fn blank_ui(ui: &Ui, window: Rect) {
    ui.painter().rect_filled(window, 0.0, egui::Color32::BLACK);
    named::say(
        ui,
        "Blank",
        "the window shows nothing; b brings the talk back",
        window,
    );
}
