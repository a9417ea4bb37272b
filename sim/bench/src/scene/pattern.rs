//! Patterns of the fixtures' areas, in pixels of the finished picture: reflect plain, or slanted
//! lines where there are no tints; shunt-through upright lines; series-through dots.

use jigwise_physics::Fixture;

use super::{Ink, Mark, Point, Stroke};

/// Pixels between two lines or two dots.
const PITCH: f64 = 9.0;
const LINE_WIDTH: f64 = 1.0;
const DOT_RADIUS: f64 = 1.1;
const LARGE_DOT_RADIUS: f64 = 1.8;
/// Pixels from a dot to the nearest border, at least.
const DOT_ROOM: f64 = 2.2;
/// How finely a line is followed, pixels.
const STEP: f64 = 2.0;

/// How areas are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct PatternLook {
    /// True where reflect needs lines too.
    pub reflect_is_hatched: bool,
    /// True where the pattern is drawn in the fixture's full colour.
    pub is_dark: bool,
}

impl PatternLook {
    fn ink(self, fixture: Fixture) -> Ink {
        if self.is_dark {
            Ink::Fixture(fixture)
        } else {
            Ink::Pattern(fixture)
        }
    }
}

/// The pattern of a fixture inside a rectangle, where `has` is true.
pub(super) fn pattern(
    fixture: Fixture,
    area: [f64; 4],
    look: PatternLook,
    has: impl Fn(Point) -> bool,
) -> Option<Mark> {
    let lines = |slant: f64| Mark::Lines {
        ends: hatching(area, slant, &has),
        stroke: Stroke::solid(look.ink(fixture), LINE_WIDTH),
    };
    match fixture {
        Fixture::Reflect if look.reflect_is_hatched => Some(lines(1.0)),
        Fixture::Reflect => None,
        Fixture::ShuntThrough => Some(lines(0.0)),
        Fixture::SeriesThrough => Some(Mark::Dots {
            centers: dots(area, &has),
            radius: if look.is_dark {
                LARGE_DOT_RADIUS
            } else {
                DOT_RADIUS
            },
            ink: look.ink(fixture),
            edge: None,
        }),
    }
}

/// Lines from the bottom up, each moved `slant` to the right for each pixel of height.
fn hatching(
    [left, top, right, bottom]: [f64; 4],
    slant: f64,
    has: &impl Fn(Point) -> bool,
) -> Vec<[Point; 2]> {
    let mut lines = Vec::new();
    let pitch = PITCH * (1.0 + slant * slant).sqrt();
    let first = ((left - slant * (bottom - top)) / pitch).ceil() as i64;
    let last = (right / pitch).floor() as i64;
    for k in first..=last {
        let foot = k as f64 * pitch + 0.5;
        let at = |up: f64| [foot + slant * up, bottom - up];
        // The part of the line inside the rectangle.
        let (from, to) = if slant > 0.0 {
            (
                ((left - foot) / slant).max(0.0),
                ((right - foot) / slant).min(bottom - top),
            )
        } else {
            (0.0, bottom - top)
        };
        follow(from, to, &at, has, &mut lines);
    }
    lines
}

fn follow(
    from: f64,
    to: f64,
    at: &impl Fn(f64) -> Point,
    has: &impl Fn(Point) -> bool,
    lines: &mut Vec<[Point; 2]>,
) {
    let count = ((to - from) / STEP).ceil().max(0.0) as usize;
    let place = |k: usize| (from + k as f64 * STEP).min(to);
    let mut begun: Option<f64> = None;
    let mut was = false;
    for k in 0..=count {
        let is = has(at(place(k)));
        if is != was {
            let border = if k == 0 {
                from
            } else {
                change(place(k - 1), place(k), is, at, has)
            };
            match begun.take() {
                Some(begin) => lines.push([at(begin), at(border)]),
                None => begun = Some(border),
            }
        }
        was = is;
    }
    if let Some(begin) = begun {
        lines.push([at(begin), at(to)]);
    }
}

/// Where on the line the area begins or ends.
fn change(
    mut before: f64,
    mut after: f64,
    is_after: bool,
    at: &impl Fn(f64) -> Point,
    has: &impl Fn(Point) -> bool,
) -> f64 {
    const HALVINGS: usize = 5;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(before, after);
        if has(at(middle)) == is_after {
            after = middle;
        } else {
            before = middle;
        }
    }
    f64::midpoint(before, after)
}

fn dots([left, top, right, bottom]: [f64; 4], has: &impl Fn(Point) -> bool) -> Vec<Point> {
    let first = |low: f64| (low / PITCH).ceil() as i64;
    let last = |high: f64| (high / PITCH).floor() as i64;
    let mut centers = Vec::new();
    for j in first(top)..=last(bottom) {
        for i in first(left)..=last(right) {
            let [x, y] = [i as f64 * PITCH, j as f64 * PITCH];
            let room = [
                [x, y],
                [x - DOT_ROOM, y],
                [x + DOT_ROOM, y],
                [x, y - DOT_ROOM],
                [x, y + DOT_ROOM],
            ];
            if room.iter().all(|point| has(*point)) {
                centers.push([x, y]);
            }
        }
    }
    centers
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOOK: PatternLook = PatternLook {
        reflect_is_hatched: true,
        is_dark: false,
    };

    #[test]
    fn patterns_end_at_the_border() {
        let inside = |[x, y]: Point| (x - 50.0).hypot(y - 50.0) < 40.0;
        for fixture in [Fixture::Reflect, Fixture::ShuntThrough] {
            let Some(Mark::Lines { ends, .. }) =
                pattern(fixture, [0.0, 0.0, 100.0, 100.0], LOOK, inside)
            else {
                panic!("no lines");
            };
            assert!(ends.len() > 5);
            for [from, to] in ends {
                for [x, y] in [from, to] {
                    let off = (x - 50.0).hypot(y - 50.0) - 40.0;
                    assert!(off.abs() < 0.3, "{off}");
                }
            }
        }
        let Some(Mark::Dots { centers, .. }) = pattern(
            Fixture::SeriesThrough,
            [0.0, 0.0, 100.0, 100.0],
            LOOK,
            inside,
        ) else {
            panic!("no dots");
        };
        assert!(centers.len() > 40 && centers.into_iter().all(inside));
    }
}
