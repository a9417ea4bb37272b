use std::f64::consts::{FRAC_PI_2, PI};

use jigwise_physics::Fixture;

use super::{Ink, Mark, Point, arc};

/// A fixture's sign in a square of side `size` around `center`: a half-disc for reflect, an
/// upright bar for shunt-through, a lying bar for series-through.
pub fn sign(fixture: Fixture, center: Point, size: f64) -> Mark {
    let [x, y] = center;
    let half = size / 2.0;
    let thin = size * 0.17;
    let bar = |dx: f64, dy: f64| {
        vec![
            [x - dx, y - dy],
            [x + dx, y - dy],
            [x + dx, y + dy],
            [x - dx, y + dy],
        ]
    };
    Mark::Area {
        points: match fixture {
            Fixture::Reflect => arc([x - half / 2.0, y], half, -FRAC_PI_2, PI - FRAC_PI_2),
            Fixture::ShuntThrough => bar(thin, half),
            Fixture::SeriesThrough => bar(half, thin),
        },
        fill: Ink::Fixture(fixture),
    }
}
