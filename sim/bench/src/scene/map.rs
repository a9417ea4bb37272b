//! Maps behind the chart's lines: which fixture is best where, or how uncertain one is.

use jigwise_physics::{Coverage, Fixture, Immittance, Merits, WantedChange};

use super::pattern::{PatternLook, pattern};
use super::trace::Traced;
use super::{Anchor, ChartFrame, ChartKind, Ink, Mark, Point, Scene, Stroke, sign};
use crate::readout::Bench;
use crate::words::{fixture_key, short_percent};
use jigwise_quantity::engineering;

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
/// Pixels of the cells in which borders are looked for.
const CELL: f64 = 4.0;
/// Cells on a side where a point takes long to judge.
const CELLS_WHERE_DEAR: f64 = 48.0;
/// A fixture's sign in its region, pixels.
const SIGN: f64 = 16.0;
const LARGE_SIGN: f64 = 22.0;

/// A map in two layers: what lies under a chart's lines, and what lies over them.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartMap {
    /// Tints and patterns.
    pub under: Vec<Mark>,
    /// Borders, signs and labels.
    pub over: Vec<Mark>,
}

/// A map with its chart, for the book: what stays as it is while the part moves, and the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapFigure<'a> {
    /// The chart.
    pub frame: ChartFrame,
    /// What the map shows.
    pub aim: MapAim,
    /// The instrument's name.
    pub instrument: &'a str,
}

impl MapFigure<'_> {
    /// The map and the chart's lines. `None` without an instrument.
    pub fn still(&self, bench: &Bench) -> Option<Vec<Mark>> {
        let ChartMap { under, over } = self.frame.map(bench, self.aim)?;
        let mut marks = vec![self.frame.ground()];
        marks.extend(under);
        marks.extend(self.frame.grid());
        marks.extend(over);
        Some(marks)
    }

    /// The ring of the part, with the picture's words.
    pub fn part(&self, bench: &Bench) -> Scene {
        let readout = bench.readout();
        let title = ChartFrame::map_label(self.aim, self.instrument, readout.freq_hz);
        Scene {
            size: self.frame.size,
            description: format!(
                "{title}. Each region carries the sign of its fixture; the ring is \
                 the part."
            ),
            title,
            marks: self.frame.ring(readout.device),
        }
    }
}

impl ChartFrame {
    /// What the map is of, short enough to stand in its corner; instrument and frequency are in
    /// [`ChartFrame::map_label`].
    pub fn map_caption(aim: MapAim) -> &'static str {
        match aim {
            MapAim::BestForValue => "best for value",
            MapAim::BestForChange => "best for change",
            MapAim::UncertaintyOf(Fixture::Reflect) => "± of reflect",
            MapAim::UncertaintyOf(Fixture::ShuntThrough) => "± of shunt-through",
            MapAim::UncertaintyOf(Fixture::SeriesThrough) => "± of series-through",
        }
    }

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

    /// The map of `aim`; in a bare picture without tints, every pattern in full colour. `None`
    /// without an instrument.
    pub fn map(&self, bench: &Bench, aim: MapAim) -> Option<ChartMap> {
        let budget = bench.budget()?;
        let merits = Merits::of(budget);
        Some(match aim {
            MapAim::BestForValue => self.best_map(CELL, |device| merits.best(device)),
            MapAim::BestForChange => {
                let [left, top, right, bottom] = self.map_rect();
                let cell = (right - left).max(bottom - top) / CELLS_WHERE_DEAR;
                self.best_map(cell.max(CELL), |device| {
                    budget.best_for_change(device, WantedChange::default())
                })
            }
            MapAim::UncertaintyOf(fixture) => {
                let mut map =
                    self.uncertainty_map(fixture, |device| merits.figure_of_merit(fixture, device));
                map.over.extend(self.band_labels(bench, fixture));
                map
            }
        })
    }

    fn best_map(&self, cell: f64, best: impl Fn(Immittance) -> Option<Fixture>) -> ChartMap {
        let is_bare = self.is_bare;
        let label = |point: Point| best(self.device_inside(point)?);
        let area = self.map_rect();
        let traced = Traced::new(area, cell, label);
        let look = PatternLook {
            reflect_is_hatched: false,
            is_dark: is_bare,
        };
        let mut under = Vec::new();
        for (fixture, pieces) in traced.pieces {
            if !is_bare {
                under.push(Mark::Fill {
                    pieces,
                    fill: Ink::Tint(fixture, 0),
                });
            }
        }
        for fixture in Fixture::ALL {
            let has = |point: Point| traced.regions.at(point, label) == Some(fixture);
            under.extend(pattern(fixture, area, look, has));
        }
        let mut over = borders(traced.borders, Ink::Text, if is_bare { 1.8 } else { 1.2 });
        let size = if is_bare { LARGE_SIGN } else { SIGN };
        for (fixture, center, room) in traced.seats {
            if room > 0.45 * size {
                over.push(Mark::Circle {
                    center,
                    radius: 0.72 * size,
                    fill: Some(if is_bare {
                        Ink::Paper
                    } else {
                        Ink::Tint(fixture, 0)
                    }),
                    stroke: None,
                });
                over.push(sign(fixture, center, size));
            }
        }
        ChartMap { under, over }
    }

    /// The device at a place; `None` outside the chart.
    fn device_inside(&self, [x, y]: Point) -> Option<Immittance> {
        if self.kind == ChartKind::Reflection {
            let [cx, cy] = self.center();
            if (x - cx).hypot(y - cy) > self.radius() {
                return None;
            }
        }
        Some(self.device_at([x, y]))
    }

    fn uncertainty_map(
        &self,
        fixture: Fixture,
        merit: impl Fn(Immittance) -> Option<f64>,
    ) -> ChartMap {
        let radius = Coverage::P95.radius_in_rms();
        let label = |point: Point| {
            let share = radius * merit(self.device_inside(point)?)?;
            u8::try_from(BANDS.iter().filter(|limit| share > **limit).count()).ok()
        };
        let traced = Traced::new(self.map_rect(), CELL, label);
        // The more uncertain, the deeper; one ramp of the fixture's own hue.
        let under = traced
            .pieces
            .into_iter()
            .map(|(band, pieces)| Mark::Fill {
                pieces,
                fill: Ink::Tint(fixture, band),
            })
            .collect();
        ChartMap {
            under,
            over: borders(traced.borders, Ink::Fixture(fixture), 1.4),
        }
    }

    /// Labels of the limits between uncertainty bands, each at the resistor that lies on it,
    /// where it does not run into the one before.
    fn band_labels(&self, bench: &Bench, fixture: Fixture) -> Vec<Mark> {
        const TYPE: f64 = 14.0;
        const ROOM: f64 = 46.0;
        let Some(budget) = bench.budget() else {
            return Vec::new();
        };
        let merits = Merits::of(budget);
        let mut places: Vec<(f64, [f64; 2])> = BANDS
            .into_iter()
            .flat_map(|limit| {
                let ranges = merits.reach(fixture, limit, Coverage::P95, 0.0);
                let ranges = ranges.unwrap_or_default();
                ranges
                    .into_iter()
                    .flat_map(|range| [range.from_ohm, range.to_ohm])
                    .map(move |ohm| (limit, ohm))
            })
            .filter_map(|(limit, ohm)| {
                let part = crate::steer::with_polar(ohm, 0.0).filter(|_| ohm > 0.0)?;
                let (place, outside) = self.place(part);
                (!outside).then_some((limit, place))
            })
            .collect();
        places.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]));
        let mut last_x = f64::NEG_INFINITY;
        let mut marks = Vec::new();
        for (limit, [x, y]) in places {
            if x - last_x < ROOM {
                continue;
            }
            last_x = x;
            let at = [x, y - 0.8 * TYPE];
            marks.push(Mark::text(
                at,
                short_percent(limit),
                TYPE,
                Anchor::Middle,
                Ink::Text,
            ));
        }
        marks
    }
}

fn borders(lines: Vec<Vec<Point>>, ink: Ink, width: f64) -> Vec<Mark> {
    lines
        .into_iter()
        .map(|points| Mark::Line {
            points,
            stroke: Stroke::solid(ink, width),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{NamedInstrument, Scenario};

    /// On a border two fixtures are equally good by the budget's own figure of merit, which the
    /// map does not ask: the polynomials behind it are multiplied out.
    #[test]
    fn on_a_border_two_fixtures_are_equally_good() {
        let scenario = Scenario {
            instrument: Some(NamedInstrument::default()),
            ..Scenario::default()
        };
        let bench = Bench::new(&scenario).unwrap();
        for kind in [ChartKind::Reflection, ChartKind::OhmPlane] {
            let frame = ChartFrame {
                kind,
                size: [600.0, 400.0],
                reference: scenario.reference,
                is_bare: false,
            };
            let map = frame.map(&bench, MapAim::BestForValue).unwrap();
            let mut met = 0;
            for mark in &map.over {
                let Mark::Line { points, .. } = mark else {
                    continue;
                };
                for point in points {
                    let device = frame.device_at(*point);
                    let mut merits = Fixture::ALL.map(|fixture| {
                        let budget = bench.budget().unwrap();
                        budget.figure_of_merit(fixture, device).unwrap()
                    });
                    merits.sort_by(f64::total_cmp);
                    assert!(
                        merits[1] / merits[0] < 1.02,
                        "{kind:?} {point:?} {merits:?}"
                    );
                    met += 1;
                }
            }
            assert!(met > 40, "{met}");
        }
    }

    #[test]
    fn every_region_has_its_sign_and_its_pattern() {
        let scenario = Scenario {
            instrument: Some(NamedInstrument::default()),
            ..Scenario::default()
        };
        let bench = Bench::new(&scenario).unwrap();
        for kind in [ChartKind::Reflection, ChartKind::OhmPlane] {
            for aim in [MapAim::BestForValue, MapAim::BestForChange] {
                let frame = ChartFrame {
                    kind,
                    size: [400.0, 340.0],
                    reference: scenario.reference,
                    is_bare: true,
                };
                let ChartMap { under, over } = frame.map(&bench, aim).unwrap();
                assert_eq!(under.len(), 2, "lines and dots; reflect is plain");
                for fixture in Fixture::ALL {
                    let has_sign = over.iter().any(|mark| {
                        matches!(mark, Mark::Area { fill, .. } if *fill == Ink::Fixture(fixture))
                    });
                    assert!(has_sign, "{kind:?} {aim:?} {fixture:?}");
                }
            }
        }
    }
}
