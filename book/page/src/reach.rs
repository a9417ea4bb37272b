use jigwise_bench::scene::{ReachFrame, Scene};
use jigwise_bench::words::fixture_key;
use jigwise_bench::{Coverage, Fixture, Merits, ReferenceImpedance, engineering};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::grip::Grip;
use crate::markup::moving_figure;
use crate::weighed::Weighed;
use crate::words::part;

const REACH_SIZE: [f64; 2] = [420.0, 300.0];
/// The part of |Z| that the reach plot asks for, at 95 %.
const WANTED: f64 = 0.1;

/// `reach SCENARIO`.
pub(crate) fn reach(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected reach SCENARIO, as in reach anode-resistor"));
    };
    let seen = Weighed::new(block, name)?;
    let scene = frame(seen.readout.reference)
        .scene(&seen.bench)
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no reach")))?;
    let angle_rad = match seen.bench.device().impedance() {
        Some(z) if z.norm() > 0.0 => z.arg(),
        _ => 0.0,
    };
    let merits = Merits::of(&seen.budget);
    let within = Fixture::ALL.map(|fixture| {
        let ranges = merits
            .reach(fixture, WANTED, Coverage::P95, angle_rad)
            .unwrap_or_default();
        let ranges: Vec<String> = ranges
            .iter()
            .map(|range| {
                format!(
                    "from {} to {}",
                    engineering(range.from_ohm, "Ω", 2),
                    engineering(range.to_ohm, "Ω", 2)
                )
            })
            .collect();
        let ranges = if ranges.is_empty() {
            "nowhere".to_owned()
        } else {
            ranges.join(" and ")
        };
        format!("{} {ranges}", fixture_key(fixture))
    });
    let description = format!(
        "Instrument: {} (invented). The value is known within ±{}\u{202f}% at 95\u{202f}% in {}. \
         {} The thick upright line is the part, {}.",
        seen.instrument.words_at(seen.readout.freq_hz),
        100.0 * WANTED,
        within.join("; "),
        scene.description,
        part(&seen.scenario.device),
    );
    let scene = Scene {
        description,
        ..scene
    };
    Ok(moving_figure(&scene, &block.id, Grip::Reach, &seen.bench))
}

pub(crate) fn frame(reference: ReferenceImpedance) -> ReachFrame {
    ReachFrame {
        size: REACH_SIZE,
        reference,
        wanted: WANTED,
        type_size: 11.0,
    }
}
