//! What the book explains of the place that is looked at: F1 for what has the keyboard, a question
//! mark for what the pointer rests on.

use egui::{Event, Key, Pos2, Ui};
use jigwise_bench::Fixture;
use jigwise_bench::scene::ChartKind;
use jigwise_exercises::explain::Thing;

use super::layout::Layout;
use super::memory::Seen;
use super::{bar, columns, rule};
use crate::{BenchPage, Desk, Drawer, Mode, Simulator, Stage, View};

/// What is asked about by a key of this frame.
pub(super) fn hear(
    ui: &Ui,
    simulator: &mut Simulator,
    seen: &Seen,
    layout: &Layout,
) -> Option<Thing> {
    let by_focus = ui.input(|input| input.key_pressed(Key::F1));
    let is_mark = |event: &Event| matches!(event, Event::Text(text) if text == "?");
    let by_pointer = ui.input(|input| input.events.iter().any(is_mark));
    let by_pointer = by_pointer && !ui.ctx().text_edit_focused();
    if !by_focus && !by_pointer {
        return None;
    }
    let focused = ui.ctx().memory(|memory| memory.focused());
    let focused = focused.and_then(|id| Some(ui.ctx().read_response(id)?.rect.center()));
    let pointed = ui.input(|input| input.pointer.hover_pos());
    let at = match by_focus {
        true => focused.or(pointed),
        false => pointed.or(focused),
    };
    let Simulator {
        desk, view, teach, ..
    } = simulator;
    Some(
        at.and_then(|at| thing_at(at, desk, view, seen, layout))
            .unwrap_or(match teach.mode {
                Mode::Free => Thing::Answer,
                Mode::Predict(_) => Thing::Predict,
                Mode::Round(_) => Thing::Round,
                Mode::Talk(_) => Thing::Talk,
            }),
    )
}

fn thing_at(at: Pos2, desk: &Desk, view: &View, seen: &Seen, layout: &Layout) -> Option<Thing> {
    if let Some(drawer) = view.drawer.filter(|_| layout.drawer.contains(at)) {
        return Some(of_drawer(drawer));
    }
    if layout.bar.contains(at) {
        return bar::thing_at(at, layout, view.theme);
    }
    if layout.answer.contains(at) {
        return Some(Thing::Answer);
    }
    if layout.stage.contains(at) || layout.tabs.contains(at) {
        return Some(match view.shown_stage() {
            Stage::Chart(ChartKind::Reflection) => Thing::Chart,
            Stage::Chart(ChartKind::OhmPlane) => Thing::OhmPlane,
            Stage::Reach => Thing::Reach,
        });
    }
    for fixture in Fixture::ALL {
        let column = layout.columns[fixture as usize];
        if column.contains(at) {
            return Some(columns::thing_at(at, column, fixture, view, layout));
        }
    }
    if layout.rule.contains(at) {
        return Some(rule::thing_at(at, desk, view, seen, layout));
    }
    layout.foot.contains(at).then_some(Thing::Sums)
}

/// The page of a fixture.
pub(super) fn of_fixture(fixture: Fixture) -> Thing {
    match fixture {
        Fixture::Reflect => Thing::Reflect,
        Fixture::ShuntThrough => Thing::ShuntThrough,
        Fixture::SeriesThrough => Thing::SeriesThrough,
    }
}

/// The page of a drawer.
pub(super) fn of_drawer(drawer: Drawer) -> Thing {
    match drawer {
        Drawer::Bench(BenchPage::Part) => Thing::Part,
        Drawer::Bench(BenchPage::Instrument) => Thing::Instrument,
        Drawer::Bench(BenchPage::Strays) => Thing::Strays,
        Drawer::Bench(BenchPage::Calibration) => Thing::Calibration,
        Drawer::View => Thing::View,
        Drawer::Why => Thing::Answer,
        Drawer::Learn => Thing::Predict,
        Drawer::Round => Thing::Round,
    }
}
