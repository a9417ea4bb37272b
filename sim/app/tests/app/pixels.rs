//! The settled picture of a window that was resized or dragged in, pixel by pixel that of one
//! that was just opened. Needs a graphics adapter, which may be one in software.

#![expect(clippy::print_stderr, reason = "a random run says its seed")]

use egui::{Event, Modifiers, PointerButton, Pos2, pos2};
use jigwise_bench::Scenario;
use jigwise_sim::host::snapshot::Studio;
use jigwise_sim::{Desk, Simulator};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

const SIZES: [[u32; 2]; 10] = [
    [421, 720],
    [1000, 720],
    [1280, 720],
    [400, 850],
    [1920, 1080],
    [559, 900],
    [1024, 600],
    [3840, 2160],
    [700, 700],
    [1366, 768],
];
const DRAGS: usize = 20;

/// Opened at `size` with what is on the desk of another, looked at as there.
fn fresh(other: &Simulator, size: [u32; 2]) -> Vec<u8> {
    let mut simulator = Simulator::new(Scenario::default()).unwrap();
    simulator.desk = Desk::new(other.desk.scenario().clone()).unwrap();
    simulator.view = other.view.clone();
    Studio::new(simulator, size).unwrap().pixels().unwrap()
}

/// The largest step between two pictures, of 255, and where it is.
fn largest_step(one: &[u8], other: &[u8], width: u32) -> (u8, [usize; 2]) {
    let steps = one
        .iter()
        .zip(other)
        .map(|(one, other)| one.abs_diff(*other));
    let (at, step) = steps.enumerate().max_by_key(|(_, step)| *step).unwrap();
    let (pixel, width) = (at / 4, width as usize);
    (step, [pixel % width, pixel / width])
}

/// Where a letter lies in the texture of letters depends on what was written before, and its
/// place is rounded when it is looked up: one step of 255 here and there comes from that. A
/// letter, line or colour that is another one is dozens of steps away. Gives back the picture.
fn compare(studio: &mut Studio, size: [u32; 2], told: &str) -> Vec<u8> {
    const ROUNDING: u8 = 1;
    let after = studio.pixels().unwrap();
    let first = fresh(studio.simulator(), size);
    assert_eq!(after.len(), 4 * (size[0] * size[1]) as usize, "{told}");
    assert_eq!(after.len(), first.len(), "{told}");
    let colors: std::collections::BTreeSet<&[u8]> = after.chunks(4).collect();
    assert!(colors.len() > 40, "{told}: {} colours", colors.len());
    let (step, place) = largest_step(&after, &first, size[0]);
    assert!(step <= ROUNDING, "{told}: a step of {step} at {place:?}");
    let differing = after.iter().zip(&first).filter(|(a, b)| a != b).count();
    assert!(
        differing <= after.len() / 1_000,
        "{told}: {differing} bytes differ"
    );
    after
}

#[test]
#[ignore = "draws with a graphics adapter, about a minute in software"]
fn a_resized_window_has_the_pixels_of_a_fresh_one() {
    let simulator = Simulator::new(Scenario::default()).unwrap();
    let mut studio = Studio::new(simulator, SIZES[0]).unwrap();
    for size in SIZES {
        studio.resize(size);
        compare(&mut studio, size, &format!("{size:?}"));
    }
}

#[test]
#[ignore = "draws with a graphics adapter, about a minute in software"]
fn a_window_that_was_dragged_in_has_the_pixels_of_a_fresh_one() {
    const SIZE: [u32; 2] = [1000, 720];
    let seed: u64 = std::env::var("JIGWISE_SEED")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(7);
    eprintln!("seed {seed}; another one with JIGWISE_SEED=N");
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
    let simulator = Simulator::new(Scenario::default()).unwrap();
    let mut studio = Studio::new(simulator, SIZE).unwrap();
    let mut before = studio.pixels().unwrap();
    let mut moves = 0;
    for number in 0..DRAGS {
        // On the chart, or on the rule below it.
        let lowest = if number % 2 == 0 { 440.0 } else { 640.0 };
        let mut at = || {
            pos2(
                rng.random_range(40.0..300.0),
                lowest - rng.random_range(0.0..120.0),
            )
        };
        let (from, to) = (at(), at());
        drag(&mut studio, from, to);
        let told = format!("seed {seed}, drag {number} from {from} to {to}");
        let after = compare(&mut studio, SIZE, &told);
        moves += usize::from(largest_step(&before, &after, SIZE[0]).0 > 50);
        before = after;
    }
    assert!(moves > DRAGS / 2, "only {moves} drags are to be seen");
}

fn drag(studio: &mut Studio, from: Pos2, to: Pos2) {
    let button = |pos, pressed| Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    studio.hear([Event::PointerMoved(from)]);
    studio.hear([button(from, true)]);
    studio.hear([Event::PointerMoved(to)]);
    studio.hear([button(to, false)]);
    studio.hear([Event::PointerGone]);
    studio.let_go();
}
