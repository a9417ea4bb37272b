//! How the desk is looked at. Nothing in a view changes a number.

use std::ops::RangeInclusive;

use jigwise_bench::scene::{ChartKind, MapAim, Palette};

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
    /// All themes, in the order in which they are offered.
    pub const ALL: [Self; 3] = [Self::Light, Self::Dark, Self::Hall];

    /// The theme's name on its button.
    pub fn name(self) -> &'static str {
        match self {
            Self::Light => "Light",
            Self::Dark => "Dark",
            Self::Hall => "Hall",
        }
    }

    /// The theme's colours.
    pub fn palette(self) -> &'static Palette {
        match self {
            Self::Light => &Palette::LIGHT,
            Self::Dark => &Palette::DARK,
            Self::Hall => &Palette::HALL,
        }
    }

    /// The factor by which type is larger than in the light theme.
    pub fn type_factor(self) -> f32 {
        match self {
            Self::Light | Self::Dark => 1.0,
            Self::Hall => 1.25,
        }
    }

    /// The factor by which lines are thicker than in the light theme.
    pub fn line_factor(self) -> f32 {
        match self {
            Self::Light | Self::Dark => 1.0,
            Self::Hall => 1.7,
        }
    }
}

/// The picture on which the device is dragged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stage {
    /// One of the charts.
    Chart(ChartKind),
    /// Uncertainty and resolvable change over |Z|.
    Reach,
}

/// What the chart shows besides the device.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Layers {
    /// A map behind the lines.
    pub map: Option<MapAim>,
    /// The 95 % region of each fixture's value.
    pub regions: bool,
}

/// The groups of controls that can be opened and closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OpenPanels {
    /// The rows of controls.
    pub controls: bool,
    /// The entries of the instrument's budget.
    pub instrument: bool,
    /// The strays and the calibration.
    pub fixtures: bool,
}

/// How the desk is looked at: chart, layers, theme, text size and open panels.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The picture on which the device is dragged.
    pub stage: Stage,
    /// What the chart shows besides the device.
    pub layers: Layers,
    /// True while the envelope of the wave is drawn on the circuits.
    pub wave: bool,
    /// The relative uncertainty that the reach plot marks as wanted; 0.1 is 10 %.
    pub wanted: f64,
    /// The panels that are open.
    pub open: OpenPanels,
    /// The colours, the size of type and the thickness of lines.
    pub theme: Theme,
    text_percent: u32,
}

impl Default for View {
    fn default() -> Self {
        Self {
            stage: Stage::Chart(ChartKind::Reflection),
            layers: Layers::default(),
            wave: true,
            wanted: 0.1,
            open: OpenPanels {
                controls: true,
                instrument: false,
                fixtures: false,
            },
            theme: Theme::Light,
            text_percent: *Self::TEXT_PERCENT.start(),
        }
    }
}

impl View {
    /// The text sizes offered, in percent of the usual size.
    pub const TEXT_PERCENT: RangeInclusive<u32> = 100..=300;
    const TEXT_STEP_PERCENT: u32 = 25;

    /// The size of the text in percent of its usual size.
    pub fn text_percent(&self) -> u32 {
        self.text_percent
    }

    /// Sets the size of the text. A size outside [`View::TEXT_PERCENT`] becomes the nearest
    /// size inside.
    pub fn set_text_percent(&mut self, percent: u32) {
        self.text_percent = percent.clamp(*Self::TEXT_PERCENT.start(), *Self::TEXT_PERCENT.end());
    }

    pub(crate) fn enlarge_text(&mut self) {
        self.set_text_percent(self.text_percent + Self::TEXT_STEP_PERCENT);
    }

    pub(crate) fn reduce_text(&mut self) {
        self.set_text_percent(self.text_percent - Self::TEXT_STEP_PERCENT);
    }
}
