//! The fixtures' signs.

use std::f64::consts::{FRAC_PI_2, PI};

use jigwise_physics::{Fixture, Verdict};

use super::{Ink, Mark, Point, Stroke, arc};

/// A fixture's sign in a square of side `size` around `center`: a half-disc for reflect, an
/// upright bar for shunt-through, a lying bar for series-through.
pub fn sign(fixture: Fixture, center: Point, size: f64) -> Mark {
    Mark::Area {
        points: outline(fixture, center, size),
        fill: Ink::Fixture(fixture),
    }
}

/// The same with its edge alone.
pub fn hollow_sign(fixture: Fixture, center: Point, size: f64) -> Mark {
    let mut points = outline(fixture, center, size);
    points.extend(points.first().copied());
    Mark::Line {
        points,
        stroke: Stroke::solid(Ink::Fixture(fixture), size * 0.09),
    }
}

/// The sign filled where the fixture sees the nudge, its lower half filled where there is a hint
/// or the display hides it, hollow where it can't tell.
pub fn verdict_sign(fixture: Fixture, verdict: Verdict, center: Point, size: f64) -> Vec<Mark> {
    match verdict {
        Verdict::Sees => vec![sign(fixture, center, size)],
        Verdict::Hint | Verdict::HiddenByDisplay => {
            let [_, y] = center;
            let lower = outline(fixture, center, size)
                .into_iter()
                .map(|[x, corner]| [x, corner.max(y)])
                .collect();
            let half = Mark::Area {
                points: lower,
                fill: Ink::Fixture(fixture),
            };
            vec![half, hollow_sign(fixture, center, size)]
        }
        Verdict::CantTell | Verdict::NoReading | Verdict::NoNudge => {
            vec![hollow_sign(fixture, center, size)]
        }
    }
}

fn outline(fixture: Fixture, [x, y]: Point, size: f64) -> Vec<Point> {
    let half = size / 2.0;
    let thin = size * 0.19;
    let bar = |dx: f64, dy: f64| {
        vec![
            [x - dx, y - dy],
            [x + dx, y - dy],
            [x + dx, y + dy],
            [x - dx, y + dy],
        ]
    };
    match fixture {
        Fixture::Reflect => arc([x - half / 2.0, y], half, -FRAC_PI_2, PI - FRAC_PI_2),
        Fixture::ShuntThrough => bar(thin, half),
        Fixture::SeriesThrough => bar(half, thin),
    }
}
