//! What the book says of seeing a change is true of its scenarios, and its numbers are those
//! of the error budget written out a second time.

use jigwise_bench::words::{fixture_key, fixture_title};
use jigwise_bench::{Bench, Draws, Fixture, Scenario, Verdict};
use jigwise_exercises::scenario;
use jigwise_tests::pressed_book::{html_of, text_of};
use jigwise_tests::second_budget::{self, Figures, SEEN};
use num_complex::Complex64;

fn figures(name: &str) -> Figures {
    let (_, figures) = second_budget::presets()
        .into_iter()
        .find(|(preset, _)| *preset == name)
        .unwrap();
    figures
}

/// A resistor before and after its nudge, z = Z/Z0.
fn parts(scenario: &Scenario) -> [Complex64; 2] {
    let Some(z) = scenario.device.fixed_ohm() else {
        panic!("no fixed part");
    };
    [z / 50.0, z / 50.0 * (1.0 + scenario.nudge.amount())]
}

fn shown_sigma(d: f64) -> String {
    let decimals = if d < 10.0 {
        2
    } else if d < 100.0 {
        1
    } else {
        0
    };
    format!("{d:.decimals$} σ")
}

const SEE: [(&str, &str, Fixture); 3] = [
    ("reflect/see.html", "dummy-load-resistor", Fixture::Reflect),
    ("shunt/see.html", "meter-shunt", Fixture::ShuntThrough),
    ("series/see.html", "anode-resistor", Fixture::SeriesThrough),
];

#[test]
fn each_fixture_sees_the_part_of_its_own_chapter_and_no_other_does() {
    let handheld = figures("handheld");
    for (page, name, own) in SEE {
        let scenario = scenario(name).unwrap();
        let text = text_of(page);
        for fixture in Fixture::ALL {
            let index = fixture as usize;
            let d = second_budget::separation(index, parts(&scenario), &handheld, false);
            let moves = second_budget::display_moves(index, parts(&scenario), &handheld);
            assert_eq!(d >= SEEN && moves, fixture == own, "{name} {fixture:?} {d}");
            let said = format!("{} {}", fixture_title(fixture), shown_sigma(d));
            assert!(text.contains(&said), "{page} lacks {said}: {text}");
        }
        let html = html_of(page);
        assert_eq!(html.matches("class=\"jw-cloud\"").count(), 3, "{page}");
        assert_eq!(html.matches("class=\"jw-ruler\"").count(), 1, "{page}");
        assert!(html.contains("<title id=\"jw-"), "{page}");
        assert!(html.contains(">Reach: "), "{page}");
    }
}

/// The reach of 10 % at 95 %, 1.731·e = 0.1, by bisection on the second budget.
#[test]
fn the_reach_in_the_caption_is_that_of_the_second_budget() {
    let handheld = figures("handheld");
    for (page, name, own) in SEE {
        let index = own as usize;
        let within = |ohm: f64| {
            let z = Complex64::from(ohm / 50.0);
            let e2 = second_budget::residuals(index, z, &handheld)
                + second_budget::noise_and_display(index, z, &handheld);
            (-(0.05_f64).ln() * e2).sqrt() <= 0.1
        };
        let best = [50.0, 25.0, 100.0][index];
        assert!(within(best), "{name}");
        let end = |far: f64| {
            let (mut inside, mut outside) = (best, far);
            for _ in 0..200 {
                let middle = (inside * outside).sqrt();
                if within(middle) {
                    inside = middle
                } else {
                    outside = middle
                }
            }
            jigwise_bench::engineering(inside, "Ω", 2).replace('\u{202f}', " ")
        };
        let said = format!("{} from {} to {}", fixture_key(own), end(1e-4), end(1e7));
        let text = text_of(page);
        assert!(text.contains(&said), "{page} lacks {said}: {text}");
    }
}

/// "Go down the second column … Now go down the last. It hardly moves." And: "It is far out of
/// the cloud".
#[test]
fn calibrating_again_moves_the_ohms_and_keeps_the_separation() {
    let scenario = scenario("bias-resistor-handheld").unwrap();
    let bench = Bench::new(&scenario).unwrap();
    let fixture = Fixture::SeriesThrough;
    let text = text_of("change/calibrate.html");
    let Some(z) = scenario.device.fixed_ohm() else {
        panic!();
    };
    let (mut ohms, mut apart) = (Vec::new(), Vec::new());
    for number in 1..=5 {
        let seed = scenario.seed + number;
        let residuals = bench
            .budget()
            .unwrap()
            .draw_calibration(&mut Draws::new(seed));
        let back = bench.got_back_after(fixture, &residuals).unwrap();
        let back = back.impedance().unwrap();
        let clouds = bench.clouds(fixture, &residuals).unwrap();
        assert!(text.contains(&shown_sigma(clouds.separation_sigma)));
        let shown = jigwise_bench::complex_ohm(back, 4).replace('\u{202f}', " ");
        assert!(text.contains(&shown), "seed {seed}: {shown}");
        ohms.push((back - z).norm() / z.norm());
        apart.push(clouds.separation_sigma);
        if number <= 2 {
            let drawn = shown_sigma(clouds.separation_sigma);
            let said = format!("calibration {number}, {drawn}");
            assert!(text.contains(&said), "the figure lacks \"{said}\"");
            let [x, y] = clouds.ideal;
            let away = (x + clouds.separation_sigma / 2.0).hypot(y);
            assert!(away > 3.5, "seed {seed}: the cross is {away} σ off");
        }
    }
    let perfect = second_budget::separation(
        fixture as usize,
        parts(&scenario),
        &figures("handheld"),
        false,
    );
    let rms =
        |values: &[f64]| (values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64).sqrt();
    let moved: Vec<f64> = apart.iter().map(|d| d / perfect - 1.0).collect();
    assert!(rms(&moved) < 0.05, "{moved:?}");
    assert!(rms(&ohms) > 0.03, "{ohms:?}");
}

#[test]
fn what_the_chapter_says_of_its_parts_is_true() {
    let verdicts = |name: &str| {
        let scenario = scenario(name).unwrap();
        let appraisal = Bench::new(&scenario).unwrap().readout().appraisal.unwrap();
        (appraisal, appraisal.fixtures.map(|seen| seen.verdict))
    };
    // Hidden in reflect, untold in shunt-through, seen in series-through.
    assert_eq!(
        verdicts("bias-resistor-handheld").1,
        [Verdict::HiddenByDisplay, Verdict::CantTell, Verdict::Sees]
    );
    // Two best fixtures.
    let (ladder, _) = verdicts("ladder-resistor");
    assert_eq!(ladder.best_for_value, Some(Fixture::Reflect));
    assert_eq!(ladder.best_for_change, Some(Fixture::SeriesThrough));
    // Nothing resolves; with averages it does.
    let sees = |name| verdicts(name).1.contains(&Verdict::Sees);
    assert!(!sees("screen-resistor") && sees("screen-resistor-averaged"));
    assert!(!sees("detector-load"));
    let text = text_of("change/nothing.html");
    assert!(text.contains("averages don't help, its display doesn't move"));
    // (2√2/d)², in whole readings.
    let ratio = SEEN
        / second_budget::separation(
            second_budget::SERIES,
            parts(&scenario("screen-resistor").unwrap()),
            &figures("handheld"),
            false,
        );
    let said = format!("or {} averages", ratio.powi(2).ceil());
    assert!(text.contains(&said), "{said}: {text}");
    // Swapped, connecting scatters more than the part changes.
    let text = text_of("change/swapped.html");
    for (name, swapped, seen) in [
        ("bias-resistor-in-place", false, true),
        ("bias-resistor-swapped", true, false),
    ] {
        let scenario = scenario(name).unwrap();
        assert_eq!(scenario.nudge.is_swapped(), swapped);
        let d = second_budget::separation(
            second_budget::SERIES,
            parts(&scenario),
            &figures("club-bench"),
            swapped,
        );
        assert_eq!(d >= SEEN, seen);
        assert!(text.contains(&shown_sigma(d)), "{name} {d}");
    }
    assert!(text.contains("averages don't help, connecting the part scatters more"));
}

/// Crossovers of the presets as the design of the budget computed them from outside, once.
#[test]
fn the_crossovers_stand_in_the_table() {
    // By tests/oracle/make_raw_match.py.
    let text = text_of("change/best.html");
    for (instrument, value) in [
        ("handheld", ["9.10", "275"]),
        ("club bench", ["13.7", "183"]),
        ("laboratory", ["18.5", "135"]),
    ] {
        let row = text.split(instrument).nth(1).unwrap().trim_start();
        // The first column, before that of the crossovers for change.
        let (for_value, _) = row.split_once(" above").unwrap();
        let said = format!("shunt-through up to {}", value[0]);
        assert!(for_value.starts_with(&said), "{instrument}: {row}");
        let said = format!("reflect up to {} Ω, series-through", value[1]);
        assert!(for_value.ends_with(&said), "{instrument}: {row}");
    }
}

/// What a page says of a value is its ± at 95 %: 1.731 times the rms error that the budget,
/// written out a second time, makes of it; √(−ln 0.05) = 1.731.
#[test]
fn values_stand_with_their_95_percent() {
    let handheld = figures("handheld");
    for (page, name, fixtures) in [
        (
            "change/best.html",
            "ladder-resistor",
            &[Fixture::Reflect, Fixture::SeriesThrough][..],
        ),
        (
            "change/calibrate.html",
            "bias-resistor-handheld",
            &[Fixture::SeriesThrough],
        ),
    ] {
        let text = text_of(page);
        let [z, _] = parts(&scenario(name).unwrap());
        for fixture in fixtures {
            let index = *fixture as usize;
            let square = second_budget::residuals(index, z, &handheld)
                + second_budget::noise_and_display(index, z, &handheld);
            let within = 100.0 * (-(0.05_f64.ln()) * square).sqrt();
            let said = [0, 1, 2].map(|decimals| format!("±{within:.decimals$} %"));
            assert!(
                said.iter().any(|said| text.contains(said)),
                "{page}: {said:?} in {text}"
            );
        }
    }
}
