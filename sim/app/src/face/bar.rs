//! The bar: the part, what it is measured at and with, and the button that matters most.

use egui::{FontId, Rect, Ui, UiBuilder, Vec2, pos2};
use jigwise_bench::NamedInstrument;
use jigwise_exercises::explain::Thing;

use super::choice::{button, choice, list_ui};
use super::entries::{Entry, entry_in};
use super::layout::{Layout, Shape};
use super::memory::FrameMemory;
use super::part::{amount_in, told};
use crate::{BenchPage, Desk, Drawer, Theme, View};

/// The bar in two goes, so that Tab comes from the part to the chart before the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    First,
    Rest,
}

/// Where the fields of the bar are.
struct Places {
    part: Rect,
    frequency: Option<Rect>,
    instrument: Option<Rect>,
    nudge: Option<Rect>,
    calibrate: Rect,
    words: Vec<(&'static str, egui::Pos2)>,
    rest: Rect,
}

/// A bar narrower than this, for letters of the plain size, has only what can't be spared.
const TIGHT: f32 = 480.0;

impl Places {
    fn of(bar: Rect, layout: &Layout, theme: Theme) -> Self {
        let size = layout.sizes.body;
        let y = bar.center().y - layout.target / 2.0;
        let mut x = bar.left();
        let mut words = Vec::new();
        let place = |x: &mut f32, width: f32| {
            let rect = Rect::from_min_size(pos2(*x, y), Vec2::new(width, layout.target));
            *x += width + 14.0;
            rect
        };
        let letters = |count: f32| 0.56 * count * size + 18.0;
        let mut word = |x: &mut f32, text: &'static str, width: f32| {
            words.push((text, pos2(*x, bar.center().y)));
            *x += width * layout.sizes.small;
        };
        let button = 0.545 * 15.0 * size + if layout.target > 40.0 { 24.0 } else { 32.0 };
        let is_hall = theme == Theme::Hall;
        let room = bar.width();
        if layout.shape != Shape::Wide {
            let is_narrow = layout.shape == Shape::Narrow;
            let button = if is_narrow { 0.63 * room } else { button };
            let part = place(&mut x, (room - button - 14.0).clamp(40.0, 150.0));
            x -= if is_narrow { 8.0 } else { 0.0 };
            let room_left = bar.right() - x;
            let calibrate = place(&mut x, button.min(room_left));
            return Self {
                part,
                frequency: None,
                instrument: None,
                nudge: None,
                calibrate,
                words,
                rest: Rect::from_min_max(pos2(x, bar.top()), bar.max),
            };
        }
        let is_tight = room < TIGHT * size / 16.0;
        if !is_tight {
            word(&mut x, "Part", 2.5);
        }
        let part = place(&mut x, letters(if is_tight { 6.0 } else { 10.0 }));
        let has = |needed: f32| room >= needed * size / 16.0;
        let frequency = (has(780.0) && !is_hall).then(|| {
            word(&mut x, "at", 1.4);
            place(&mut x, letters(8.5))
        });
        let instrument = has(620.0).then(|| {
            word(&mut x, "on", 1.6);
            place(&mut x, letters(11.5))
        });
        let nudge = (has(900.0) && !is_hall).then(|| {
            word(&mut x, "nudge", 3.2);
            place(&mut x, letters(6.5))
        });
        x += if is_tight { 0.0 } else { 12.0 };
        let calibrate = place(&mut x, button);
        Self {
            part,
            frequency,
            instrument,
            nudge,
            calibrate,
            words,
            rest: Rect::from_min_max(pos2(x, bar.top()), bar.max),
        }
    }
}

/// What the book explains of a place in the bar.
pub(super) fn thing_at(at: egui::Pos2, layout: &Layout, theme: Theme) -> Option<Thing> {
    let places = Places::of(layout.bar, layout, theme);
    let is_in = |place: Option<Rect>| place.is_some_and(|place| place.contains(at));
    if is_in(Some(places.calibrate)) {
        Some(Thing::CalibrateAgain)
    } else if is_in(places.frequency) {
        Some(Thing::Frequency)
    } else if is_in(places.instrument) {
        Some(Thing::Instrument)
    } else if is_in(places.nudge) {
        Some(Thing::Nudge)
    } else if is_in(Some(places.part)) {
        Some(Thing::Part)
    } else {
        is_in(Some(places.rest)).then_some(Thing::View)
    }
}

/// One go of the bar.
pub(super) fn bar_ui(
    ui: &mut Ui,
    desk: &mut Desk,
    view: &mut View,
    memory: &mut FrameMemory,
    layout: &Layout,
    part: Part,
) {
    let places = Places::of(layout.bar, layout, view.theme);
    if part == Part::First {
        entry_in(ui, desk, &mut memory.entries, Entry::Part, places.part);
        return;
    }
    let mut pressing = ui.new_child(UiBuilder::new().max_rect(places.calibrate));
    if button(&mut pressing, "Calibrate again", layout.target, true).clicked() {
        desk.calibrate_again();
    }
    let faint = ui.visuals().weak_text_color();
    for (text, at) in &places.words {
        let font = FontId::proportional(layout.sizes.small);
        ui.painter()
            .text(*at, egui::Align2::LEFT_CENTER, text, font, faint);
    }
    if let Some(rect) = places.frequency {
        entry_in(ui, desk, &mut memory.entries, Entry::Frequency, rect);
    }
    if let Some(rect) = places.instrument {
        instrument_ui(ui, desk, memory, rect);
    }
    if let Some(rect) = places.nudge {
        amount_in(ui, desk, &mut memory.entries, rect);
    }
    drawers_ui(ui, view, layout, places.rest);
}

fn drawers_ui(ui: &mut Ui, view: &mut View, layout: &Layout, rest: Rect) {
    let names: &[_] = match layout.shape {
        Shape::Wide if rest.width() < 9.0 * layout.sizes.body => &["Bench", "View"],
        Shape::Wide if layout.has_why || rest.width() < 12.0 * layout.sizes.body => {
            &["Bench", "View", "Learn"]
        }
        Shape::Wide => &["Why", "Bench", "View", "Learn"],
        Shape::Tall | Shape::Narrow => &[],
    };
    let mut room = ui.new_child(
        UiBuilder::new()
            .max_rect(rest)
            .layout(egui::Layout::right_to_left(egui::Align::Center)),
    );
    room.spacing_mut().item_spacing.x = 20.0;
    for name in names.iter().rev() {
        let drawer = match *name {
            "Why" => Drawer::Why,
            "Bench" => Drawer::Bench(BenchPage::Part),
            "Learn" => Drawer::Learn,
            _ => Drawer::View,
        };
        drawer_choice(&mut room, view, name, drawer);
    }
}

/// A word that opens a drawer, and closes it where it is open.
pub(super) fn drawer_choice(ui: &mut Ui, view: &mut View, name: &str, drawer: Drawer) {
    let same = |open: Drawer| std::mem::discriminant(&open) == std::mem::discriminant(&drawer);
    let is_open = view.drawer.is_some_and(same);
    if choice(ui, name, is_open) {
        view.drawer = (!is_open).then_some(drawer);
    }
}

/// The analyzer, and the list to choose another one from.
fn instrument_ui(ui: &mut Ui, desk: &mut Desk, memory: &mut FrameMemory, rect: Rect) {
    let name = desk.instrument().name;
    let presets = NamedInstrument::preset_names().into_iter();
    if let Some(preset) =
        list_ui(ui, "Instrument", &name, presets, rect).and_then(NamedInstrument::preset)
    {
        memory.entries.say(told(desk.set_instrument(preset)));
    }
}
