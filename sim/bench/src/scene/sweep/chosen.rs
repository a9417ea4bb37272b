//! Which fixture was chosen where in a sweep.

use jigwise_physics::Fixture;

use super::{LABEL, RIGHT, SweepAxis};
use crate::scene::{Anchor, Ink, Mark, Scene, Stroke, sign};
use crate::words::fixture_title;

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
    let height = (bottom - top) / 3.0;
    let mut marks = axis.grid([left, top, right, bottom]);
    for (at, fixture) in Fixture::ALL.into_iter().enumerate() {
        let y = top + (at as f64 + 0.5) * height;
        marks.push(sign(fixture, [12.0, y], 14.0));
        let name = fixture_title(fixture);
        marks.push(Mark::text([26.0, y], name, 12.0, Anchor::Start, Ink::Text));
        if !measured[at] {
            let at = [left + 6.0, y];
            marks.push(Mark::text(
                at,
                "not measured",
                LABEL,
                Anchor::Start,
                Ink::Faint,
            ));
            continue;
        }
        let thin = Stroke::solid(Ink::Faint, 1.0);
        marks.push(Mark::line([left, y], [right, y], thin));
        let x = |hz: f64| left + axis.share(hz).clamp(0.0, 1.0) * (right - left);
        for (from_hz, to_hz, _) in runs.iter().filter(|run| run.2 == fixture) {
            // A single point is still a mark.
            let (from, to) = (x(*from_hz), x(*to_hz).max(x(*from_hz) + 2.0));
            let half = 0.28 * height;
            let fill = Ink::Fixture(fixture);
            marks.push(Mark::rectangle([from, y - half, to, y + half], fill));
        }
    }
    Scene {
        size,
        title: "The fixture that knows the part best, over frequency".to_owned(),
        description: description.to_owned(),
        marks,
    }
}
