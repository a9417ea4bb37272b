//! How the desk is looked at. Nothing in a view changes a number.

use std::ops::RangeInclusive;

use jigwise_bench::scene::{ChartKind, MapAim, Palette};
use jigwise_bench::words::USUAL_WANTED;

use crate::guide::Guide;
use crate::teach::Covers;

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

impl Stage {
    /// All stages, in the order in which they are offered.
    pub const ALL: [Self; 3] = [
        Self::Chart(ChartKind::Reflection),
        Self::Chart(ChartKind::OhmPlane),
        Self::Reach,
    ];

    /// The stage's name on its button.
    pub fn name(self) -> &'static str {
        match self {
            Self::Chart(ChartKind::Reflection) => "Reflection chart",
            Self::Chart(ChartKind::OhmPlane) => "Ohm plane",
            Self::Reach => "Reach",
        }
    }
}

/// What the chart shows besides the device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layers {
    /// A map behind the lines.
    pub map: Option<MapAim>,
    /// The 95 % region of each fixture's value.
    pub regions: bool,
}

/// What lies over the chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawer {
    /// Everything on the bench, a page at a time.
    Bench(BenchPage),
    /// How the window looks.
    View,
    /// Why the answer is what it is.
    Why,
    /// The modes that teach, and what was done in them.
    Learn,
    /// The readings of an unlabelled part, and its answer.
    Round,
}

/// A page of the bench's drawer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BenchPage {
    /// The part, the frequency and the nudge.
    Part,
    /// The entries of the instrument's budget.
    Instrument,
    /// The strays of the fixtures.
    Strays,
    /// How the analyzer was calibrated, and the seed.
    Calibration,
}

impl BenchPage {
    /// All pages, in the order in which they are offered.
    pub const ALL: [Self; 4] = [
        Self::Part,
        Self::Instrument,
        Self::Strays,
        Self::Calibration,
    ];

    /// The page's name on its button.
    pub fn name(self) -> &'static str {
        match self {
            Self::Part => "The part",
            Self::Instrument => "Instrument",
            Self::Strays => "Strays",
            Self::Calibration => "Calibration",
        }
    }
}

/// How the desk is looked at: chart, layers, theme, text size and what is open.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The picture on which the device is dragged.
    pub stage: Stage,
    /// What the chart shows besides the device.
    pub layers: Layers,
    /// True while the envelope of the wave is drawn on the circuits.
    pub wave: bool,
    /// The relative uncertainty that reach marks as wanted; 0.1 is 10 %.
    pub wanted: f64,
    /// What lies over the chart.
    pub drawer: Option<Drawer>,
    /// True while formulas and u by cause are asked for; a tall window shows them anyway.
    pub sums: bool,
    /// True where nothing may glide.
    pub reduced_motion: bool,
    /// The offers of a next move.
    pub guide: Guide,
    /// What is covered now.
    pub covers: Covers,
    /// The colours, the size of type and the thickness of lines.
    pub theme: Theme,
    text_percent: f32,
}

impl Default for View {
    fn default() -> Self {
        Self {
            stage: Stage::Chart(ChartKind::Reflection),
            layers: Layers {
                map: Some(MapAim::BestForValue),
                regions: false,
            },
            wave: true,
            wanted: USUAL_WANTED,
            drawer: None,
            sums: false,
            reduced_motion: false,
            guide: Guide::default(),
            covers: Covers::NONE,
            theme: Theme::Light,
            text_percent: *Self::TEXT_PERCENT.start() as f32,
        }
    }
}

impl View {
    /// The text sizes offered, in percent of the usual size.
    pub const TEXT_PERCENT: RangeInclusive<u32> = 100..=300;
    const TEXT_STEP_PERCENT: u32 = 25;

    /// The stage that is drawn: over |Z| all curves of reach would tell what is covered.
    pub(crate) fn shown_stage(&self) -> Stage {
        match self.stage {
            Stage::Reach if self.covers.any() => Stage::Chart(ChartKind::Reflection),
            stage => stage,
        }
    }

    /// The map that is drawn, which tells the best fixture.
    pub(crate) fn shown_map(&self) -> Option<MapAim> {
        self.layers.map.filter(|_| !self.covers.best_fixture())
    }

    /// True where the 95 % regions are drawn, which tell how wide a bar is.
    pub(crate) fn shows_regions(&self) -> bool {
        self.layers.regions && !self.covers.answer()
    }

    /// The size of the text in percent of its usual size.
    pub fn text_percent(&self) -> u32 {
        self.text_percent.round() as u32
    }

    /// Sets the size of the text. A size outside [`View::TEXT_PERCENT`] becomes the nearest
    /// size inside.
    pub fn set_text_percent(&mut self, percent: u32) {
        let percent = percent.clamp(*Self::TEXT_PERCENT.start(), *Self::TEXT_PERCENT.end());
        self.text_percent = percent as f32;
    }

    /// Makes the text `factor` times as large, as two fingers ask.
    pub(crate) fn scale_text(&mut self, factor: f32) {
        let [least, most] =
            [Self::TEXT_PERCENT.start(), Self::TEXT_PERCENT.end()].map(|end| *end as f32);
        if factor.is_finite() {
            self.text_percent = (self.text_percent * factor).clamp(least, most);
        }
    }

    pub(crate) fn enlarge_text(&mut self) {
        self.set_text_percent(self.text_percent() + Self::TEXT_STEP_PERCENT);
    }

    pub(crate) fn reduce_text(&mut self) {
        self.set_text_percent(self.text_percent() - Self::TEXT_STEP_PERCENT);
    }
}
