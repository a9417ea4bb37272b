//! Tables for readers without a computer, and the minutes of pages, held against sums of their own.

use std::f64::consts::LN_10;

use jigwise_exercises::catalogue;
use jigwise_tests::pressed_book::{book, main_of, text_of};

/// S of a resistor on 50 Ω: reflect, shunt-through, series-through, by the circuits' dividers.
const READINGS: [fn(f64) -> f64; 3] = [
    |r| (r - 50.0) / (r + 50.0),
    |r| 2.0 * r / (2.0 * r + 50.0),
    |r| 100.0 / (r + 100.0),
];

/// Floor in dB, trace noise in dB, display step in dB, of the presets as the design page has them.
const INSTRUMENTS: [(&str, [f64; 3]); 3] = [
    ("handheld", [-70.0, 0.015, 0.05]),
    ("club bench", [-90.0, 0.004, 0.001]),
    ("laboratory", [-110.0, 0.0006, 0.0001]),
];

/// The smallest relative increase for which `shows`, by doubling and halving.
fn smallest(shows: impl Fn(f64) -> bool) -> Option<f64> {
    let mut above = 1e-7;
    while !shows(above) {
        above *= 1.01;
        if above > 1e4 {
            return None;
        }
    }
    let mut below = above / 1.01;
    for _ in 0..60 {
        let middle = 0.5 * (below + above);
        if shows(middle) {
            above = middle
        } else {
            below = middle
        }
    }
    Some(above)
}

/// The larger of what noise and display need: |ΔS| of 2√2 times the rms of the scatters before and
/// after, and a step of the display. A real reading scatters along itself by
/// √(floor²/2 + (|S|·ln 10/20·trace)²).
fn increase(reading: fn(f64) -> f64, ohm: f64, figures: [f64; 3]) -> Option<(f64, &'static str)> {
    let [floor_db, trace_db, step_db] = figures;
    let before = reading(ohm);
    let floor = 10f64.powf(floor_db / 20.0);
    let variance = |s: f64| floor * floor / 2.0 + (s * LN_10 / 20.0 * trace_db).powi(2);
    let noise = smallest(|share| {
        let after = reading(ohm * (1.0 + share));
        let scatter = (0.5 * (variance(before) + variance(after))).sqrt();
        (after - before).abs() >= 8f64.sqrt() * scatter
    })?;
    let display = smallest(|share| {
        let after = reading(ohm * (1.0 + share));
        (20.0 * (after / before).abs().log10()).abs() >= step_db
    })?;
    Some(match noise >= display {
        true => (noise, "noise"),
        false => (display, "display"),
    })
}

#[test]
fn the_smallest_changes_are_those_of_noise_and_display() {
    let text = text_of("tables.html");
    let (_, table) = text
        .split_once("The smallest increase that shows,")
        .unwrap();
    for (part, ohm) in [
        ("1 Ω", 1.0),
        ("100 Ω", 100.0),
        ("1 kΩ", 1e3),
        ("100 kΩ", 1e5),
    ] {
        for (name, figures) in INSTRUMENTS {
            let label = format!("{part}, {name}");
            let (_, row) = table.split_once(&format!(" {label} ")).unwrap();
            let mut words = row.split_whitespace();
            for reading in READINGS {
                let first = words.next().unwrap();
                match increase(reading, ohm, figures) {
                    None => assert_eq!(first, "never", "{label}"),
                    Some((share, limit)) => {
                        let shown: f64 = first.trim_start_matches('+').parse().unwrap();
                        // Three digits, or three decimals of a small percentage.
                        let rounding = (0.006 * shown).max(0.0006);
                        assert!(
                            (shown - 100.0 * share).abs() <= rounding,
                            "{label}: {shown}"
                        );
                        assert_eq!(words.next(), Some("%,"), "{label}");
                        assert_eq!(words.next(), Some(limit), "{label}");
                    }
                }
            }
        }
    }
    let page = text_of("change/least.html");
    for (name, _) in INSTRUMENTS {
        let row = |text: &str| {
            let (_, row) = text.split_once(&format!(" 1 kΩ, {name} ")).unwrap();
            row.split_whitespace().take(9).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(row(&page), row(table), "{name}");
    }
}

/// A leak of a thousandth that the calibration took for a part of its through leaves x·(1 − S21).
#[test]
fn a_forgotten_isolation_step_costs_what_its_table_says() {
    let text = text_of("evening/calibrate.html");
    let with_leak = |s: f64| s + 1e-3 * (1.0 - s);
    for (part, ohm) in [("4.7 Ω", 4.7), ("100 Ω", 100.0), ("4.7 kΩ", 4700.0)] {
        let [_, shunt, series] = READINGS.map(|reading| with_leak(reading(ohm)));
        let shares = [
            25.0 * shunt / (1.0 - shunt) / ohm - 1.0,
            100.0 * (1.0 - series) / series / ohm - 1.0,
        ];
        let (_, row) = text.rsplit_once(&format!(" {part} ")).unwrap();
        let found: Vec<f64> = row
            .replace('−', "-")
            .split('%')
            .take(2)
            .map(|cell| {
                cell.split_whitespace()
                    .next_back()
                    .unwrap()
                    .parse()
                    .unwrap()
            })
            .collect();
        for (found, share) in found.iter().zip(shares) {
            assert!(
                (found / 100.0 - share).abs() < 0.005 * share.abs(),
                "{part}: {found}"
            );
        }
    }
}

/// Each of the five values of the crystal lies within the ± that is printed beside it.
#[test]
fn the_crystal_s_values_lie_within_their_ranges() {
    let text = text_of("parts/crystal.html");
    for (symbol, own, unit) in [
        ("fs", 8.998, "MHz"),
        ("R1", 14.0, "Ω"),
        // 1/((2π·fs)²·C1)
        ("L1", 17.381, "mH"),
        ("C1", 18.0, "fF"),
        ("C0", 4.2, "pF"),
    ] {
        let (_, row) = text
            .split_once(&format!(" {symbol} {}", shown(own)))
            .unwrap();
        let (_, found) = row.split_once('(').unwrap();
        let (found, rest) = found.split_once(')').unwrap();
        let (value, half) = found.split_once(" ± ").unwrap();
        let (value, half): (f64, f64) = (value.parse().unwrap(), half.parse().unwrap());
        assert!(rest.trim_start().starts_with(unit), "{symbol}: {rest}");
        assert!((value - own).abs() <= half, "{symbol}: {value} ± {half}");
        assert!(half < 0.1 * own, "{symbol}: {half}");
    }
}

/// The first digits of a value.
fn shown(value: f64) -> String {
    value.to_string().chars().take(2).collect()
}

/// Every task has its minutes on a page, and their sum is on the page on how to use the book.
#[test]
fn the_minutes_of_tasks_add_up() {
    let all: u32 = catalogue().tasks().iter().map(|task| task.minutes()).sum();
    let mut on_pages = 0;
    for (path, text) in &book().pages {
        let no_chapter = ["index.html", "print.html", "toc.html"];
        if no_chapter.iter().any(|name| path.ends_with(name)) {
            continue;
        }
        if let Some((before, _)) = main_of(text).split_once(" to solve its tasks</p>") {
            let minutes = before.rsplit(' ').next().unwrap();
            on_pages += minutes.parse::<u32>().unwrap();
        }
    }
    assert_eq!(on_pages, all);
    let text = text_of("use.html");
    assert!(
        text.contains(&format!("their tasks {all} minutes to solve")),
        "{text}"
    );
    let talk = text_of("talks/club.html");
    assert!(talk.contains("to read, and 15 to speak"), "{talk}");
}
