//! Typing instead of dragging: the part, its frequency, R and X, |Z| and phase.

use egui::text::{CCursor, CCursorRange};
use egui::text_edit::TextEditState;
use egui::{
    Area, Direction, FontId, Frame, Id, Label, Layout, Margin, Order, Rect, Response, Sense,
    Stroke, StrokeKind, TextEdit, TextStyle, Ui, UiBuilder, Vec2, pos2,
};
use jigwise_bench::{
    Complex64, Device, DraftDevice, Immittance, MAX_QUOTED, Readout, ReferenceImpedance, Scenario,
    Unit, above_zero, complex_ohm, engineering, excerpt, fixed, parse_value, steer, without_zeros,
};

use super::choice::{list_ui, row_of_height};
use super::look::strong_family;
use super::memory::FrameMemory;
use super::paint::color;
use crate::{Desk, Theme};

/// The text in the fields while they are edited, and what was wrong with it.
#[derive(Debug)]
pub(super) struct Entries {
    /// The name and the text of the field that is being edited.
    edited: Option<(String, String)>,
    /// The field that a press of the pointer has just opened: its text is selected once the
    /// pointer is let go.
    opened: Option<Id>,
    /// The field that was left last.
    left: Rect,
    complaint: Option<(String, Rect)>,
    /// A device whose kind was chosen and whose values are not all there yet, and the device that
    /// it shall replace.
    draft: Option<(Device, DraftDevice)>,
}

impl Default for Entries {
    fn default() -> Self {
        Self {
            edited: None,
            opened: None,
            left: Rect::ZERO,
            complaint: None,
            draft: None,
        }
    }
}

impl Entries {
    /// Keeps the complaint about the last thing typed, to be shown under its field; `Ok` clears it.
    pub(super) fn say(&mut self, result: Result<(), String>) {
        self.complaint = result.err().map(|text| (text, self.left));
    }

    /// Takes the complaint off the picture once something else is done: Escape, or a press anywhere.
    pub(super) fn hear(&mut self, ui: &Ui) {
        let done =
            ui.input(|input| input.key_pressed(egui::Key::Escape) || input.pointer.any_pressed());
        if done {
            self.complaint = None;
        }
    }

    /// The device by kind and values; one that was begun, until another device is there.
    pub(super) fn draft(&self, device: &Device) -> DraftDevice {
        match &self.draft {
            Some((replaced, draft)) if replaced == device => draft.clone(),
            _ => DraftDevice::of(device),
        }
    }

    /// Keeps a device that is not complete.
    pub(super) fn keep_draft(&mut self, device: Device, draft: DraftDevice) {
        self.draft = Some((device, draft));
    }

    /// What was wrong with the last thing typed.
    pub(super) fn complaint(&self) -> Option<&str> {
        self.complaint.as_ref().map(|(text, _)| text.as_str())
    }

    /// True while something is typed that is not entered yet.
    pub(super) fn is_edited(&self) -> bool {
        self.edited.is_some()
    }
}

/// The complaint about what was typed last, over the picture and under its field.
pub(super) fn complaint_ui(ui: &Ui, entries: &Entries, theme: Theme, window: Rect) {
    const WIDEST: f32 = 460.0;
    let Some((text, field)) = &entries.complaint else {
        return;
    };
    let palette = theme.palette();
    let ink = color(palette.text);
    let width = WIDEST.min(window.width() - 24.0);
    let left = field
        .left()
        .min(window.right() - width - 12.0)
        .max(window.left() + 12.0);
    Area::new(Id::new("complaint"))
        .order(Order::Foreground)
        .fixed_pos(pos2(left, field.bottom() + 6.0))
        .interactable(false)
        .show(ui.ctx(), |ui| {
            Frame::new()
                .fill(color(palette.paper))
                .stroke(Stroke::new(1.5, ink))
                .corner_radius(3)
                .inner_margin(8)
                .show(ui, |ui| {
                    ui.set_max_width(width);
                    ui.add(Label::new(text.as_str()).wrap());
                });
        });
}

/// A field outside those of the part.
pub(super) struct TypedText<'a> {
    pub name: &'a str,
    pub hint: &'a str,
    pub width: f32,
    /// What it shows when nobody types in it.
    pub shown: String,
}

/// Shows a field with its name above it; what was typed comes back once it is entered.
pub(super) fn typed_ui(
    ui: &mut Ui,
    entries: &mut Entries,
    typed: &TypedText<'_>,
) -> Option<String> {
    typed_ui_spoken(ui, entries, typed, typed.name)
}

pub(super) fn typed_ui_spoken(
    ui: &mut Ui,
    entries: &mut Entries,
    typed: &TypedText<'_>,
    spoken: &str,
) -> Option<String> {
    let field = cell_ui(ui, typed.name, typed.width);
    field_ui(ui, entries, typed, spoken, field)
}

fn cell_height(type_size: f32) -> f32 {
    1.3 * type_size + FIELD + 4.0
}

/// Fields side by side, each with its name above it.
pub(super) fn fields_ui(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    let small = ui.style().text_styles[&TextStyle::Small].size;
    row_of_height(ui, cell_height(small), content);
}

/// One of several as a field with its name above it, chosen from a list. What was chosen comes
/// back.
pub(super) fn chosen_ui<'a>(
    ui: &mut Ui,
    name: &str,
    now: &str,
    all: impl Iterator<Item = &'a str>,
) -> Option<&'a str> {
    let field = cell_ui(ui, name, CELL);
    list_ui(ui, name, now, all, field)
}

/// A cell with its name at the top; the place of its field.
fn cell_ui(ui: &mut Ui, name: &str, width: f32) -> Rect {
    let small = ui.style().text_styles[&TextStyle::Small].size;
    let faint = ui.visuals().weak_text_color();
    let font = FontId::proportional(small);
    let name = ui.painter().layout_no_wrap(name.to_owned(), font, faint);
    let width = width.max(CELL).max(name.size().x);
    let (cell, _) = ui.allocate_exact_size(Vec2::new(width, cell_height(small)), Sense::hover());
    ui.painter().galley(cell.min, name, faint);
    Rect::from_min_max(pos2(cell.left(), cell.bottom() - FIELD), cell.max)
}

/// Width of a cell in a grid of fields.
const CELL: f32 = 112.0;
/// Height of a field.
const FIELD: f32 = 32.0;
/// A field narrower than this has smaller letters.
const TIGHT: f32 = 72.0;

fn field_id(spoken: &str) -> Id {
    Id::new(("field", spoken))
}

/// The control that Tab comes to first.
pub fn first_control() -> Id {
    field_id(Entry::Part.spoken_name())
}

/// A field that can be typed into from outside the window too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// The part.
    Part,
    /// The frequency.
    Frequency,
}

impl Field {
    /// The field called "part" or "frequency".
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "part" => Some(Self::Part),
            "frequency" => Some(Self::Frequency),
            _ => None,
        }
    }
}

/// Enters `text` into a field. What is wrong with it is [`FrameMemory::complaint`] afterwards.
pub fn type_in(desk: &mut Desk, memory: &mut FrameMemory, field: Field, text: &str) {
    let entry = match field {
        Field::Part => Entry::Part,
        Field::Frequency => Entry::Frequency,
    };
    memory.entries.say(take(desk, entry, text));
}

/// A field in a place of its own; what was typed comes back once it is entered.
pub(super) fn field_ui(
    ui: &mut Ui,
    entries: &mut Entries,
    typed: &TypedText<'_>,
    spoken: &str,
    rect: Rect,
) -> Option<String> {
    let mut text = match &entries.edited {
        Some((name, text)) if *name == spoken => text.clone(),
        _ => typed.shown.clone(),
    };
    let id = field_id(spoken);
    let edge = Stroke::new(1.2, ui.visuals().text_color());
    let paper = ui.visuals().extreme_bg_color;
    ui.painter()
        .rect(rect, 4.0, paper, edge, StrokeKind::Inside);
    let is_tight = rect.width() < TIGHT;
    let style = if is_tight {
        TextStyle::Small
    } else {
        TextStyle::Body
    };
    let size = ui.style().text_styles[&style].size;
    let beside: i8 = if is_tight { 4 } else { 8 };
    let padding = ((rect.height() - 1.25 * size) / 2.0).clamp(0.0, 12.0);
    let font = FontId::new(size, strong_family());
    let room = rect.width() - 2.0 * f32::from(beside);
    let is_cut = width_of(ui, &text, font.clone()) > room;
    let hint = if is_cut {
        format!("{text}\n{}", typed.hint)
    } else {
        typed.hint.to_owned()
    };
    let edit = TextEdit::singleline(&mut text)
        .id(id)
        .frame(Frame::new().inner_margin(Margin::symmetric(beside, padding as i8)))
        .font(font.clone())
        .desired_width(room);
    let place = UiBuilder::new()
        .max_rect(rect)
        .layout(Layout::centered_and_justified(Direction::TopDown));
    let response = ui.new_child(place).add(edit).on_hover_text(hint);
    if is_cut && !response.has_focus() {
        cut_sign(ui, rect, font);
    }
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(spoken);
        node.set_description(typed.hint);
    });
    select_whole(ui, entries, &response, &text);
    if response.changed() {
        entries.edited = Some((spoken.to_owned(), text));
    }
    if !response.lost_focus() {
        return None;
    }
    entries.left = rect;
    let dropped = ui.input(|input| input.key_pressed(egui::Key::Escape));
    entries
        .edited
        .take_if(|(name, _)| *name == spoken)
        .map(|(_, text)| text)
        .filter(|_| !dropped)
}

fn width_of(ui: &Ui, text: &str, font: FontId) -> f32 {
    let ink = ui.visuals().text_color();
    let galley = ui.painter().layout_no_wrap(text.to_owned(), font, ink);
    galley.size().x
}

/// Three points at the end of a field whose text goes on.
fn cut_sign(ui: &Ui, field: Rect, font: FontId) {
    let visuals = ui.visuals();
    let galley = ui
        .painter()
        .layout_no_wrap("…".to_owned(), font, visuals.text_color());
    let width = galley.size().x + 6.0;
    let end = Rect::from_min_max(
        pos2(field.right() - width, field.top()),
        field.right_bottom(),
    )
    .shrink2(Vec2::new(1.5, 2.0));
    ui.painter().rect_filled(end, 0.0, visuals.extreme_bg_color);
    let at = pos2(end.left(), end.center().y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, visuals.text_color());
}

/// A field that is tabbed to or clicked is there to be typed over. A second click puts the cursor
/// where it points.
fn select_whole(ui: &Ui, entries: &mut Entries, response: &Response, text: &str) {
    let is_pressed = ui.input(|input| input.pointer.any_down());
    if response.gained_focus() {
        entries.opened = Some(response.id);
    }
    if entries.opened != Some(response.id) || is_pressed {
        return;
    }
    entries.opened = None;
    if let Some(mut state) = TextEditState::load(ui.ctx(), response.id) {
        let whole = CCursorRange::two(CCursor::new(0), CCursor::new(text.chars().count()));
        state.cursor.set_char_range(Some(whole));
        state.store(ui.ctx(), response.id);
        ui.ctx().request_repaint();
    }
}

/// A field of the part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Entry {
    Part,
    Frequency,
    Resistance,
    Reactance,
    Magnitude,
    Phase,
    Reference,
}

impl Entry {
    /// Those of the bench's drawer; the others stand in the bar.
    pub(super) const IN_DRAWER: [Self; 5] = [
        Self::Resistance,
        Self::Reactance,
        Self::Magnitude,
        Self::Phase,
        Self::Reference,
    ];

    fn name(self) -> &'static str {
        match self {
            Self::Part => "Part",
            Self::Frequency => "at",
            Self::Resistance => "R",
            Self::Reactance => "X",
            Self::Magnitude => "|Z|",
            Self::Phase => "Phase",
            Self::Reference => "Z0",
        }
    }

    fn spoken_name(self) -> &'static str {
        match self {
            Self::Part => "Part",
            Self::Frequency => "Frequency",
            Self::Resistance => "Resistance R",
            Self::Reactance => "Reactance X",
            Self::Magnitude => "Magnitude of Z",
            Self::Phase => "Phase of Z",
            Self::Reference => "Reference Z0",
        }
    }

    fn hint(self) -> &'static str {
        match self {
            Self::Part => "open, short, 4.7k, 330p, 2u2H or 330 - j120",
            Self::Frequency => "a frequency such as 7.1M",
            Self::Resistance | Self::Reactance | Self::Magnitude => "ohms such as 4.7k or 10m",
            Self::Phase => "degrees from −90 to 90",
            Self::Reference => "ohms above zero",
        }
    }

    fn typed(self, desk: &Desk) -> TypedText<'static> {
        TypedText {
            name: self.name(),
            hint: self.hint(),
            width: 0.0,
            shown: self.shown(desk.scenario(), &desk.readout()),
        }
    }

    /// What the field shows when nobody types in it.
    fn shown(self, scenario: &Scenario, readout: &Readout) -> String {
        let ohms = |part: fn(Complex64) -> f64| match readout.device.impedance() {
            Some(z) => engineering(part(z), "Ω", 5),
            None => "open".to_owned(),
        };
        match self {
            Self::Part => device_in_short(scenario, readout),
            Self::Frequency => scenario
                .readout_hz()
                .map_or(String::new(), |hz| without_zeros(&engineering(hz, "Hz", 5))),
            Self::Resistance => ohms(|z| z.re),
            Self::Reactance => ohms(|z| z.im),
            Self::Magnitude => ohms(Complex64::norm),
            Self::Phase => match readout.device.impedance() {
                Some(z) if z != Complex64::ZERO => format!("{}°", fixed(z.arg().to_degrees(), 2)),
                _ => "–".to_owned(),
            },
            Self::Reference => engineering(readout.reference.ohm(), "Ω", 3),
        }
    }
}

/// The part as its field shows it: a fixed one by its value, without digits that nobody typed.
fn device_in_short(scenario: &Scenario, readout: &Readout) -> String {
    const DIGITS: usize = 4;
    match (&scenario.device, readout.device.impedance()) {
        (Device::Fixed(_), Some(z)) if z.im == 0.0 => {
            without_zeros(&engineering(z.re, "Ω", DIGITS))
        }
        (Device::Fixed(_), Some(z)) => complex_ohm(z, DIGITS),
        (device, _) => {
            let text = device.to_string();
            if text.starts_with(|c: char| c.is_ascii_digit()) {
                without_zeros(&text)
            } else {
                text
            }
        }
    }
}

/// A field of the part, its name above it.
pub(super) fn entry_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, entry: Entry) {
    let typed = entry.typed(desk);
    if let Some(text) = typed_ui_spoken(ui, entries, &typed, entry.spoken_name()) {
        let taken = take(desk, entry, &text);
        entries.say(taken);
    }
}

/// A field of the part in a place of its own.
pub(super) fn entry_in(
    ui: &mut Ui,
    desk: &mut Desk,
    entries: &mut Entries,
    entry: Entry,
    rect: Rect,
) {
    let typed = entry.typed(desk);
    if let Some(text) = field_ui(ui, entries, &typed, entry.spoken_name(), rect) {
        let taken = take(desk, entry, &text);
        entries.say(taken);
    }
}

/// Does what was typed, or says why it can't be done.
fn take(desk: &mut Desk, entry: Entry, text: &str) -> Result<(), String> {
    let value =
        |unit| parse_value(text, unit).map_err(|error| format!("{}: {error}", entry.spoken_name()));
    let positive =
        |unit| above_zero(text, unit).map_err(|error| format!("{}: {error}", entry.spoken_name()));
    let readout = desk.readout();
    let z = readout.device.impedance().unwrap_or(Complex64::ZERO);
    let mut scenario = desk.scenario().clone();
    match entry {
        Entry::Part => {
            scenario.device = text.parse::<Device>().map_err(|error| error.to_string())?;
        }
        Entry::Frequency => {
            scenario.freq_hz = Some(positive(Unit::Hertz)?);
        }
        Entry::Resistance => {
            scenario.device = Device::Fixed(Complex64::new(value(Unit::Ohm)?, z.im));
        }
        Entry::Reactance => {
            scenario.device = Device::Fixed(Complex64::new(z.re, value(Unit::Ohm)?));
        }
        Entry::Magnitude => {
            let ohm = positive(Unit::Ohm)?;
            scenario.device = polar(ohm, z.arg(), readout.device);
        }
        Entry::Phase => {
            let degrees = value(Unit::Degree)?;
            if !(-180.0..=180.0).contains(&degrees) {
                return Err(format!(
                    "Phase of Z: \"{}\" is beyond half a turn; write degrees from −90 to 90, or \
                     up to 180 for an active part",
                    excerpt(text, MAX_QUOTED)
                ));
            }
            if readout.device.is_open() || readout.device.is_short() {
                return Err(
                    "Phase of Z: an open or short has none; type a magnitude first".to_owned(),
                );
            }
            scenario.device = polar(z.norm(), degrees.to_radians(), readout.device);
        }
        Entry::Reference => {
            let ohm = positive(Unit::Ohm)?;
            scenario.reference = ReferenceImpedance::new(ohm).map_err(|error| error.to_string())?;
        }
    }
    desk.set_scenario(scenario)
        .map_err(|error| error.to_string())
}

fn polar(ohm: f64, angle_rad: f64, otherwise: Immittance) -> Device {
    steer::with_polar(ohm, angle_rad)
        .unwrap_or(otherwise)
        .into()
}
