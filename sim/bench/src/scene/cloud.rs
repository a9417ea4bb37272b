//! Clouds in σ, and the ruler that all three fixtures share.

use jigwise_physics::{Fixture, SEEN_SIGMA};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, sign};
use crate::clouds::Clouds;
use crate::readout::Readout;
use crate::words::{fixture_title, sigma};

const LABEL: f64 = 14.0;
/// Height of the row at the bottom in which the separation is named, in heights of its type.
const NUMBER_ROW: f64 = 1.3;
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

/// The scale that several pictures of clouds have in common, so that a cloud of the same scatter
/// has the same size in each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloudScale {
    /// Half the width of a picture, σ.
    half_width: f64,
}

impl CloudScale {
    /// The scale on which the clouds of all these separations can be told apart.
    pub fn of(separations_sigma: impl IntoIterator<Item = f64>) -> Self {
        let half_width = separations_sigma
            .into_iter()
            .map(|separation| half_width_sigma(separation).0)
            .fold(NARROWEST, f64::max);
        Self { half_width }
    }
}

/// Where the pair of clouds lies against the ideal reading, which stands still, σ.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Glide(pub [f64; 2]);

impl Glide {
    /// Where the calibration puts the pair.
    pub fn of(clouds: &Clouds) -> Self {
        let [x, y] = clouds.ideal;
        Self([-0.5 * clouds.separation_sigma - x, -y])
    }

    /// Between this place and another: here at 0, there at 1.
    #[must_use]
    pub fn toward(self, other: Self, part: f64) -> Self {
        Self(std::array::from_fn(|k| {
            self.0[k] + (other.0[k] - self.0[k]) * part
        }))
    }
}

/// How σ become pixels in a picture of two clouds.
struct CloudFrame {
    size: [f64; 2],
    /// Pixels of one σ.
    scale: f64,
    /// From the middle of the picture to the centre of either cloud, σ.
    drawn: f64,
    is_broken: bool,
    /// What the pair is moved by, σ, so that it stays in the picture.
    moved: [f64; 2],
    is_cut: bool,
}

impl CloudFrame {
    fn new(
        clouds: &Clouds,
        scale: CloudScale,
        glide: Glide,
        size: [f64; 2],
        type_size: f64,
    ) -> Self {
        /// σ around a centre that the picture keeps free.
        const AROUND: f64 = 2.3;
        let size = [size[0], size[1] - NUMBER_ROW * type_size];
        let [width, height] = size;
        let per_sigma = (width / 2.0 / scale.half_width).min(height / 2.0 / LEAST_HEIGHT_SIGMA);
        let half = width / 2.0 / per_sigma;
        let half_distance = 0.5 * clouds.separation_sigma;
        let farthest = half - AROUND - 0.7;
        let is_broken = half_distance > farthest;
        let drawn = half_distance.min(farthest);
        let room = [
            (half - drawn - AROUND).max(0.3),
            (height / 2.0 / per_sigma - AROUND).max(0.3),
        ];
        let Glide(wanted) = glide;
        let share = (0..2)
            .map(|k| room[k] / wanted[k].abs().max(1e-9))
            .fold(1.0, f64::min);
        Self {
            size,
            scale: per_sigma,
            drawn,
            is_broken,
            moved: wanted.map(|part| part * share),
            is_cut: share < 1.0,
        }
    }

    /// A place in σ from the middle of the picture.
    fn at(&self, [x, y]: [f64; 2]) -> Point {
        let [width, height] = self.size;
        [width / 2.0 + x * self.scale, height / 2.0 - y * self.scale]
    }

    /// The centre of a cloud: the first at side −1, the nudged one at side 1.
    fn center(&self, side: f64) -> [f64; 2] {
        [side * self.drawn + self.moved[0], self.moved[1]]
    }

    fn has(&self, [x, y]: &Point) -> bool {
        let [width, height] = self.size;
        (1.5..=width - 1.5).contains(x) && (1.5..=height - 1.5).contains(y)
    }
}

/// Both clouds of a fixture: filled points before the nudge, hollow ones after it. The cross is
/// the ideal reading; `separation_sigma` is the distance that is named: in the window that of a
/// perfect calibration, in the book that of the calibration shown. `type_size` is the height of its
/// letters, and scales the points.
pub fn cloud(
    clouds: &Clouds,
    separation_sigma: f64,
    scale: CloudScale,
    glide: Glide,
    size: [f64; 2],
    type_size: f64,
) -> Scene {
    let frame = CloudFrame::new(clouds, scale, glide, size, type_size);
    let dot = type_size / LABEL;
    let half = 0.5 * clouds.separation_sigma;
    let mut marks = Vec::new();
    for (points, side, filled) in [(&clouds.before, -1.0, true), (&clouds.after, 1.0, false)] {
        let [cx, cy] = frame.center(side);
        let placed = points
            .iter()
            .map(|[x, y]| frame.at([x - side * half + cx, y + cy]));
        marks.push(Mark::Dots {
            centers: placed.filter(|point| frame.has(point)).collect(),
            radius: dot * if filled { 1.5 } else { 1.8 },
            ink: Ink::Fixture(clouds.fixture),
            edge: (!filled).then_some(0.8),
        });
        marks.push(Mark::Circle {
            center: frame.at([cx, cy]),
            radius: frame.scale,
            fill: None,
            stroke: Some(Stroke {
                ink: Ink::Text,
                width: 1.4,
                dash: if filled { Dash::Solid } else { Dash::Long },
            }),
        });
    }
    marks.extend(cross(&frame));
    if frame.is_broken {
        marks.extend(break_marks(&frame, separation_sigma));
    }
    let [width, height] = size;
    marks.push(Mark::text(
        [width - 2.0, height - 0.6 * type_size],
        format!("{}\u{202f}σ", sigma(separation_sigma)),
        type_size,
        Anchor::End,
        Ink::Faint,
    ));
    Scene {
        size,
        title: format!("{}: repeated readings", fixture_title(clouds.fixture)),
        description: format!(
            "Filled points: the part as it is. Hollow points: the part nudged. Their centres are \
             {} σ of one reading apart. The cross is the ideal reading.",
            sigma(separation_sigma)
        ),
        marks,
    }
}

/// The cross at the ideal reading, and a dotted tether to the cloud that lies off it.
fn cross(frame: &CloudFrame) -> Vec<Mark> {
    const ARM: f64 = 6.0;
    const OUTSIDE_SIGMA: f64 = 2.45;
    let [x, y] = frame.at([-frame.drawn, 0.0]);
    let center = frame.at(frame.center(-1.0));
    let mut marks = Vec::new();
    let [dx, dy] = frame.moved;
    if frame.is_cut || dx.hypot(dy) > OUTSIDE_SIGMA {
        marks.push(Mark::Line {
            points: vec![[x, y], center],
            stroke: Stroke {
                ink: Ink::Text,
                width: 1.2,
                dash: Dash::Dots,
            },
        });
    }
    if frame.is_cut {
        let middle = [f64::midpoint(x, center[0]), f64::midpoint(y, center[1])];
        marks.extend(slashes(middle, 1));
    }
    let stroke = Stroke::solid(Ink::Device, 2.4);
    marks.push(Mark::line([x - ARM, y], [x + ARM, y], stroke));
    marks.push(Mark::line([x, y - ARM], [x, y + ARM], stroke));
    marks
}

/// Between two clouds farther apart than the picture is wide: a slash for each factor of ten.
fn break_marks(frame: &CloudFrame, separation_sigma: f64) -> Vec<Mark> {
    let count = separation_sigma.max(10.0).log10().floor() as usize;
    let [x, y] = frame.moved;
    slashes(frame.at([x, y]), count)
}

fn slashes([x, y]: Point, count: usize) -> Vec<Mark> {
    const GAP: f64 = 6.0;
    const HALF: [f64; 2] = [3.0, 7.0];
    let first = x - 0.5 * GAP * count.saturating_sub(1) as f64;
    (0..count)
        .map(|k| {
            let x = first + GAP * k as f64;
            Mark::line(
                [x - HALF[0], y + HALF[1]],
                [x + HALF[0], y - HALF[1]],
                Stroke::solid(Ink::Text, 1.6),
            )
        })
        .collect()
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
