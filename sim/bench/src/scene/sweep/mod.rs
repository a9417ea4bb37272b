//! Plots over frequency: a curve with its band, and which fixture was chosen where.

mod axis;
mod chosen;
mod scale;

use jigwise_physics::Fixture;

pub use self::axis::SweepAxis;
pub use self::chosen::chosen_strip;
pub use self::scale::ValueScale;
use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, unbroken};

const LABEL: f64 = 11.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 38.0;
const BOTTOM: f64 = 36.0;

/// One point of a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// The value; `None` breaks the curve.
    pub value: Option<f64>,
    /// Ends of the band around it.
    pub band: Option<(f64, f64)>,
    /// The fixture that it comes from.
    pub fixture: Fixture,
}

/// A plot of one quantity over frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepFrame {
    /// Width and height.
    pub size: [f64; 2],
    /// The scale across.
    pub axis: SweepAxis,
    /// The scale upwards.
    pub scale: ValueScale,
    /// Unit of the values.
    pub unit: &'static str,
    /// Frequencies with a name, such as a resonance.
    pub named_hz: Vec<(f64, String)>,
    /// Frequency in Hz and value of a thin line through the curve, such as a circuit's.
    pub through: Vec<(f64, f64)>,
}

impl SweepFrame {
    fn area(&self) -> [f64; 4] {
        let [width, height] = self.size;
        [LEFT, TOP, width - RIGHT, height - BOTTOM]
    }

    fn x_of(&self, freq_hz: f64) -> f64 {
        let [left, _, right, _] = self.area();
        left + self.axis.share(freq_hz).clamp(0.0, 1.0) * (right - left)
    }

    /// The thin line where it is inside, one piece for each time it comes in.
    fn through(&self, span: (f64, f64), y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let inside = |&(hz, value): &(f64, f64)| {
            let at = self.scale.coordinate(value)?;
            (at >= span.0 && at <= span.1).then(|| [self.x_of(hz), y_of(at)])
        };
        let stroke = Stroke::solid(Ink::Text, 1.1);
        unbroken(self.through.iter().map(inside))
            .into_iter()
            .map(|points| Mark::Line { points, stroke })
            .collect()
    }

    /// The picture of a curve.
    pub fn scene(&self, title: &str, description: &str, curve: &[CurvePoint]) -> Scene {
        let span = self.scale.span(curve, &self.through);
        let [left, top, right, bottom] = self.area();
        let y_of = |coordinate: f64| {
            let share = (coordinate - span.0) / (span.1 - span.0);
            bottom - share.clamp(0.0, 1.0) * (bottom - top)
        };
        let mut marks = vec![Mark::rectangle([left, top, right, bottom], Ink::Paper)];
        marks.extend(self.grid(span, &y_of));
        marks.extend(self.band(curve, &y_of));
        for (freq_hz, name) in &self.named_hz {
            let x = self.x_of(*freq_hz);
            marks.push(Mark::line(
                [x, top],
                [x, bottom],
                Stroke::solid(Ink::Text, 1.0),
            ));
            let anchor = if x > 0.5 * (left + right) {
                Anchor::End
            } else {
                Anchor::Start
            };
            marks.push(Mark::text([x, top - 9.0], name, LABEL, anchor, Ink::Text));
        }
        for (at, text, anchor) in [
            ([4.0, 9.0], title, Anchor::Start),
            ([right, bottom + 27.0], "frequency", Anchor::End),
        ] {
            marks.push(Mark::text(at, text, LABEL, anchor, Ink::Text));
        }
        marks.extend(self.curve(curve, &y_of));
        marks.extend(self.through(span, &y_of));
        marks.push(Mark::Line {
            points: vec![
                [left, top],
                [right, top],
                [right, bottom],
                [left, bottom],
                [left, top],
            ],
            stroke: Stroke::solid(Ink::Faint, 1.0),
        });
        Scene {
            size: self.size,
            title: title.to_owned(),
            description: description.to_owned(),
            marks,
        }
    }

    fn grid(&self, span: (f64, f64), y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let [left, _, right, _] = self.area();
        let fine = Stroke::solid(Ink::Grid, 0.7);
        let mut marks = self.axis.grid(self.area());
        let mut written: Vec<f64> = Vec::new();
        for tick in self.scale.ticks(span, self.unit) {
            let y = y_of(tick.coordinate);
            marks.push(Mark::line([left, y], [right, y], fine));
            let has_room = written.iter().all(|at| (at - y).abs() > 1.3 * LABEL);
            if let Some(label) = tick.label.filter(|_| has_room) {
                written.push(y);
                let at = [left - 6.0, y];
                marks.push(Mark::text(at, label, LABEL, Anchor::End, Ink::Faint));
            }
        }
        marks
    }

    fn band(&self, curve: &[CurvePoint], y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let edge = |point: &CurvePoint| {
            let (low, high) = point.band?;
            point.value?;
            // An end that has no place on the scale is beyond the frame.
            let high = self.scale.coordinate(high).unwrap_or(f64::MAX);
            let low = self.scale.coordinate(low).unwrap_or(f64::MIN);
            Some([self.x_of(point.freq_hz), y_of(low), y_of(high)])
        };
        curve
            .windows(2)
            .filter_map(|pair| Some((edge(&pair[0])?, edge(&pair[1])?, pair[0].fixture)))
            .map(
                |([x0, low0, high0], [x1, low1, high1], fixture)| Mark::Area {
                    // A little over, so that no seam shows between neighbours.
                    points: vec![[x0, low0], [x1 + 0.7, low1], [x1 + 0.7, high1], [x0, high0]],
                    fill: Ink::Tint(fixture, 1),
                },
            )
            .collect()
    }

    /// Runs of one fixture, each in its own line; a run begins where the one before ended.
    fn curve(&self, curve: &[CurvePoint], y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let mut runs: Vec<(Fixture, Vec<Point>)> = Vec::new();
        let mut joined = false;
        for point in curve {
            let place = point.value.and_then(|value| self.scale.coordinate(value));
            let Some(place) = place else {
                joined = false;
                continue;
            };
            let at = [self.x_of(point.freq_hz), y_of(place)];
            match runs.last_mut() {
                Some((fixture, run)) if joined && *fixture == point.fixture => run.push(at),
                Some((_, run)) if joined => {
                    let before = run.last().copied().unwrap_or(at);
                    runs.push((point.fixture, vec![before, at]));
                }
                _ => runs.push((point.fixture, vec![at])),
            }
            joined = true;
        }
        let mut marks = Vec::new();
        for (fixture, points) in runs {
            let ink = Ink::Fixture(fixture);
            if let [center] = points[..] {
                marks.push(Mark::Circle {
                    center,
                    radius: 2.4,
                    fill: Some(ink),
                    stroke: None,
                });
                continue;
            }
            // A hair line keeps what falls between dashes visible.
            if Dash::of(fixture) != Dash::Solid {
                marks.push(Mark::Line {
                    points: points.clone(),
                    stroke: Stroke::solid(ink, 0.9),
                });
            }
            marks.push(Mark::Line {
                points,
                stroke: Stroke {
                    ink,
                    width: 2.2,
                    dash: Dash::of(fixture),
                },
            });
        }
        marks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flat_curve_has_a_scale_to_read() {
        for (scale, value) in [
            (ValueScale::Logarithmic, 101.6),
            (ValueScale::Signed(1.0), -1.23),
            (ValueScale::Signed(100.0), 101.6),
        ] {
            let frame = SweepFrame {
                size: [600.0, 300.0],
                axis: SweepAxis {
                    first_hz: 1e6,
                    last_hz: 4e6,
                },
                scale,
                unit: "Ω",
                named_hz: Vec::new(),
                through: Vec::new(),
            };
            let curve = [1e6, 4e6].map(|freq_hz| CurvePoint {
                freq_hz,
                value: Some(value),
                band: None,
                fixture: Fixture::Reflect,
            });
            let scene = frame.scene("title", "description", &curve);
            let labels = scene.marks.iter().filter(|mark| match mark {
                Mark::Text { text, .. } => text.ends_with('Ω'),
                _ => false,
            });
            assert!(labels.count() >= 2, "{scale:?}");
        }
    }

    #[test]
    fn a_change_of_fixture_joins_the_lines() {
        let frame = SweepFrame {
            size: [600.0, 300.0],
            axis: SweepAxis {
                first_hz: 1e6,
                last_hz: 4e6,
            },
            scale: ValueScale::Logarithmic,
            unit: "Ω",
            named_hz: Vec::new(),
            through: vec![(1e6, 1.0), (4e6, 4.0)],
        };
        let point = |k: u32, fixture| CurvePoint {
            freq_hz: 1e6 * f64::from(k),
            value: Some(f64::from(k)),
            band: Some((0.9 * f64::from(k), 1.1 * f64::from(k))),
            fixture,
        };
        let curve = [
            point(1, Fixture::Reflect),
            point(2, Fixture::Reflect),
            point(3, Fixture::SeriesThrough),
            point(4, Fixture::SeriesThrough),
        ];
        let scene = frame.scene("t", "d", &curve);
        let lines: Vec<&Vec<Point>> = scene
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Line { points, stroke } if matches!(stroke.ink, Ink::Fixture(_)) => {
                    Some(points)
                }
                _ => None,
            })
            .collect();
        // The second is drawn as hair line and dashes.
        assert_eq!(lines.len(), 3);
        assert_eq!(lines[0].last(), lines[1].first());
        assert_eq!(lines[1], lines[2]);
    }
}
