//! The drawer of a round: what is known, what to read next, what was read, and the answer.

use egui::{RichText, ScrollArea, Ui};
use jigwise_bench::words::fixture_title;
use jigwise_bench::{Fixture, complex_ohm};
use jigwise_exercises::round::{AVERAGES, CALIBRATION_COST, Subject, hertz};

use super::choice::{choice_named, command, row_of_words};
use super::entries::{TypedText, fields_ui, typed_ui};
use crate::teach::Playing;
use crate::{Mode, Simulator};

/// What was pressed or typed.
enum Wish {
    Read,
    Calibrate,
    Convert(String),
    Answer(String),
}

/// The drawer.
pub(super) fn round_ui(ui: &mut Ui, simulator: &mut Simulator) {
    let mut wish = None;
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let Simulator { teach, memory, .. } = &mut *simulator;
        let Mode::Round(playing) = &mut teach.mode else {
            ui.label("No round is being played.");
            return;
        };
        // Short, so that the sign at the right has its place.
        ui.label(RichText::new(format!("Part {}", playing.round.code())).strong());
        if let Some(graded) = playing.graded() {
            for sentence in graded.sentences() {
                ui.label(sentence);
            }
            ui.add_space(6.0);
        }
        // Known before the first reading; after it the readings are what is looked at.
        let is_new = playing.round.bought().is_empty();
        if is_new {
            about_ui(ui, playing);
        }
        ui.label(RichText::new(playing.round.question()).small());
        if !playing.round.is_over() {
            let pressed = draft_ui(ui, playing);
            wish = fields_of(ui, playing, memory).or(pressed);
        }
        let bought = playing.round.bought();
        for (at, each) in bought.iter().enumerate().rev() {
            ui.label(RichText::new(format!("{}. {each}", at + 1)).small());
        }
        if !is_new {
            about_ui(ui, playing);
        }
    });
    match wish {
        None => {}
        Some(Wish::Read) => simulator.buy(),
        Some(Wish::Calibrate) => simulator.calibrate_in_round(),
        Some(Wish::Convert(text)) => simulator.convert(&text),
        Some(Wish::Answer(text)) => simulator.answer_round(&text),
    }
}

/// The fields for a formula and for the answer, side by side.
fn fields_of(ui: &mut Ui, playing: &Playing, memory: &mut super::FrameMemory) -> Option<Wish> {
    const WIDTH: f32 = 168.0;
    let mut wish = None;
    fields_ui(ui, |ui| {
        let formula = TypedText {
            name: "Formula in S and Z0",
            hint: "turns the last reading of the part into ohms",
            width: WIDTH,
            shown: playing.formula.clone(),
        };
        if let Some(text) = typed_ui(ui, &mut memory.entries, &formula) {
            wish = Some(Wish::Convert(text));
        }
        let answer = TypedText {
            name: "Answer with its ±",
            hint: "a value with its 95 % interval, or can't be told",
            width: WIDTH,
            shown: String::new(),
        };
        let answered = typed_ui(ui, &mut memory.entries, &answer);
        if let Some(text) = answered.filter(|text| !text.trim().is_empty()) {
            wish = Some(Wish::Answer(text));
        }
    });
    if let Some(z) = playing.converted() {
        let words = format!("It makes {} of the last reading.", complex_ohm(z, 4));
        ui.label(RichText::new(words).small());
    }
    wish
}

fn about_ui(ui: &mut Ui, playing: &Playing) {
    for sentence in playing.round.about() {
        ui.label(RichText::new(sentence).small());
    }
}

/// One of several, a row of words.
fn one_of<T: PartialEq + Copy>(
    ui: &mut Ui,
    name: &str,
    now: &mut T,
    all: impl Iterator<Item = (T, String)>,
) {
    row_of_words(ui, |ui| {
        ui.spacing_mut().item_spacing.x = 14.0;
        ui.label(RichText::new(name).weak().small());
        for (value, shown) in all {
            if choice_named(ui, &shown, &format!("{name}: {shown}"), *now == value) {
                *now = value;
            }
        }
    });
}

fn draft_ui(ui: &mut Ui, playing: &mut Playing) -> Option<Wish> {
    let mut wish = None;
    let freq_hz = playing.round.freq_hz().to_vec();
    let draft = &mut playing.draft;
    let subjects = Subject::ALL.into_iter().map(|each| (each, each.title()));
    one_of(ui, "Put in", &mut draft.subject, subjects);
    let fixtures = Fixture::ALL.into_iter();
    let fixtures = fixtures.map(|each| (each, fixture_title(each).to_lowercase()));
    one_of(ui, "In", &mut draft.fixture, fixtures);
    let frequencies = freq_hz.into_iter().enumerate();
    let frequencies = frequencies.map(|(at, hz)| (at, hertz(hz)));
    one_of(ui, "At", &mut draft.freq_at, frequencies);
    let averages = AVERAGES.into_iter().map(|each| (each, each.to_string()));
    one_of(ui, "Averages", &mut draft.averages, averages);
    row_of_words(ui, |ui| {
        ui.spacing_mut().item_spacing.x = 18.0;
        let read = format!("Read it (costs {})", playing.purchase().cost());
        if command(ui, &read, &read) {
            wish = Some(Wish::Read);
        }
        let again = format!("Calibrate (costs {CALIBRATION_COST})");
        if command(ui, &again, &again) {
            wish = Some(Wish::Calibrate);
        }
    });
    wish
}
