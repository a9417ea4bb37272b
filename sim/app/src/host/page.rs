//! What a page and the simulator on its canvas tell each other.
//!
//! The page's script calls the functions exported here. What it asks for waits in a box until the
//! next frame, and wakes the event loop. What the page shall say beside the canvas is handed to
//! the function that the script gave to [`page_listen`], half a second after the last change: a
//! screen reader hears nothing of a canvas.

use std::cell::RefCell;

use bevy::app::{App, First, Last, PostUpdate, PreUpdate, Startup};
use bevy::ecs::query::With;
use bevy::ecs::schedule::IntoScheduleConfigs;
use bevy::ecs::system::{Local, Query, Res, ResMut};
use bevy::platform::time::Instant;
use bevy::winit::{EventLoopProxyWrapper, WinitUserEvent};
use bevy_egui::{EguiContext, EguiInput, EguiPostUpdateSet, EguiPreUpdateSet, PrimaryEguiContext};
use jigwise_bench::words::spoken_bench;
use jigwise_bench::{NamedInstrument, Scenario};
use jigwise_exercises::progress::Progress;
use js_sys::{Array, Function};
use wasm_bindgen::prelude::*;

use crate::face::{Field, first_control, type_in};
use crate::teach::ModeLink;
use crate::{Simulator, Theme};

/// Frames whose cost is remembered.
const FRAMES_KEPT: usize = 1_000;

/// What the script asks for.
enum Asked {
    Bench(Box<Scenario>),
    Theme(Theme),
    Typed(Field, String),
    Instrument(String),
    CalibrateAgain,
    ReducedMotion,
    Link(ModeLink),
    Progress(String),
}

#[derive(Default)]
struct Page {
    asked: Vec<Asked>,
    scenario: Option<Scenario>,
    wake: Option<Box<dyn Fn()>>,
    listener: Option<Function>,
    on_leaving: Option<Function>,
    on_reading: Option<Function>,
    on_progress: Option<Function>,
    frames_ms: Vec<f64>,
}

thread_local! {
    static PAGE: RefCell<Page> = RefCell::default();
}

fn ask(asked: Asked) {
    PAGE.with_borrow_mut(|page| {
        page.asked.push(asked);
        if let Some(wake) = &page.wake {
            wake();
        }
    });
}

/// Puts the bench of a scenario file's text on the desk. The sentence that says what is wrong
/// comes back where it can't be done.
#[wasm_bindgen]
pub fn page_open(text: &str, name: &str) -> Option<String> {
    let scenario = Scenario::from_toml(text, name);
    open(scenario.map_err(|error| error.to_string()))
}

fn open(scenario: Result<Scenario, String>) -> Option<String> {
    // Computed once here, so that what the next frame takes is known to be good.
    let checked = scenario.and_then(|scenario| {
        crate::Desk::new(scenario.clone())
            .map(|_| scenario)
            .map_err(|error| error.to_string())
    });
    match checked {
        Ok(scenario) => {
            ask(Asked::Bench(Box::new(scenario)));
            None
        }
        Err(sentence) => Some(sentence),
    }
}

/// Puts the bench of a link's fragment on the desk, or says what is wrong with the link.
#[wasm_bindgen]
pub fn page_open_link(fragment: &str) -> Option<String> {
    let scenario = Scenario::from_fragment(fragment);
    open(scenario.map_err(|error| error.to_string()))
}

/// Begins the talk, the round or the prediction that a link's fragment names, as in `talk=club`; or
/// says what is wrong with the link.
#[wasm_bindgen]
pub fn page_open_mode(fragment: &str) -> Option<String> {
    match ModeLink::from_fragment(fragment) {
        Ok(link) => {
            ask(Asked::Link(link));
            None
        }
        Err(sentence) => Some(sentence),
    }
}

/// What was predicted and played before, as it was kept.
#[wasm_bindgen]
pub fn page_progress(text: &str) {
    ask(Asked::Progress(text.to_owned()));
}

/// Names the function that keeps what was predicted and played: it is called with the text of a
/// file, or with null where everything was erased.
#[wasm_bindgen]
pub fn page_on_progress(listener: Function) {
    PAGE.with_borrow_mut(|page| page.on_progress = Some(listener));
}

/// Names the function that opens a page of the book, by its address in the book.
#[wasm_bindgen]
pub fn page_on_reading(listener: Function) {
    PAGE.with_borrow_mut(|page| page.on_reading = Some(listener));
}

/// The bench on the desk as a link's fragment.
///
/// # Errors
/// The sentence that says why no link holds it.
#[wasm_bindgen]
pub fn page_link() -> Result<String, String> {
    let scenario = PAGE.with_borrow(|page| page.scenario.clone());
    scenario
        .unwrap_or_default()
        .to_fragment()
        .map_err(|error| error.to_string())
}

/// The scenario on the desk, as a file's text.
#[wasm_bindgen]
pub fn page_scenario() -> String {
    PAGE.with_borrow(|page| page.scenario.as_ref().map(Scenario::to_toml))
        .unwrap_or_default()
}

/// Types into a field: "part" or "frequency". What is wrong with it is told to the
/// listener.
#[wasm_bindgen]
pub fn page_type(field: &str, text: &str) {
    if let Some(field) = Field::named(field) {
        ask(Asked::Typed(field, text.to_owned()));
    }
}

/// Takes one of the instruments of [`page_instruments`].
#[wasm_bindgen]
pub fn page_instrument(name: &str) {
    ask(Asked::Instrument(name.to_owned()));
}

/// The names of the instruments to choose from.
#[wasm_bindgen]
pub fn page_instruments() -> Array {
    NamedInstrument::preset_names()
        .into_iter()
        .map(JsValue::from)
        .collect()
}

/// Calibrates again.
#[wasm_bindgen]
pub fn page_calibrate() {
    ask(Asked::CalibrateAgain);
}

/// Puts a theme on: "light", "dark" or "hall".
#[wasm_bindgen]
pub fn page_theme(name: &str) {
    let named = |theme: &Theme| theme.name().eq_ignore_ascii_case(name);
    if let Some(theme) = Theme::ALL.into_iter().find(named) {
        ask(Asked::Theme(theme));
    }
}

/// Nothing glides from now on.
#[wasm_bindgen]
pub fn page_reduce_motion() {
    ask(Asked::ReducedMotion);
}

/// Names the function that is told what the bench says: an array of sentences, and the complaint
/// about what was typed last, or null.
#[wasm_bindgen]
pub fn page_listen(listener: Function) {
    PAGE.with_borrow_mut(|page| page.listener = Some(listener));
}

/// Names the function that is called when Tab goes on beyond the last control, with true, or
/// back before the first, with false.
#[wasm_bindgen]
pub fn page_on_leaving(listener: Function) {
    PAGE.with_borrow_mut(|page| page.on_leaving = Some(listener));
}

/// Milliseconds of the last frames, without the renderer; for measuring.
#[wasm_bindgen]
pub fn page_frames_ms() -> Vec<f64> {
    PAGE.with_borrow_mut(|page| std::mem::take(&mut page.frames_ms))
}

/// Bytes of the module's memory, which never shrinks; for measuring.
#[wasm_bindgen]
pub fn page_memory_bytes() -> f64 {
    let memory: js_sys::WebAssembly::Memory = wasm_bindgen::memory().unchecked_into();
    let buffer: js_sys::ArrayBuffer = memory.buffer().unchecked_into();
    f64::from(buffer.byte_length())
}

/// Version and commit that the module was built from.
#[wasm_bindgen]
pub fn page_version() -> String {
    jigwise_bench::version()
}

pub(super) fn plugin(app: &mut App) {
    app.add_systems(Startup, keep_waker)
        .add_systems(First, begin_frame)
        .add_systems(Last, end_frame)
        .add_systems(
            PreUpdate,
            (
                take_asked,
                note_tab
                    .after(EguiPreUpdateSet::ProcessInput)
                    .before(EguiPreUpdateSet::BeginPass),
            ),
        )
        .add_systems(
            PostUpdate,
            (tell_page, tell_lesson, leave_by_tab).after(EguiPostUpdateSet::ProcessOutput),
        )
        .init_resource::<Tab>();
}

fn keep_waker(proxy: Res<EventLoopProxyWrapper>) {
    let proxy = (**proxy).clone();
    PAGE.with_borrow_mut(|page| {
        page.wake = Some(Box::new(move || {
            // Fails once the loop has ended, when nobody is there to be woken.
            let _ = proxy.send_event(WinitUserEvent::WakeUp);
        }));
    });
}

thread_local! {
    static FRAME_BEGAN: RefCell<Option<Instant>> = const { RefCell::new(None) };
}

fn begin_frame() {
    FRAME_BEGAN.set(Some(Instant::now()));
}

fn end_frame() {
    let Some(began) = FRAME_BEGAN.take() else {
        return;
    };
    PAGE.with_borrow_mut(|page| {
        if page.frames_ms.len() < FRAMES_KEPT {
            page.frames_ms.push(began.elapsed().as_secs_f64() * 1e3);
        }
    });
}

fn take_asked(mut simulator: ResMut<Simulator>) {
    let asked = PAGE.with_borrow_mut(|page| std::mem::take(&mut page.asked));
    for each in asked {
        let each = match each {
            Asked::Link(link) => {
                simulator.follow_link(link);
                continue;
            }
            Asked::Bench(scenario) => {
                simulator.leave_mode();
                Asked::Bench(scenario)
            }
            other => other,
        };
        let Simulator {
            desk,
            view,
            teach,
            memory,
        } = &mut *simulator;
        match each {
            Asked::Link(_) => {}
            Asked::Progress(text) => {
                let found = Progress::from_toml(&text, "what this browser kept");
                teach.take_kept(found);
            }
            Asked::Bench(scenario) => {
                let taken = desk.set_scenario(*scenario);
                memory.complain(taken.map_err(|error| error.to_string()));
            }
            Asked::Theme(theme) => view.theme = theme,
            Asked::Typed(field, text) => type_in(desk, memory, field, &text),
            Asked::Instrument(name) => {
                if let Some(preset) = NamedInstrument::preset(&name) {
                    let taken = desk.set_instrument(preset);
                    memory.complain(taken.map_err(|error| error.to_string()));
                }
            }
            Asked::CalibrateAgain => desk.calibrate_again(),
            Asked::ReducedMotion => view.reduced_motion = true,
        }
    }
}

/// What the page was told last.
#[derive(Default, PartialEq, Clone)]
struct Told {
    revision: Option<u64>,
    complaint: Option<String>,
    lesson: Vec<String>,
}

fn tell_page(simulator: Res<Simulator>, mut told: Local<Told>) {
    let Simulator {
        desk,
        view,
        teach,
        memory,
    } = &*simulator;
    let now = Told {
        revision: Some(desk.revision()),
        complaint: memory.complaint().map(str::to_owned),
        lesson: teach.spoken(),
    };
    if *told == now {
        return;
    }
    PAGE.with_borrow_mut(|page| page.scenario = Some(desk.scenario().clone()));
    if memory.announcement().is_waiting() {
        return;
    }
    let Some(listener) = PAGE.with_borrow(|page| page.listener.clone()) else {
        return;
    };
    let said = match teach.covers().any() || teach.is_blank() {
        true => Vec::new(),
        false => spoken_bench(
            desk.bench(),
            &desk.readout(),
            &desk.instrument(),
            view.wanted,
        ),
    };
    let said = now.lesson.iter().cloned().chain(said);
    let said: Array = said.map(JsValue::from).collect();
    let complaint = now.complaint.clone().map_or(JsValue::NULL, JsValue::from);
    // What the page's script does wrong is shown by the browser; the simulator goes on.
    let _ = listener.call2(&JsValue::NULL, &said, &complaint);
    *told = now;
}

/// Hands over what was predicted and played, and what the book is asked about.
fn tell_lesson(mut simulator: ResMut<Simulator>, mut kept: Local<u64>) {
    let revision = simulator.teach.revision();
    if *kept != revision {
        *kept = revision;
        let progress = &simulator.teach.progress;
        let text = match progress.is_empty() {
            true => JsValue::NULL,
            false => JsValue::from(progress.to_toml()),
        };
        if let Some(listener) = PAGE.with_borrow(|page| page.on_progress.clone()) {
            let _ = listener.call1(&JsValue::NULL, &text);
        }
    }
    if simulator.teach.asked_for().is_none() {
        return;
    }
    let thing = simulator.teach.take_asked();
    let listener = PAGE.with_borrow(|page| page.on_reading.clone());
    if let (Some(thing), Some(listener)) = (thing, listener) {
        let _ = listener.call1(&JsValue::NULL, &JsValue::from(thing.address()));
    }
}

/// Tab as pressed in this frame, and what had the keyboard before.
#[derive(bevy::ecs::resource::Resource, Default)]
struct Tab {
    pressed: Option<Pressed>,
}

struct Pressed {
    is_forward: bool,
    before: Option<egui::Id>,
}

fn note_tab(
    mut contexts: Query<(&EguiInput, &mut EguiContext), With<PrimaryEguiContext>>,
    mut tab: ResMut<Tab>,
) {
    tab.pressed = None;
    for (input, mut context) in &mut contexts {
        for event in &input.events {
            if let egui::Event::Key {
                key: egui::Key::Tab,
                pressed: true,
                modifiers,
                ..
            } = event
            {
                tab.pressed = Some(Pressed {
                    is_forward: !modifiers.shift,
                    before: context.get_mut().memory(|memory| memory.focused()),
                });
            }
        }
    }
}

/// Tab beyond the last control leaves the canvas, as does Shift and Tab before the first.
fn leave_by_tab(
    mut contexts: Query<&mut EguiContext, With<PrimaryEguiContext>>,
    mut tab: ResMut<Tab>,
) {
    let Some(Pressed { is_forward, before }) = tab.pressed.take() else {
        return;
    };
    for mut context in &mut contexts {
        let ctx = context.get_mut();
        let after = ctx.memory(|memory| memory.focused());
        let first = Some(first_control());
        let has_left = if is_forward {
            before.is_some() && (after.is_none() || after == first)
        } else {
            before.is_none() || before == first
        };
        if !has_left {
            continue;
        }
        if let Some(id) = after {
            ctx.memory_mut(|memory| memory.surrender_focus(id));
        }
        if let Some(listener) = PAGE.with_borrow(|page| page.on_leaving.clone()) {
            let _ = listener.call1(&JsValue::NULL, &JsValue::from(is_forward));
        }
    }
}
