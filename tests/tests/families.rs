//! Families of parts, fixtures and instruments: each cell measured and reduced a thousand times at
//! one point, with a front end that is known and with one drawn anew in each run.
//!
//! What the program says of a run must hold the part: the 95 % ellipse of R and X where it trusts
//! the linear covariance, else the region that it prints. 917 to 977 of 1000 are 950 ± 4 σ of a
//! binomial number.

use std::ops::RangeInclusive;

use jigwise_bench::Fixture;
use jigwise_physics::{Model, Quantity};
use jigwise_tests::families::{Fitted, FrontEnd, Outcome, RUNS, Single};
use jigwise_tests::seed::seed;

const COVERED: RangeInclusive<usize> = 917..=977;

/// From where shunt-through is best to where series-through is, resistive and reactive.
const PARTS: [&str; 8] = [
    "2",
    "8 - j30",
    "0.5 + j9",
    "50",
    "60 - j110",
    "80 + j300",
    "1k",
    "300 + j1200",
];

/// What is wrong with a cell, in a sentence.
fn fault(outcome: &Outcome) -> Option<&'static str> {
    // Where a twentieth of the runs or more are told to be linear the ellipse has to hold.
    let claims_linear = outcome.linear >= RUNS / 20;
    if outcome.untold > 0 {
        Some("a run says nothing")
    } else if !COVERED.contains(&outcome.in_told) {
        Some("what is said does not hold")
    } else if !COVERED.contains(&outcome.in_region) {
        Some("the region does not hold")
    } else if claims_linear && !COVERED.contains(&outcome.in_ellipse) {
        Some("told to be linear, and the ellipse does not hold")
    } else {
        None
    }
}

#[expect(
    clippy::print_stderr,
    reason = "the test harness keeps it and shows it beside a failure"
)]
fn check(front_end: FrontEnd, instrument: &'static str) {
    let mut wrong = Vec::new();
    for part in PARTS {
        for fixture in Fixture::ALL {
            let cell = Single {
                part,
                fixture,
                instrument,
                front_end,
                claim: 1.0,
            };
            let outcome = cell.outcome();
            let line = format!("{cell:?}, seed {}: {outcome:?}", seed());
            eprintln!("{line}");
            wrong.extend(fault(&outcome).map(|why| format!("{why}: {line}")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_handheld_that_is_known() {
    check(FrontEnd::Known, "handheld");
}

#[test]
fn a_club_bench_that_is_known() {
    check(FrontEnd::Known, "club bench");
}

#[test]
fn a_laboratory_that_is_known() {
    check(FrontEnd::Known, "laboratory");
}

#[test]
fn a_handheld_drawn_anew() {
    check(FrontEnd::Unknown, "handheld");
}

#[test]
fn a_club_bench_drawn_anew() {
    check(FrontEnd::Unknown, "club bench");
}

#[test]
fn a_laboratory_drawn_anew() {
    check(FrontEnd::Unknown, "laboratory");
}

/// Where the ellipse would mislead the program does not claim it: here it holds 774 of 1000.
#[test]
fn a_part_far_from_its_fixture_is_not_told_to_be_linear() {
    let cell = Single {
        part: "300 + j1200",
        fixture: Fixture::ShuntThrough,
        instrument: "handheld",
        front_end: FrontEnd::Known,
        claim: 1.0,
    };
    let outcome = cell.outcome();
    assert!(
        outcome.linear == 0 && outcome.in_ellipse < 850 && fault(&outcome).is_none(),
        "seed {}: {outcome:?}",
        seed()
    );
}

/// A budget 1.3 times too large or too small leaves the band in every fixture.
#[test]
fn a_wrong_budget_shows() {
    for front_end in [FrontEnd::Known, FrontEnd::Unknown] {
        for claim in [1.3, 1.0 / 1.3] {
            for fixture in Fixture::ALL {
                let cell = Single {
                    part: "60 - j110",
                    fixture,
                    instrument: "club bench",
                    front_end,
                    claim,
                };
                let outcome = cell.outcome();
                assert!(
                    fault(&outcome).is_some(),
                    "{cell:?}, seed {}: {outcome:?}",
                    seed()
                );
            }
        }
    }
}

const COIL: &str = r#"
    kind = "inductor"
    inductance = "1 uH"
    series_resistance = "5 ohm"
    parallel_capacitance = "3 pF"
"#;
const COIL_VALUES: [(Quantity, f64); 3] = [
    (Quantity::Inductance, 1e-6),
    (Quantity::Resistance, 5.0),
    (Quantity::WindingCapacitance, 3e-12),
];

/// The joint region of L, R and C of sweeps that were corrected elsewhere.
#[test]
fn values_of_corrected_sweeps_hold_the_part() {
    let mut wrong = Vec::new();
    for fixture in Fixture::ALL {
        for instrument in ["handheld", "club bench"] {
            let cell = Fitted {
                device: COIL,
                sweep: "from = \"2 MHz\"\nto = \"60 MHz\"\npoints = 21\nspacing = \"logarithmic\"",
                fixture,
                instrument,
                front_end: FrontEnd::Unknown,
                strays: "",
                blank_share: 0.0,
            };
            let hits = cell.hits(Model::Inductor, &COIL_VALUES);
            if !COVERED.contains(&hits) {
                wrong.push(format!("{cell:?}, seed {}: {hits}", seed()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same behind blanks that are off by 15 % rms, and say so.
#[test]
fn values_behind_doubtful_blanks_hold_the_part() {
    let mut wrong = Vec::new();
    for (fixture, strays) in [
        (Fixture::Reflect, "pin = \"0.1 pF\"\nground = \"2 nH\""),
        (Fixture::ShuntThrough, "ground = \"2 nH\""),
        (Fixture::SeriesThrough, "gap = \"0.2 pF\""),
    ] {
        for front_end in [FrontEnd::Known, FrontEnd::Unknown] {
            let cell = Fitted {
                device: COIL,
                sweep: "from = \"2 MHz\"\nto = \"60 MHz\"\npoints = 11\nspacing = \"logarithmic\"",
                fixture,
                instrument: "club bench",
                front_end,
                strays,
                blank_share: 0.15,
            };
            let hits = cell.hits(Model::Inductor, &COIL_VALUES);
            if !COVERED.contains(&hits) {
                wrong.push(format!("{cell:?}, seed {}: {hits}", seed()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
