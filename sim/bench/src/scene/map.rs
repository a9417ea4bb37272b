//! Maps behind the chart's lines: which fixture is best where, or how uncertain one is.

use jigwise_physics::{
    Budget, ChartArea, Coverage, Fixture, Merits, OhmArea, ReferenceImpedance, WantedChange,
};

use super::{Anchor, ChartFrame, ChartKind, Ink, Mark, Palette, Rgb};
use crate::readout::Bench;
use crate::words::fixture_key;
use jigwise_quantity::engineering;
use jigwise_quantity::percent;

/// What a map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MapAim {
    /// The fixture of least uncertainty.
    BestForValue,
    /// The fixture of least resolvable increase.
    BestForChange,
    /// Uncertainty of one fixture's value, in bands.
    UncertaintyOf(Fixture),
}

/// Limits of the bands, parts of |Z| at 95 %.
const BANDS: [f64; 6] = [0.003, 0.01, 0.03, 0.1, 0.3, 1.0];
/// Opacity of the best fixture's tint, of 255.
const TINT: u8 = 70;
/// Opacity of its pattern.
const PATTERN: u8 = 150;

/// A map that is painted some rows at a time, since one map takes longer than a frame of the
/// window.
#[derive(Debug, Clone)]
pub struct MapPainting {
    aim: MapAim,
    kind: ChartKind,
    budget: Budget,
    reference: ReferenceImpedance,
    palette: Palette,
    side: usize,
    rows_done: usize,
    rgba: Vec<u8>,
}

impl MapPainting {
    /// A map of `side`² pixels. `None` without an instrument.
    pub fn new(
        bench: &Bench,
        frame: &ChartFrame,
        aim: MapAim,
        palette: &Palette,
        side: usize,
    ) -> Option<Self> {
        Some(Self {
            aim,
            kind: frame.kind,
            budget: *bench.budget()?,
            reference: frame.reference,
            palette: *palette,
            side: side.max(2),
            rows_done: 0,
            rgba: vec![0; side.max(2).pow(2) * 4],
        })
    }

    /// Pixels of one side.
    pub fn side(&self) -> usize {
        self.side
    }

    /// Red, green, blue (times opacity) and opacity of every pixel, row by row from the top left.
    /// Rows not done yet are clear.
    pub fn rgba(&self) -> &[u8] {
        &self.rgba
    }

    /// True when every row is done.
    pub fn is_done(&self) -> bool {
        self.rows_done == self.side
    }

    /// Paints up to `rows` more rows. The maps for value are done at once.
    pub fn advance(&mut self, rows: usize) {
        match self.aim {
            MapAim::BestForValue => self.paint_best_for_value(),
            MapAim::UncertaintyOf(fixture) => self.paint_uncertainty(fixture),
            MapAim::BestForChange => self.paint_change(rows),
        }
    }

    fn ohm_area(&self) -> OhmArea {
        ChartFrame::ohm_area(self.reference, self.side)
    }

    fn paint_best_for_value(&mut self) {
        let mut best = vec![None; self.side * self.side];
        let merits = Merits::of(&self.budget);
        let filled = match self.kind {
            ChartKind::Reflection => merits.best_on_chart(&ChartArea::whole(self.side), &mut best),
            ChartKind::OhmPlane => merits.best_on_ohm_plane(&self.ohm_area(), &mut best),
        };
        if filled.is_ok() {
            for (index, fixture) in best.into_iter().enumerate() {
                self.put_best(index, fixture);
            }
        }
        self.rows_done = self.side;
    }

    fn paint_change(&mut self, rows: usize) {
        let until = (self.rows_done + rows.max(1)).min(self.side);
        let chart = ChartArea::whole(self.side);
        let plane = self.ohm_area();
        for row in self.rows_done..until {
            for column in 0..self.side {
                let device = match self.kind {
                    ChartKind::Reflection => {
                        let gamma = chart.reflection(column, row);
                        (gamma.norm() < 1.0)
                            .then(|| Fixture::Reflect.immittance(gamma, self.reference).ok())
                            .flatten()
                    }
                    ChartKind::OhmPlane => {
                        crate::steer::with_polar(plane.ohm(column), plane.angle_rad(row))
                    }
                };
                let best = device
                    .and_then(|part| self.budget.best_for_change(part, WantedChange::default()));
                self.put_best(row * self.side + column, best);
            }
        }
        self.rows_done = until;
    }

    fn put_best(&mut self, index: usize, fixture: Option<Fixture>) {
        let Some(fixture) = fixture else {
            return;
        };
        let (column, row) = (index % self.side, index / self.side);
        // Reflect is plain, shunt-through striped upright, series-through dotted.
        let is_pattern = match fixture {
            Fixture::Reflect => false,
            Fixture::ShuntThrough => column % 10 < 2,
            Fixture::SeriesThrough => column % 10 < 2 && row % 10 < 2,
        };
        let opacity = if is_pattern { PATTERN } else { TINT };
        self.put(index, self.palette.fixture(fixture), opacity);
    }

    fn paint_uncertainty(&mut self, fixture: Fixture) {
        let mut merit = vec![0.0; self.side * self.side];
        let merits = Merits::of(&self.budget);
        let filled = match self.kind {
            ChartKind::Reflection => {
                merits.merit_on_chart(fixture, &ChartArea::whole(self.side), &mut merit)
            }
            ChartKind::OhmPlane => merits.merit_on_ohm_plane(fixture, &self.ohm_area(), &mut merit),
        };
        if filled.is_ok() {
            let color = self.palette.fixture(fixture);
            let radius = Coverage::P95.radius_in_rms();
            for (index, e) in merit.into_iter().enumerate() {
                let share = radius * f64::from(e);
                if share.is_nan() {
                    continue;
                }
                let band = BANDS.iter().filter(|limit| share > **limit).count();
                // The more uncertain, the deeper; one ramp of the fixture's own hue.
                let opacity = 12 + 28 * u8::try_from(band).unwrap_or(u8::MAX / 28);
                self.put(index, color, opacity);
            }
        }
        self.rows_done = self.side;
    }

    fn put(&mut self, index: usize, Rgb(rgb): Rgb, opacity: u8) {
        let [r, g, b] = rgb.map(|part| premultiplied(part, opacity));
        if let Some(pixel) = self.rgba.get_mut(4 * index..4 * index + 4) {
            pixel.copy_from_slice(&[r, g, b, opacity]);
        }
    }
}

/// A part of a colour times its opacity, in linear light (IEC 61966-2-1), as painters that
/// blend want it.
fn premultiplied(part: u8, opacity: u8) -> u8 {
    let share = f64::from(part) / 255.0;
    let linear = if share <= 0.04045 {
        share / 12.92
    } else {
        ((share + 0.055) / 1.055).powf(2.4)
    };
    let dimmed = linear * f64::from(opacity) / 255.0;
    let encoded = if dimmed <= 0.003_130_8 {
        12.92 * dimmed
    } else {
        1.055 * dimmed.powf(1.0 / 2.4) - 0.055
    };
    (255.0 * encoded).round() as u8
}

impl ChartFrame {
    /// The map's label: its aim, the instrument and the frequency.
    pub fn map_label(aim: MapAim, instrument: &str, freq_hz: Option<f64>) -> String {
        let at = freq_hz.map_or(String::new(), |hz| {
            format!(", {}", engineering(hz, "Hz", 4))
        });
        match aim {
            MapAim::BestForValue => format!("Best fixture for value: {instrument}{at}"),
            MapAim::BestForChange => format!("Best fixture for change: {instrument}{at}"),
            MapAim::UncertaintyOf(fixture) => format!(
                "Uncertainty of {} at 95\u{202f}%: {instrument}{at}",
                fixture_key(fixture)
            ),
        }
    }

    /// Labels of the limits between uncertainty bands, each at the resistor that lies on it.
    pub fn band_labels(&self, bench: &Bench, fixture: Fixture) -> Vec<Mark> {
        let Some(budget) = bench.budget() else {
            return Vec::new();
        };
        let merits = Merits::of(budget);
        BANDS
            .into_iter()
            .flat_map(|limit| {
                let ranges = merits
                    .reach(fixture, limit, Coverage::P95, 0.0)
                    .unwrap_or_default();
                ranges
                    .into_iter()
                    .flat_map(|range| [range.from_ohm, range.to_ohm])
                    .map(move |ohm| (limit, ohm))
            })
            .filter_map(|(limit, ohm)| {
                let part = crate::steer::with_polar(ohm, 0.0)?;
                let ([x, y], outside) = self.place(part);
                (!outside && ohm > 0.0).then(|| {
                    Mark::text(
                        [x, y - 8.0],
                        percent(limit).trim_start_matches('+'),
                        11.0,
                        Anchor::Middle,
                        Ink::Text,
                    )
                })
            })
            .collect()
    }
}
