//! Families of blends: parts × sets of fixtures × instruments, each cell measured and reduced a
//! thousand times at one point.
//!
//! The 95 % region of the blend must hold the part 917 to 977 times (950 ± 4 σ), where the fixtures
//! share raw standards, where the front end is not known and drawn anew in each run, with strays
//! left in and with blanks. Where only one fixture sees the part its own ellipse or region counts,
//! as the program trusts them.

use std::ops::RangeInclusive;

use jigwise_physics::{Complex64, Fixture, Instrument, Strays};
use jigwise_tests::blended_loop::{Cell, Files, RUNS, distance_from_uniform};
use jigwise_tests::fifty_ohm::c;
use jigwise_tests::seed::seed;

const COVERED: RangeInclusive<usize> = 917..=977;
/// Kolmogorov–Smirnov distance of 1000, 99.99 %: 84 cells are looked at (scipy
/// `kstwo.isf(1e-4, 1000)` = 0.0704).
const MAX_DISTANCE: f64 = 0.0704;

const FIXTURES: [Fixture; 3] = Fixture::ALL;
const PAIRS_AND_ALL: [&[Fixture]; 4] = [
    &[FIXTURES[0], FIXTURES[1]],
    &[FIXTURES[0], FIXTURES[2]],
    &[FIXTURES[1], FIXTURES[2]],
    &FIXTURES,
];

const INSTRUMENTS: [(&str, Instrument); 3] = [
    ("handheld", Instrument::HANDHELD),
    ("club bench", Instrument::CLUB_BENCH),
    ("laboratory", Instrument::LABORATORY),
];

/// Parts that two fixtures see, and one that shunt-through sees on the laboratory's alone.
fn parts() -> [Complex64; 3] {
    [c(12.0, 5.0), c(60.0, -110.0), c(300.0, 1200.0)]
}

/// A gap of 0.1 pF, 1 nH to ground, a pin of 50 fF.
const STRAYS: Strays = Strays {
    gap_f: 0.1e-12,
    ground_h: 1e-9,
    pin_f: 0.05e-12,
    ..Strays::NONE
};

#[expect(
    clippy::print_stderr,
    reason = "the test harness keeps it and shows it beside a failure"
)]
fn check(parts: &[Complex64], p_counts: bool, of: impl Fn(Cell) -> Cell) {
    let mut wrong = Vec::new();
    for &part in parts {
        for fixtures in PAIRS_AND_ALL {
            for (name, instrument) in INSTRUMENTS {
                let cell = of(Cell {
                    connections: 1,
                    ..Cell::new(name, part, 21.6e6, fixtures, instrument)
                });
                let (hits, agreements) = cell.outcomes();
                let distance = distance_from_uniform(&agreements);
                let line = format!(
                    "{part} Ω, {fixtures:?}, {name}, seed {}: {hits} of 1000, distance {distance:.4}",
                    seed()
                );
                eprintln!("{line}");
                if !COVERED.contains(&hits)
                    || (p_counts && agreements.len() > RUNS / 2 && distance > MAX_DISTANCE)
                {
                    wrong.push(line);
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn raw_sweeps_with_the_standards_in_common() {
    // A run corrects with derivatives of the whole calibration, so of the parts one.
    check(&parts()[1..2], true, |cell| cell);
}

#[test]
fn corrected_sweeps_of_a_front_end_drawn_anew() {
    check(&parts(), true, |cell| Cell {
        files: Files::Corrected,
        ..cell
    });
}

#[test]
fn strays_that_are_left_in() {
    check(&parts(), true, |cell| Cell {
        files: Files::Corrected,
        left_in: STRAYS,
        ..cell
    });
}

#[test]
fn blanks_with_what_they_leave() {
    check(&parts(), false, |cell| Cell {
        files: Files::Corrected,
        strays: STRAYS,
        blank_share: 0.1,
        ..cell
    });
}
