//! Plots over frequency: a curve with its band, and which fixture was chosen where.

use jigwise_physics::Fixture;

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, sign};
use crate::words::fixture_title;
use jigwise_quantity::engineering;

const LABEL: f64 = 11.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 36.0;
/// From this ratio of the ends on, frequencies are spread by their logarithm.
const WIDE: f64 = 5.0;

/// The scale across: frequencies from one end of a sweep to the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepAxis {
    /// The first frequency, Hz.
    pub first_hz: f64,
    /// The last, Hz.
    pub last_hz: f64,
}

impl SweepAxis {
    /// True where frequencies are spread by their logarithm.
    pub fn is_logarithmic(&self) -> bool {
        self.first_hz > 0.0 && self.last_hz / self.first_hz >= WIDE
    }

    /// How far a frequency is across, 0 to 1.
    pub fn share(&self, freq_hz: f64) -> f64 {
        let share = if self.is_logarithmic() {
            (freq_hz / self.first_hz).ln() / (self.last_hz / self.first_hz).ln()
        } else {
            (freq_hz - self.first_hz) / (self.last_hz - self.first_hz)
        };
        // A sweep of one point stands in the middle.
        if share.is_finite() { share } else { 0.5 }
    }

    /// Frequencies to be marked, and which of them get a label.
    fn ticks(&self) -> Vec<(f64, bool)> {
        if !self.is_logarithmic() {
            return even_ticks(self.first_hz, self.last_hz)
                .into_iter()
                .map(|hz| (hz, true))
                .collect();
        }
        let decades = (self.last_hz / self.first_hz).log10();
        let labelled: &[u32] = if decades < 1.5 {
            &[1, 2, 3, 5]
        } else if decades < 2.6 {
            &[1, 2, 5]
        } else {
            &[1]
        };
        let mut ticks = Vec::new();
        let from = self.first_hz.log10().floor() as i32;
        let to = self.last_hz.log10().ceil() as i32;
        for power in from..=to {
            for step in 1..10u32 {
                let hz = 10f64.powi(power) * f64::from(step);
                let inside = hz >= self.first_hz * 0.999_999 && hz <= self.last_hz * 1.000_001;
                if inside {
                    ticks.push((hz, labelled.contains(&step)));
                }
            }
        }
        ticks
    }
}

/// Round values, about six of them.
fn even_ticks(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low) / 6.0;
    if rough <= 0.0 || !rough.is_finite() {
        return vec![low];
    }
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * power)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(10.0 * power);
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last).map(|k| k as f64 * step).collect()
}

/// How the values are spread upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValueScale {
    /// By their logarithm; what is not above zero is left out.
    Logarithmic,
    /// By their logarithm on both sides of zero, evenly within the size given.
    Signed(f64),
    /// Evenly from one value to another.
    Even(f64, f64),
}

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

    /// A value as a number that is spread evenly.
    fn flat(&self, value: f64) -> Option<f64> {
        match self.scale {
            ValueScale::Logarithmic => (value > 0.0).then(|| value.log10()),
            ValueScale::Signed(within) => Some((value / within).asinh()),
            ValueScale::Even(..) => Some(value),
        }
        .filter(|flat| flat.is_finite())
    }

    /// The value of a flat one.
    fn value(&self, flat: f64) -> f64 {
        match self.scale {
            ValueScale::Logarithmic => 10f64.powf(flat),
            ValueScale::Signed(within) => flat.sinh() * within,
            ValueScale::Even(..) => flat,
        }
    }

    /// Lowest and highest value, flat.
    fn span(&self, curve: &[CurvePoint]) -> (f64, f64) {
        if let ValueScale::Even(low, high) = self.scale {
            return (low, high);
        }
        let flats = || curve.iter().filter_map(|point| self.flat(point.value?));
        let low = flats().fold(f64::INFINITY, f64::min);
        let high = flats().fold(f64::NEG_INFINITY, f64::max);
        if low > high {
            return (0.0, 1.0);
        }
        // A line through it shows its peak, too, where that is no more than a half of the height.
        let more = high - low;
        let ends = |limit: f64| {
            self.through
                .iter()
                .filter_map(move |p| Some(self.flat(p.1)?.min(limit)))
        };
        let high = ends(high + more).fold(high, f64::max);
        let middle = 0.5 * (low + high);
        // A flat line still gets a scale; the curve keeps clear of the frame.
        let half = (0.5 * (high - low)).max(0.15) * 1.12;
        (middle - half, middle + half)
    }

    /// The thin line where it is inside, one piece for each time it comes in.
    fn through(&self, span: (f64, f64), y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let mut pieces: Vec<Vec<Point>> = vec![Vec::new()];
        for &(hz, value) in &self.through {
            match self.flat(value).filter(|at| *at >= span.0 && *at <= span.1) {
                Some(flat) => {
                    if let Some(piece) = pieces.last_mut() {
                        piece.push([self.x_of(hz), y_of(flat)]);
                    }
                }
                None => pieces.push(Vec::new()),
            }
        }
        pieces.retain(|piece| piece.len() > 1);
        let stroke = Stroke::solid(Ink::Text, 1.1);
        pieces
            .into_iter()
            .map(|points| Mark::Line { points, stroke })
            .collect()
    }

    /// The picture of a curve.
    pub fn scene(&self, title: &str, description: &str, curve: &[CurvePoint]) -> Scene {
        let span = self.span(curve);
        let [left, top, right, bottom] = self.area();
        let y_of = |flat: f64| {
            let share = (flat - span.0) / (span.1 - span.0);
            bottom - share.clamp(0.0, 1.0) * (bottom - top)
        };
        let mut marks = vec![Mark::Area {
            points: vec![[left, top], [right, top], [right, bottom], [left, bottom]],
            fill: Ink::Paper,
        }];
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
        let [left, top, right, bottom] = self.area();
        let fine = Stroke::solid(Ink::Grid, 0.7);
        let mut marks = across(&self.axis, [left, top, right, bottom], true);
        let mut written: Vec<f64> = Vec::new();
        let inside = |value: f64| {
            let flat = self.flat(value).or((value == 0.0).then_some(0.0))?;
            (flat >= span.0 && flat <= span.1).then_some(flat)
        };
        let mut ticks = self.value_ticks(span);
        let labels = ticks
            .iter()
            .filter(|(v, labelled)| *labelled && inside(*v).is_some());
        // Less than two labels are no scale.
        let is_narrow = labels.count() < 2;
        if is_narrow {
            let even = even_ticks(self.value(span.0), self.value(span.1));
            ticks = even.into_iter().map(|value| (value, true)).collect();
        }
        for (value, labelled) in ticks {
            let Some(flat) = inside(value) else {
                continue;
            };
            let y = y_of(flat);
            marks.push(Mark::line([left, y], [right, y], fine));
            if labelled && written.iter().all(|at| (at - y).abs() > 1.3 * LABEL) {
                written.push(y);
                marks.push(Mark::text(
                    [left - 6.0, y],
                    self.tick_text(value, is_narrow),
                    LABEL,
                    Anchor::End,
                    Ink::Faint,
                ));
            }
        }
        marks
    }

    fn tick_text(&self, value: f64, is_narrow: bool) -> String {
        if self.unit == "°" {
            return format!("{}°", jigwise_quantity::fixed(value, 0));
        }
        let digits = match self.scale {
            ValueScale::Even(..) => 3,
            _ if is_narrow => 3,
            _ => 1,
        };
        engineering(value, self.unit, digits)
    }

    fn value_ticks(&self, span: (f64, f64)) -> Vec<(f64, bool)> {
        match self.scale {
            ValueScale::Even(low, high) => {
                let ticks = if self.unit == "°" {
                    let step = if high - low > 200.0 { 45.0 } else { 30.0 };
                    let from = (low / step).ceil() as i32;
                    let to = (high / step).floor() as i32;
                    (from..=to).map(|k| f64::from(k) * step).collect()
                } else {
                    even_ticks(low, high)
                };
                ticks.into_iter().map(|value| (value, true)).collect()
            }
            ValueScale::Logarithmic => {
                let (from, to) = (span.0.floor() as i32, span.1.ceil() as i32);
                let few = span.1 - span.0 < 1.5;
                (from..=to)
                    .flat_map(|power| (1..10u32).map(move |step| (power, step)))
                    .map(|(power, step)| {
                        let labelled = step == 1 || few && [2, 3, 5].contains(&step);
                        (10f64.powi(power) * f64::from(step), labelled)
                    })
                    .collect()
            }
            ValueScale::Signed(within) => {
                let largest = self.value(span.0.abs().max(span.1.abs()));
                let from = within.log10().ceil() as i32;
                let to = largest.log10().floor() as i32;
                let mut ticks = vec![(0.0, true)];
                for power in from..=to {
                    for value in [10f64.powi(power), -10f64.powi(power)] {
                        ticks.push((value, true));
                    }
                }
                // Zero gets its label first, then the large ones.
                ticks[1..].sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
                ticks
            }
        }
    }

    fn band(&self, curve: &[CurvePoint], y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let bottom_flat = f64::MIN;
        let edge = |point: &CurvePoint| {
            let (low, high) = point.band?;
            point.value?;
            let high = self.flat(high).unwrap_or(f64::MAX);
            let low = self.flat(low).unwrap_or(bottom_flat);
            Some([self.x_of(point.freq_hz), y_of(low), y_of(high)])
        };
        curve
            .windows(2)
            .filter_map(|pair| Some((edge(&pair[0])?, edge(&pair[1])?)))
            .map(|([x0, low0, high0], [x1, low1, high1])| Mark::Area {
                // A little over, so that no seam shows between neighbours.
                points: vec![[x0, low0], [x1 + 0.7, low1], [x1 + 0.7, high1], [x0, high0]],
                fill: Ink::Grid,
            })
            .collect()
    }

    /// Runs of one fixture, each in its own line; a run begins where the one before ended.
    fn curve(&self, curve: &[CurvePoint], y_of: &impl Fn(f64) -> f64) -> Vec<Mark> {
        let mut runs: Vec<(Fixture, Vec<Point>)> = Vec::new();
        let mut joined = false;
        for point in curve {
            let Some(flat) = point.value.and_then(|value| self.flat(value)) else {
                joined = false;
                continue;
            };
            let at = [self.x_of(point.freq_hz), y_of(flat)];
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

/// Lines and labels of the frequencies.
fn across(axis: &SweepAxis, [left, top, right, bottom]: [f64; 4], lines: bool) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut last_x = f64::NEG_INFINITY;
    for (freq_hz, labelled) in axis.ticks() {
        let x = left + axis.share(freq_hz).clamp(0.0, 1.0) * (right - left);
        if lines {
            let weight = if labelled { 0.8 } else { 0.4 };
            marks.push(Mark::line(
                [x, top],
                [x, bottom],
                Stroke::solid(Ink::Grid, weight),
            ));
        }
        if labelled && x - last_x > 4.6 * LABEL {
            last_x = x;
            marks.push(Mark::text(
                [
                    if right - x < 2.0 * LABEL { right } else { x },
                    bottom + 12.0,
                ],
                engineering(freq_hz, "Hz", 3)
                    .replace(".00", "")
                    .replace(".0\u{202f}", "\u{202f}"),
                LABEL,
                // The last one stays inside the picture.
                if right - x < 2.0 * LABEL {
                    Anchor::End
                } else {
                    Anchor::Middle
                },
                Ink::Faint,
            ));
        }
    }
    marks
}

/// Where each fixture was chosen: three rows, a bar where the fixture knows the part best, a
/// thin line where it was measured as well.
///
/// `runs` holds the ends of each stretch, Hz, with its fixture, rising; `measured` says which
/// fixtures there are at all.
pub fn chosen_strip(
    size: [f64; 2],
    axis: &SweepAxis,
    runs: &[(f64, f64, Fixture)],
    measured: [bool; 3],
    description: &str,
) -> Scene {
    const NAMES: f64 = 128.0;
    let [width, height] = size;
    let (left, right) = (NAMES, width - RIGHT);
    let (top, bottom) = (8.0, height - 22.0);
    let row = (bottom - top) / 3.0;
    let mut marks = across(axis, [left, top, right, bottom], true);
    for (at, fixture) in Fixture::ALL.into_iter().enumerate() {
        let y = top + (at as f64 + 0.5) * row;
        marks.push(sign(fixture, [12.0, y], 14.0));
        marks.push(Mark::text(
            [26.0, y],
            fixture_title(fixture),
            12.0,
            Anchor::Start,
            Ink::Text,
        ));
        if !measured[at] {
            marks.push(Mark::text(
                [left + 6.0, y],
                "not measured",
                LABEL,
                Anchor::Start,
                Ink::Faint,
            ));
            continue;
        }
        marks.push(Mark::line(
            [left, y],
            [right, y],
            Stroke::solid(Ink::Faint, 1.0),
        ));
        for (from_hz, to_hz, chosen) in runs {
            if *chosen != fixture {
                continue;
            }
            let x = |hz: f64| left + axis.share(hz).clamp(0.0, 1.0) * (right - left);
            // A single point is still a mark.
            let (from, to) = (x(*from_hz), x(*to_hz).max(x(*from_hz) + 2.0));
            let half = 0.28 * row;
            marks.push(Mark::Area {
                points: vec![
                    [from, y - half],
                    [to, y - half],
                    [to, y + half],
                    [from, y + half],
                ],
                fill: Ink::Fixture(fixture),
            });
        }
    }
    Scene {
        size,
        title: "The fixture that knows the part best, over frequency".to_owned(),
        description: description.to_owned(),
        marks,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = SweepAxis {
            first_hz: 1e6,
            last_hz: 30e6,
        };
        let labelled: Vec<f64> = axis
            .ticks()
            .into_iter()
            .filter(|(_, labelled)| *labelled)
            .map(|(hz, _)| hz)
            .collect();
        assert_eq!(labelled, [1e6, 2e6, 3e6, 5e6, 1e7, 2e7, 3e7]);
        assert_eq!(
            even_ticks(0.0, 30.0),
            [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0]
        );
        assert_eq!(even_ticks(7.0, 7.0), [7.0]);
    }

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
