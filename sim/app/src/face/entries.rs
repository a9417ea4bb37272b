//! Typing instead of dragging: the part, its frequency, R and X, |Z| and phase.

use egui::text::{CCursor, CCursorRange};
use egui::text_edit::TextEditState;
use egui::{Response, RichText, TextEdit, Ui};
use jigwise_bench::{
    Complex64, Device, Immittance, MAX_QUOTED, Readout, ReferenceImpedance, Scenario, Unit,
    above_zero, engineering, excerpt, fixed, parse_value, steer,
};

use super::paint::color;
use crate::{Desk, Theme};

/// The text in the fields while they are edited, and what was wrong with it.
#[derive(Debug, Default)]
pub(super) struct Entries {
    fields: [Field; 7],
    /// The name and the text of the field outside these seven that is being edited.
    other: Option<(&'static str, String)>,
    complaint: Option<String>,
}

impl Entries {
    /// Keeps the complaint about the last thing typed; `Ok` clears it.
    pub(super) fn say(&mut self, result: Result<(), String>) {
        self.complaint = result.err();
    }
}

/// A single field outside the row of the part.
pub(super) struct TypedText<'a> {
    pub name: &'static str,
    pub hint: &'a str,
    pub width: f32,
    /// What it shows when nobody types in it.
    pub shown: String,
}

/// Shows a field; what was typed comes back once it is entered.
pub(super) fn typed_ui(
    ui: &mut Ui,
    entries: &mut Entries,
    typed: &TypedText<'_>,
) -> Option<String> {
    let mut text = match &entries.other {
        Some((name, text)) if *name == typed.name => text.clone(),
        _ => typed.shown.clone(),
    };
    let response = ui
        .add(TextEdit::singleline(&mut text).desired_width(typed.width))
        .on_hover_text(typed.hint);
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(typed.name);
        node.set_description(typed.hint);
    });
    select_all_on_tab(ui, &response, &text);
    if response.changed() {
        entries.other = Some((typed.name, text));
    }
    if !response.lost_focus() {
        return None;
    }
    let dropped = ui.input(|input| input.key_pressed(egui::Key::Escape));
    entries
        .other
        .take_if(|(name, _)| *name == typed.name)
        .map(|(_, text)| text)
        .filter(|_| !dropped)
}

#[derive(Debug, Default)]
struct Field {
    text: String,
    is_edited: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Entry {
    Part,
    Frequency,
    Resistance,
    Reactance,
    Magnitude,
    Phase,
    Reference,
}

impl Entry {
    const ALL: [Self; 7] = [
        Self::Part,
        Self::Frequency,
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

    fn width(self) -> f32 {
        match self {
            Self::Part => 170.0,
            Self::Phase | Self::Reference => 74.0,
            _ => 96.0,
        }
    }

    /// What the field shows when nobody types in it.
    fn shown(self, scenario: &Scenario, readout: &Readout) -> String {
        let ohms = |part: fn(Complex64) -> f64| match readout.device.impedance() {
            Some(z) => engineering(part(z), "Ω", 5),
            None => "open".to_owned(),
        };
        match self {
            Self::Part => scenario.device.to_string(),
            Self::Frequency => scenario
                .freq_hz
                .map_or(String::new(), |hz| engineering(hz, "Hz", 5)),
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

/// The fields in a row, and under them what was wrong with the last one.
pub(super) fn entries_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, theme: Theme) {
    ui.horizontal_wrapped(|ui| {
        for entry in Entry::ALL {
            entry_ui(ui, desk, entries, theme, entry);
        }
    });
    if let Some(complaint) = &entries.complaint {
        ui.label(RichText::new(complaint).italics());
    }
}

fn entry_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, theme: Theme, entry: Entry) {
    let shown = entry.shown(desk.scenario(), &desk.readout());
    let faint = color(theme.palette().faint);
    let name = ui.label(RichText::new(entry.name()).color(faint));
    let field = &mut entries.fields[entry as usize];
    if !field.is_edited {
        field.text = shown;
    }
    let response = ui
        .add(TextEdit::singleline(&mut field.text).desired_width(entry.width()))
        .labelled_by(name.id)
        .on_hover_text(entry.hint());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(entry.spoken_name());
        node.set_description(entry.hint());
    });
    select_all_on_tab(ui, &response, &field.text);
    if response.changed() {
        field.is_edited = true;
    }
    if response.lost_focus() {
        let dropped = ui.input(|input| input.key_pressed(egui::Key::Escape));
        let typed = std::mem::take(&mut field.is_edited).then(|| std::mem::take(&mut field.text));
        if let Some(text) = typed.filter(|_| !dropped) {
            entries.say(take(desk, entry, &text));
        }
    }
}

/// A field that is tabbed to is there to be typed over.
fn select_all_on_tab(ui: &Ui, response: &Response, text: &str) {
    if !response.gained_focus() || ui.input(|input| input.pointer.any_down()) {
        return;
    }
    if let Some(mut state) = TextEditState::load(ui.ctx(), response.id) {
        let whole = CCursorRange::two(CCursor::new(0), CCursor::new(text.chars().count()));
        state.cursor.set_char_range(Some(whole));
        state.store(ui.ctx(), response.id);
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
