//! Clouds in σ, and the ruler that all three fixtures share.

use jigwise_physics::{Fixture, SEEN_SIGMA};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, sign};
use crate::clouds::Clouds;
use crate::readout::Readout;
use crate::words::{fixture_title, sigma};

const LABEL: f64 = 11.0;
/// Half the width that is drawn, at least and at most, σ.
const NARROWEST: f64 = 4.0;
const WIDEST: f64 = 12.0;
/// Half the height that is drawn, at least, σ.
const LEAST_HEIGHT_SIGMA: f64 = 2.9;

/// Half the width of the picture in σ, and true where the clouds are too far apart to be drawn
/// to scale.
pub fn half_width_sigma(separation_sigma: f64) -> (f64, bool) {
    let wanted = (0.6 * separation_sigma.abs() + 3.0).max(NARROWEST);
    (wanted.min(WIDEST), wanted > WIDEST)
}

/// How σ become pixels in a picture of two clouds.
struct CloudFrame {
    /// The point midway between the clouds.
    middle: Point,
    /// Pixels of one σ.
    scale: f64,
    width: f64,
    /// Height of the ruler's line.
    ruler_y: f64,
}

impl CloudFrame {
    /// A picture of `size` that shows `half_width` σ to either side.
    fn new([width, height]: [f64; 2], half_width: f64) -> Self {
        let ruler_y = height - 16.0;
        let middle = [width / 2.0, (ruler_y - 6.0) / 2.0];
        Self {
            middle,
            scale: (width / 2.0 / half_width).min(middle[1] / LEAST_HEIGHT_SIGMA),
            width,
            ruler_y,
        }
    }

    /// A point in σ; the centre of its cloud, at `center` along x, is drawn at `drawn`.
    fn place(&self, [x, y]: [f64; 2], center: f64, drawn: f64) -> Point {
        let [middle_x, middle_y] = self.middle;
        [
            middle_x + (x - center + drawn) * self.scale,
            middle_y - y * self.scale,
        ]
    }

    fn has(&self, [x, y]: &Point) -> bool {
        (2.0..=self.width - 2.0).contains(x) && (2.0..=self.ruler_y - 6.0).contains(y)
    }

    /// Cross lines along growing |S| and growing angle, one σ to either side.
    fn axes(&self, axes: [[f64; 2]; 2], center: Point) -> [Mark; 2] {
        axes.map(|[x, y]| {
            let (dx, dy) = (x * self.scale, y * self.scale);
            Mark::line(
                [center[0] - dx, center[1] + dy],
                [center[0] + dx, center[1] - dy],
                Stroke::solid(Ink::Faint, 0.8),
            )
        })
    }
}

/// Both clouds of a fixture: filled points before the nudge, hollow ones after it.
pub fn cloud(clouds: &Clouds, size: [f64; 2]) -> Scene {
    let (half, broken) = half_width_sigma(clouds.separation_sigma);
    let frame = CloudFrame::new(size, half);
    let area = [frame.width, frame.ruler_y];
    // Broken: each centre stays inside, the number says how far apart they are.
    let true_center = clouds.separation_sigma / 2.0;
    let drawn_center = if broken { half - 3.5 } else { true_center };
    let mut marks = Vec::new();
    for (points, center, drawn, filled) in [
        (&clouds.before, -true_center, -drawn_center, true),
        (&clouds.after, true_center, drawn_center, false),
    ] {
        let placed = points
            .iter()
            .map(|point| frame.place(*point, center, drawn));
        marks.push(Mark::Dots {
            centers: placed.filter(|point| frame.has(point)).collect(),
            radius: if filled { 1.4 } else { 1.8 },
            ink: Ink::Fixture(clouds.fixture),
            edge: (!filled).then_some(0.8),
        });
        let center = [frame.middle[0] + drawn * frame.scale, frame.middle[1]];
        marks.push(Mark::Circle {
            center,
            radius: frame.scale,
            fill: None,
            stroke: Some(Stroke {
                ink: Ink::Text,
                width: 1.4,
                dash: if filled { Dash::Solid } else { Dash::Long },
            }),
        });
        if let Some(axes) = clouds.axes {
            marks.extend(frame.axes(axes, center));
        }
    }
    let ideal = frame.place(clouds.ideal, -true_center, -drawn_center);
    marks.extend(ideal_marks(clouds, ideal, frame.middle, area));
    marks.extend(ruler(
        half,
        broken,
        clouds.separation_sigma,
        area,
        frame.scale,
    ));
    Scene {
        size,
        title: format!("{}: repeated readings", fixture_title(clouds.fixture)),
        description: format!(
            "Filled points: the part as it is. Hollow points: the part nudged. Their centres are \
             {} σ of one reading apart.",
            sigma(clouds.separation_sigma)
        ),
        marks,
    }
}

/// The cross at the ideal reading, or an arrow toward it with its distance.
fn ideal_marks(
    clouds: &Clouds,
    ideal: Point,
    middle: Point,
    [width, bottom]: [f64; 2],
) -> Vec<Mark> {
    const ARM: f64 = 5.0;
    const EDGE: f64 = 9.0;
    let stroke = Stroke::solid(Ink::Device, 2.0);
    let [x, y] = ideal;
    let inside = (EDGE..=width - EDGE).contains(&x) && (EDGE..=bottom - EDGE - 6.0).contains(&y);
    if inside {
        return vec![
            Mark::line([x - ARM, y - ARM], [x + ARM, y + ARM], stroke),
            Mark::line([x - ARM, y + ARM], [x + ARM, y - ARM], stroke),
        ];
    }
    let [dx, dy] = [x - middle[0], y - middle[1]];
    let length = dx.hypot(dy);
    if !length.is_finite() || length == 0.0 {
        return Vec::new();
    }
    let [ux, uy] = [dx / length, dy / length];
    // As far toward the ideal as the picture goes.
    let reach_x = (width / 2.0 - EDGE) / ux.abs().max(1e-9);
    let reach_y = (middle[1] - EDGE) / uy.abs().max(1e-9);
    let reach = reach_x.min(reach_y);
    let tip = [middle[0] + ux * reach, middle[1] + uy * reach];
    let barb = |side: f64| {
        [
            tip[0] - 7.0 * ux + side * 4.0 * uy,
            tip[1] - 7.0 * uy - side * 4.0 * ux,
        ]
    };
    let [cx, cy] = clouds.ideal;
    let away = (cx + clouds.separation_sigma / 2.0).hypot(cy);
    let tail = [tip[0] - 16.0 * ux, tip[1] - 16.0 * uy];
    vec![
        Mark::line(tail, tip, stroke),
        Mark::line(barb(1.0), tip, stroke),
        Mark::line(barb(-1.0), tip, stroke),
        Mark::text(
            [2.0, LABEL / 2.0 + 1.0],
            format!("ideal {} σ off", sigma(away)),
            LABEL,
            Anchor::Start,
            Ink::Text,
        ),
    ]
}

fn ruler(
    half: f64,
    broken: bool,
    separation_sigma: f64,
    [width, y]: [f64; 2],
    scale: f64,
) -> Vec<Mark> {
    let line = Stroke::solid(Ink::Faint, 1.0);
    let middle = width / 2.0;
    if broken {
        return vec![
            Mark::line([4.0, y], [middle - 34.0, y], line),
            Mark::line([middle + 34.0, y], [width - 4.0, y], line),
            Mark::text(
                [middle, y],
                format!("{} σ", sigma(separation_sigma)),
                LABEL,
                Anchor::Middle,
                Ink::Text,
            ),
        ];
    }
    let mut marks = vec![Mark::line([0.0, y], [width, y], line)];
    let last = (middle / scale).floor().max(half.floor()) as i32;
    for step in -last..=last {
        let x = middle + f64::from(step) * scale;
        marks.push(Mark::line([x, y - 3.0], [x, y + 3.0], line));
    }
    marks.push(Mark::text(
        [middle, y + 10.0],
        "a tick is one σ",
        LABEL,
        Anchor::Middle,
        Ink::Faint,
    ));
    marks
}

/// The ruler under the columns: separation of the nudge in each fixture, from 0.01 to 1000 σ
/// on a logarithmic scale, with the line at 2.83 σ from which it is seen.
pub fn sigma_ruler(readout: &Readout, size: [f64; 2]) -> Scene {
    const LOW: f64 = -2.0;
    const HIGH: f64 = 3.0;
    const MARGIN: f64 = 26.0;
    let [width, height] = size;
    let y = height * 0.62;
    let x_of = |d: f64| {
        let part = (d.max(1e-30).log10().clamp(LOW, HIGH) - LOW) / (HIGH - LOW);
        MARGIN + part * (width - 2.0 * MARGIN)
    };
    let line = Stroke::solid(Ink::Faint, 1.2);
    let mut marks = vec![Mark::line([MARGIN, y], [width - MARGIN, y], line)];
    for power in -2..=3 {
        let d = 10f64.powi(power);
        let (x, text) = (x_of(d), format!("{d} σ"));
        marks.push(Mark::line([x, y - 4.0], [x, y + 4.0], line));
        let at = [x, y + 14.0];
        marks.push(Mark::text(at, text, LABEL, Anchor::Middle, Ink::Faint));
    }
    let seen_x = x_of(SEEN_SIGMA);
    marks.push(Mark::line(
        [seen_x, y - 29.0],
        [seen_x, y + 6.0],
        Stroke::solid(Ink::Text, 2.0),
    ));
    marks.push(Mark::text(
        [seen_x + 4.0, y - 24.0],
        format!("seen from {} σ", sigma(SEEN_SIGMA)),
        LABEL,
        Anchor::Start,
        Ink::Text,
    ));
    let separations = Fixture::ALL.into_iter().filter_map(|fixture| {
        let seen = readout.appraisal_of(fixture)?;
        Some((fixture, seen.separation_sigma?))
    });
    let mut said = Vec::new();
    for (fixture, d) in separations {
        marks.push(sign(fixture, [x_of(d), y - 9.0], 13.0));
        said.push(format!("{} {} σ", fixture_title(fixture), sigma(d)));
    }
    Scene {
        size,
        title: "Separation of the nudge in each fixture".to_owned(),
        description: if said.is_empty() {
            "No separation here: the nudge means nothing for this device.".to_owned()
        } else {
            format!(
                "{}; a change is seen from {} σ.",
                said.join(", "),
                sigma(SEEN_SIGMA)
            )
        },
        marks,
    }
}
