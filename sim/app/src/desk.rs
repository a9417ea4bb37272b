use bevy::ecs::resource::Resource;
use jigwise_bench::scene::{ChartKind, MapAim, Palette};
use jigwise_bench::{
    Bench, Clouds, Device, Fixture, Immittance, NamedInstrument, Nudge, Readout, Residuals,
    Scenario, ScenarioError, complex_ohm, engineering, fixed, method_key, steer,
};

use crate::face::Entries;

/// The look of the whole window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Theme {
    /// For a bright room.
    Light,
    /// For a dim room.
    Dark,
    /// For a beamer: larger type, thicker lines, strongest contrast.
    Hall,
}

impl Theme {
    /// All of them, as they are offered.
    pub const ALL: [Self; 3] = [Self::Light, Self::Dark, Self::Hall];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Light => "Light",
            Self::Dark => "Dark",
            Self::Hall => "Hall",
        }
    }

    /// Its colours.
    pub fn palette(self) -> &'static Palette {
        match self {
            Self::Light => &Palette::LIGHT,
            Self::Dark => &Palette::DARK,
            Self::Hall => &Palette::HALL,
        }
    }

    /// How much larger its type is.
    pub fn type_factor(self) -> f32 {
        match self {
            Self::Light | Self::Dark => 1.0,
            Self::Hall => 1.25,
        }
    }

    /// How much thicker its lines are.
    pub fn line_factor(self) -> f32 {
        match self {
            Self::Light | Self::Dark => 1.0,
            Self::Hall => 1.7,
        }
    }
}

/// What a screen reader is told once the device has come to rest.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Announcement {
    /// When the device last moved, in the face's own seconds.
    moved_at: Option<f64>,
    /// What is said.
    text: String,
}

impl Announcement {
    /// Seconds of rest before it is spoken.
    const REST_S: f64 = 0.5;

    /// What is said now.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// True while a move has not been spoken of yet.
    pub fn is_waiting(&self) -> bool {
        self.moved_at.is_some()
    }
}

/// What the device is dragged on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stage {
    /// One of the charts.
    Chart(ChartKind),
    /// Uncertainty and resolvable change over |Z|.
    Reach,
}

/// What is drawn on the chart besides the device.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Layers {
    /// A map behind the lines.
    pub map: Option<MapAim>,
    /// The 95 % region of each fixture's value.
    pub regions: bool,
}

/// One calibration: which it was, and what it left.
#[derive(Debug, Clone, Copy)]
struct Calibration {
    number: u64,
    residuals: Residuals,
}

/// Everything the window shows follows from this.
#[derive(Resource)]
pub struct Desk {
    scenario: Scenario,
    bench: Bench,
    calibration: Calibration,
    kept: Option<Scenario>,
    /// What the device is dragged on.
    pub stage: Stage,
    /// What is drawn on the chart besides.
    pub layers: Layers,
    /// The percentage that is wanted, as a part of one.
    pub wanted: f64,
    /// True while the wave's envelope is drawn on the circuits.
    pub wave: bool,
    /// True while the rows of controls are shown.
    pub controls: bool,
    /// True while the instrument's entries are open.
    pub entries_open: bool,
    /// True while strays and calibration are open.
    pub fixtures_open: bool,
    /// The map as the host has it ready, where there is one.
    pub map_texture: Option<egui::TextureId>,
    /// True while the host still paints it.
    pub map_unfinished: bool,
    /// The look.
    pub theme: Theme,
    text_percent: u32,
    announcement: Announcement,
    moved: bool,
    pub(crate) entries: Entries,
    pub(crate) drawn: crate::face::Drawn,
}

impl Desk {
    /// Text sizes offered, in percent.
    pub const TEXT_PERCENT: std::ops::RangeInclusive<u32> = 100..=300;
    const TEXT_STEP: u32 = 25;

    /// A desk with a scenario on it.
    ///
    /// # Errors
    /// [`ScenarioError`] where the scenario can't be computed.
    pub fn new(mut scenario: Scenario) -> Result<Self, ScenarioError> {
        scenario.instrument.get_or_insert_default();
        let bench = Bench::new(&scenario)?;
        Ok(Self {
            scenario,
            bench,
            calibration: Calibration {
                number: 0,
                residuals: Residuals::NONE,
            },
            kept: None,
            stage: Stage::Chart(ChartKind::Reflection),
            layers: Layers::default(),
            wanted: 0.1,
            wave: true,
            controls: true,
            entries_open: false,
            fixtures_open: false,
            map_texture: None,
            map_unfinished: false,
            theme: Theme::Light,
            text_percent: *Self::TEXT_PERCENT.start(),
            announcement: Announcement::default(),
            moved: false,
            entries: Entries::default(),
            drawn: crate::face::Drawn::default(),
        })
    }

    /// The scenario as it stands, with every move made.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// The numbers that follow.
    pub fn readout(&self) -> Readout {
        self.bench.readout()
    }

    /// The bench behind the readout.
    pub fn bench(&self) -> &Bench {
        &self.bench
    }

    /// The instrument; there always is one on the desk.
    pub fn instrument(&self) -> NamedInstrument {
        self.scenario.instrument.clone().unwrap_or_default()
    }

    /// Takes another instrument, or another of its entries.
    ///
    /// # Errors
    /// As [`Desk::set_scenario`].
    pub fn set_instrument(&mut self, instrument: NamedInstrument) -> Result<(), ScenarioError> {
        self.set_scenario(Scenario {
            instrument: Some(instrument),
            ..self.scenario.clone()
        })?;
        self.redraw_calibration();
        Ok(())
    }

    /// Takes another nudge.
    ///
    /// # Errors
    /// As [`Desk::set_scenario`].
    pub fn set_nudge(&mut self, nudge: Nudge) -> Result<(), ScenarioError> {
        self.set_scenario(Scenario {
            nudge,
            ..self.scenario.clone()
        })
    }

    /// Draws new residuals, as calibrating again with the same standards would.
    pub fn calibrate_again(&mut self) {
        self.calibration.number += 1;
        self.redraw_calibration();
        self.moved = true;
    }

    /// Goes back to the calibration that nobody has: a perfect one.
    pub fn calibrate_perfectly(&mut self) {
        self.calibration.number = 0;
        self.redraw_calibration();
        self.moved = true;
    }

    fn redraw_calibration(&mut self) {
        self.calibration.residuals = self.bench.calibration(self.calibration.number);
    }

    /// Which calibration is in force, in words.
    pub fn calibration_words(&self) -> String {
        let plan = self.scenario.calibration.as_ref();
        let method = plan.map(|plan| format!("calibrated: {}", method_key(plan.method)));
        match (self.calibration.number, method) {
            (0, None) => "perfect calibration".to_owned(),
            (0, Some(method)) => method,
            (number, method) => format!(
                "calibration {number} (seed {}){}",
                self.bench.calibration_seed(number),
                method.map_or(String::new(), |method| format!(", {method}"))
            ),
        }
    }

    /// The clouds of a fixture under the calibration in force.
    pub fn clouds(&self, fixture: Fixture) -> Option<Clouds> {
        self.bench.clouds(fixture, &self.calibration.residuals)
    }

    /// The ohms got back under the calibration in force.
    pub fn got_back(&self, fixture: Fixture) -> Option<Immittance> {
        if self.calibration.number == 0 {
            return self.readout().of(fixture).got_back;
        }
        self.bench
            .got_back_after(fixture, &self.calibration.residuals)
    }

    /// Keeps a copy of the scenario to compare with.
    pub fn keep_copy(&mut self) {
        self.kept = Some(self.scenario.clone());
    }

    /// The kept copy.
    pub fn kept(&self) -> Option<&Scenario> {
        self.kept.as_ref()
    }

    /// Puts the kept copy on the desk and keeps what was there.
    pub fn swap_kept(&mut self) {
        if let Some(kept) = self.kept.take() {
            let here = self.scenario.clone();
            // A kept copy was on the desk before, so it can be computed.
            if self.set_scenario(kept).is_ok() {
                self.kept = Some(here);
                self.redraw_calibration();
            }
        }
    }

    /// Puts another scenario on the desk, or leaves it as it is.
    ///
    /// # Errors
    /// [`ScenarioError`] where the new one can't be computed.
    pub fn set_scenario(&mut self, mut scenario: Scenario) -> Result<(), ScenarioError> {
        scenario.instrument.get_or_insert_default();
        self.bench = Bench::new(&scenario)?;
        self.scenario = scenario;
        self.moved = true;
        Ok(())
    }

    /// Connects another device.
    ///
    /// # Errors
    /// As [`Desk::set_scenario`].
    pub fn set_device(&mut self, device: Device) -> Result<(), ScenarioError> {
        self.set_scenario(Scenario {
            device,
            ..self.scenario.clone()
        })
    }

    /// Moves the device to a point. A point that is no device leaves it where it is.
    pub fn move_to(&mut self, device: Immittance) {
        let device = Device::from(device);
        if device != self.scenario.device {
            // A fixed impedance, an open and a short are computable at any frequency.
            let _ = self.set_device(device);
        }
    }

    /// Steps |Z| by 1/24 of a decade, times `steps`.
    pub fn step_magnitude(&mut self, steps: f64) {
        let Readout {
            device, reference, ..
        } = self.readout();
        self.move_to(steer::step_magnitude(device, reference, steps));
    }

    /// Steps the phase by `degrees`.
    pub fn step_phase(&mut self, degrees: f64) {
        self.move_to(steer::step_phase(
            self.readout().device,
            degrees.to_radians(),
        ));
    }

    /// Size of the text in percent of its usual size.
    pub fn text_percent(&self) -> u32 {
        self.text_percent
    }

    /// Sets the size of the text, held within [`Desk::TEXT_PERCENT`].
    pub fn set_text_percent(&mut self, percent: u32) {
        self.text_percent = percent.clamp(*Self::TEXT_PERCENT.start(), *Self::TEXT_PERCENT.end());
    }

    pub(crate) fn larger_text(&mut self) {
        self.set_text_percent(self.text_percent + Self::TEXT_STEP);
    }

    pub(crate) fn smaller_text(&mut self) {
        self.set_text_percent(self.text_percent - Self::TEXT_STEP);
    }

    /// What a screen reader is told.
    pub fn announcement(&self) -> &Announcement {
        &self.announcement
    }

    /// Notes moves and, after a rest, says where the device is: true when it has just done so.
    /// `now_s` is the face's clock.
    pub(crate) fn keep_announcement(&mut self, now_s: f64) -> bool {
        if std::mem::take(&mut self.moved) {
            self.announcement.moved_at = Some(now_s);
        }
        let rested = self
            .announcement
            .moved_at
            .is_some_and(|at| now_s - at >= Announcement::REST_S);
        if rested {
            self.announcement.moved_at = None;
            self.announcement.text = self.spoken();
        }
        rested
    }

    /// Where the device is, in one sentence.
    pub(crate) fn spoken(&self) -> String {
        let readout = self.readout();
        let Some(z) = readout.device.impedance() else {
            return "The device is an open.".to_owned();
        };
        if readout.device.is_short() {
            return "The device is a short.".to_owned();
        }
        format!(
            "The device is {}, that is {} at {} degrees.",
            complex_ohm(z, 4),
            engineering(z.norm(), "Ω", 4),
            fixed(z.arg().to_degrees(), 1)
        )
    }
}
