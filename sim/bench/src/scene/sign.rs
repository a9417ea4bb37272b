//! The fixtures' signs.

use std::f64::consts::{FRAC_PI_2, PI};

use jigwise_physics::Fixture;

use super::{Ink, Mark, Point, arc};

/// A fixture's sign in a square of side `size` around `center`: a half-disc for reflect, an
/// upright bar for shunt-through, a lying bar for series-through.
pub fn sign(fixture: Fixture, center: Point, size: f64) -> Mark {
    let [x, y] = center;
    let half = size / 2.0;
    let thin = size * 0.17;
    let fill = Ink::Fixture(fixture);
    let bar = |dx: f64, dy: f64| Mark::rectangle([x - dx, y - dy, x + dx, y + dy], fill);
    match fixture {
        Fixture::Reflect => Mark::Area {
            points: arc([x - half / 2.0, y], half, -FRAC_PI_2, PI - FRAC_PI_2),
            fill,
        },
        Fixture::ShuntThrough => bar(thin, half),
        Fixture::SeriesThrough => bar(half, thin),
    }
}
