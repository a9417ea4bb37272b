//! Sentences and numbers of the book that were wrong or missing once. Each is held against a
//! formula written out here, from a textbook or from the circuit itself.

use std::f64::consts::{SQRT_2, TAU};
use std::fs;

use jigwise_bench::scene::{Ink, Mark, ReachFrame};
use jigwise_bench::{
    Bench, Device, Fixture, Measurement, Part, ReferenceImpedance, Scenario, Verdict, engineering,
};
use jigwise_book::root;
use jigwise_exercises::scenario;
use jigwise_tests::expected::near_by_share;
use jigwise_tests::pressed_book::{book, html_of, main_of, text_of};
use jigwise_tests::second_budget::{self, REFLECT, SERIES, SHUNT};
use num_complex::Complex64;

const J: Complex64 = Complex64::I;

fn shown(value: f64, unit: &str, digits: usize) -> String {
    engineering(value, unit, digits).replace('\u{202f}', " ")
}

#[track_caller]
fn says(page: &str, words: &str) {
    let text = text_of(page);
    assert!(text.contains(words), "{page} lacks \"{words}\": {text}");
}

fn back(scenario: &Scenario, fixture: Fixture) -> Complex64 {
    let readout = Bench::new(scenario).unwrap().readout();
    readout.of(fixture).got_back.unwrap().impedance().unwrap()
}

/// A coil of 10 µH with 2.2 pF across it and 0.3 Ω + 1.1 Ω·√(f/10 MHz) in series, from its data.
fn filter_coil(hz: f64) -> Complex64 {
    let omega = TAU * hz;
    let wire = 0.3 + 1.1 * (hz / 10e6).sqrt() + J * omega * 10e-6;
    1.0 / (1.0 / wire + J * omega * 2.2e-12)
}

/// "Its level in reflect is −0.09 dB, and yet the best fixture for its value is reflect."
#[test]
fn a_level_near_zero_condemns_reflect_for_resistors_only() {
    let z = filter_coil(985e3);
    let level = 20.0 * ((z - 50.0) / (z + 50.0)).norm().log10();
    let page = "reflect/mistake.html";
    says(page, &format!("{level:.2} dB").replace('-', "−"));
    says(page, &format!("has {} at 985 kHz", shown(z.norm(), "Ω", 3)));
    let (_, club_bench) = second_budget::presets()[1];
    let within = [REFLECT, SHUNT, SERIES].map(|fixture| {
        let square = second_budget::residuals(fixture, z / 50.0, &club_bench)
            + second_budget::noise_and_display(fixture, z / 50.0, &club_bench);
        100.0 * (-(0.05_f64.ln()) * square).sqrt()
    });
    assert!(within[REFLECT] < within[SHUNT] && within[REFLECT] < within[SERIES]);
    says(
        page,
        &format!(
            "reflect: ±{:.2} % at 95 %, against ±{:.2} % in shunt-through and ±{:.2} % in \
             series-through",
            within[REFLECT], within[SHUNT], within[SERIES]
        ),
    );
    // The resistor of the same page is within a few tenths of a decibel of zero, and another
    // fixture knows it better.
    let r = Complex64::from(4_700.0 / 50.0);
    assert!(20.0 * second_budget::reading(REFLECT, r).norm().log10() > -0.3);
    assert!(second_budget::gain(SERIES, r) * second_budget::reading(SERIES, r).norm() < 2.0);
}

/// Beyond self-resonance X changes its sign, so X/ω is an inductance below zero and −1/(ωX) a
/// capacitance below zero.
#[test]
fn beyond_resonance_a_value_comes_out_below_zero() {
    let hz = 1.1 * 33.9e6;
    assert!(filter_coil(hz).im / (TAU * hz) < 0.0);
    let hz = 1.1 * 14.5e6;
    let bypass = 0.035 + J * (TAU * hz * 1.2e-9 - 1.0 / (TAU * hz * 100e-9));
    assert!(-1.0 / (TAU * hz * bypass.im) < 0.0);
    says("parts/kind.html", "inductance below zero");
    says("parts/kind.html", "capacitance below zero");
}

/// In series-through a link reads 0 dB and an open gap nothing; in shunt-through it is the other
/// way about.
#[test]
fn only_the_right_direct_connection_reads_zero() {
    let (link, open) = (Complex64::ZERO, Complex64::from(1e15));
    for (fixture, direct, other) in [(SERIES, link, open), (SHUNT, open, link)] {
        near_by_share(
            second_budget::reading(fixture, direct),
            Complex64::ONE,
            1e-12,
        );
        assert!(second_budget::reading(fixture, other).norm() < 1e-12);
    }
    says("strays/build.html", "The empty shunt-through fixture");
    says("strays/build.html", "series-through with a link in place");
}

/// Response: "within one fixture this share is the same for every part", and it is
/// −(Γs + Γl) to first order, so the exact share differs from it by squares.
#[test]
fn what_a_response_leaves_is_one_share_for_every_part() {
    let terms = jigwise_physics::RawAnalyzer::new(7).terms(145e6).forward;
    let (s, l) = (terms.one_port.source_match, terms.load_match);
    for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
        let share = |ohm: Complex64| {
            let mut scenario = scenario("filter-input-open-and-through").unwrap();
            scenario.device = Device::Fixed(ohm);
            back(&scenario, fixture) / ohm - 1.0
        };
        let one = share(Complex64::new(22.0, -18.0));
        for other in [Complex64::from(5.0), Complex64::new(10.0, 300.0)] {
            // Crosstalk of the raw front end is some −80 dB.
            assert!((share(other) - one).norm() < 0.01, "{fixture:?} {other}");
        }
        let first_order = -(s + l);
        let squares = (s.norm() + l.norm()).powi(2);
        assert!((one - first_order).norm() < squares, "{one} {first_order}");
    }
    says(
        "planes/methods.html",
        "is the same for every part, large or small",
    );
}

/// A skipped short breaks the sum of shunt-through and keeps that of series-through, as the
/// page says below its table.
#[test]
fn a_skipped_short_breaks_the_first_sum_alone() {
    let text = text_of("planes/notice.html");
    let row = text.split("The short skipped").nth(1).unwrap();
    let cells: Vec<&str> = row.split_whitespace().collect();
    let series = cells.iter().position(|cell| *cell == "1.000").unwrap();
    assert!(cells[..series].contains(&"0.9084"), "{row}");
    says(
        "planes/notice.html",
        "A skipped short breaks the first one.",
    );
}

/// What lies beside the part or behind it is a lumped part with it, so the sums stay one, by the
/// circuit. A line of the angle θ before it, of the impedance of the reference, turns S11 and S21
/// by 2θ.
#[test]
fn the_sums_show_a_length_of_line_and_no_gap_or_ground() {
    let sum = |strays: &str, fixture: Fixture| {
        let text = format!(
            "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"100\"\n\
             [at]\nfrequency = \"145 MHz\"\n[calibration]\nmethod = \"both directions\"\n\
             front_end = 7\n{strays}"
        );
        let scenario = Scenario::from_toml(&text, "sums").unwrap();
        let s = Measurement::of(&scenario, fixture).unwrap().points[0].corrected;
        match fixture {
            Fixture::ShuntThrough => s.s21 - s.s11,
            _ => s.s21 + s.s11,
        }
    };
    let theta = TAU * 145e6 * 5e-3 / (0.7 * 299_792_458.0);
    let turned = (-2.0 * J * theta).exp();
    for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
        let lumped = sum(
            "[strays]\ngap = \"1 pF\"\nground = \"5 nH\"\ncontact = \"10 mΩ\"\n",
            fixture,
        );
        assert!((lumped - 1.0).norm() < 1e-9, "{fixture:?}: {lumped}");
        let line = sum(
            "[strays.arm]\nlength = \"5 mm\"\nvelocity_factor = 0.7\n",
            fixture,
        );
        assert!((line - turned).norm() < 1e-9, "{fixture:?}: {line}");
    }
    says(
        "planes/notice.html",
        "A length of line before the part breaks them",
    );
    says(
        "strays/build.html",
        "They do not show the gap and the way to ground",
    );
}

/// One number is within 1.960·σ, a pair of them within √(−2·ln 0.05)·σ = 2.448·σ of a circular
/// error of σ (JCGM 102): so the bar of |Z| is narrower than the ± of Z, by about their ratio.
#[test]
fn a_bar_of_the_rule_is_narrower_than_the_plus_or_minus() {
    let text = text_of("change/best.html");
    let number = |before: &str, after: &str| -> f64 {
        let rest = text.split(before).nth(1).unwrap();
        rest.split(after).next().unwrap().trim().parse().unwrap()
    };
    let low = number("380 Ω; this part", "to");
    let high = number("380 Ω; this part 209 to", "Ω");
    let within = number("the ohms are good to ±", "%") / 100.0;
    let bar = (high - low) / 2.0 / 220.0;
    assert!(bar < within);
    near_by_share((bar / within).into(), (1.960_f64 / 2.448).into(), 0.03);
}

/// The noise floor of −70 dB is the rms size of a complex error; along one direction it is √2
/// smaller, and with it the trace noise of 0.015 dB on |S21| = 2·50/(4700 + 100).
#[test]
fn the_scatter_along_a_change_is_the_rms_over_root_two() {
    let floor = 10f64.powf(-70.0 / 20.0);
    let s21: f64 = 100.0 / 4_800.0;
    let trace = s21 * 0.015 * std::f64::consts::LN_10 / 20.0;
    let along = (floor / SQRT_2).hypot(trace);
    let page = "change/least.html";
    says(page, &format!("{floor:.6}"));
    says(
        page,
        "along one direction such an error scatters √2 times less",
    );
    // The mean of both readings scatters; the second is a tenth larger.
    assert!((along - 0.000226).abs() < 1e-6, "{along}");
    says(page, "the root of the sum of their squares is 0.000226");
    let text = text_of(page);
    let (_, rest) = text.split_once("/√2 and the trace noise by ").unwrap();
    let printed: f64 = rest.split(',').next().unwrap().parse().unwrap();
    near_by_share(printed.into(), trace.into(), 0.1);
}

/// The loop of a crystal in series-through: the current falls by √2 where X = ±(R1 + 2·Z0), and
/// near resonance X = 4π·L1·(f − fs). So L1 = (R1 + 2·Z0)/(2π·Δf), C1 = 1/((2π·fs)²·L1).
#[test]
fn the_width_of_the_peak_gives_what_the_page_says() {
    let (fs, r1) = (8.998e6, 14.0);
    let page = "parts/crystal.html";
    let text = text_of(page);
    let (_, rest) = text.split_once("The peak of this crystal is ").unwrap();
    let width: f64 = rest.split(' ').next().unwrap().parse().unwrap();
    let l1 = (r1 + 100.0) / (TAU * width * 1e3);
    let c1 = 1.0 / ((TAU * fs).powi(2) * l1);
    says(
        page,
        &format!(
            "formulas give {} and {}",
            shown(l1, "H", 3),
            shown(c1, "F", 2)
        ),
    );
    // By the impedance itself, with the electrodes' 4.2 pF across.
    let through = |hz: f64| {
        let omega = TAU * hz;
        let arm = r1 + J * (omega * l1 - 1.0 / (omega * c1));
        let z = 1.0 / (1.0 / arm + J * omega * 4.2e-12);
        (100.0 / (z + 100.0)).norm_sqr()
    };
    // Where half the power of the peak passes, by halving on either side.
    let edge = |far: f64| {
        let (mut inside, mut outside) = (fs, fs + far);
        for _ in 0..60 {
            let middle = (inside + outside) / 2.0;
            if through(middle) > through(fs) / 2.0 {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        inside
    };
    let found = edge(5e3) - edge(-5e3);
    assert!((found / (width * 1e3) - 1.0).abs() < 0.01, "{found}");
}

#[test]
fn frequencies_stand_where_a_number_needs_one() {
    let ends = scenario("large-fringing-open").unwrap();
    assert_eq!(ends.freq_hz, Some(145e6));
    says("planes/ends.html", "two parts at 145 MHz");
    // The skin loss is that at the frequency which the page quotes.
    let coil = scenario("filter-coil").unwrap();
    assert!(matches!(coil.device, Device::Part(Part::Inductor(_))));
    assert_eq!(coil.freq_hz, Some(10e6));
    let readout = Bench::new(&coil).unwrap().readout();
    near_by_share(readout.device.impedance().unwrap(), filter_coil(10e6), 1e-9);
    says(
        "parts/comes.html",
        "The skin loss in the caption is that at 10 MHz.",
    );
}

/// 0.35 pF beside 3.3 pF: the capacitance is too large by p, |Z| too small by p/(1 + p).
#[test]
fn the_two_percentages_of_the_gap_are_one_error() {
    let p = 0.35 / 3.3;
    says(
        "strays/gap.html",
        &format!("Taken off: {:.1} % of it", 100.0 * p),
    );
    says(
        "strays/gap.html",
        &format!("which is −{:.2} %", 100.0 * p / (1.0 + p)),
    );
    let trimmer = scenario("trimmer-gap").unwrap();
    let z = back(&trimmer, Fixture::SeriesThrough).norm();
    let true_z = 1.0 / (TAU * 100e6 * 3.3e-12);
    assert!((z / true_z - 1.0 / (1.0 + p)).abs() < 1e-9);
}

/// The points that a statement rests on, those left out, and all of them.
#[test]
fn the_points_of_the_statement_add_up() {
    let text = text_of("values/write.html");
    let (_, rest) = text.split_once(" from 78 of 81 points ").expect("78 of 81");
    let numbers: Vec<u32> = ["leaves out ", "the fit leaves out "]
        .iter()
        .map(|words| {
            let after = rest.split_once(words).unwrap().1;
            after.split([' ', ',']).next().unwrap().parse().unwrap()
        })
        .collect();
    assert_eq!(78 + numbers.iter().sum::<u32>(), 81, "{text}");
    says("values/blank.html", "2 of 81 points are left out");
}

#[test]
fn the_table_with_the_blank_taken_off_says_so() {
    let text = text_of("values/trust.html");
    let first = text.find(", its blank taken off, described as").unwrap();
    let second = text
        .find("choke.s2p in series-through, described as")
        .unwrap();
    assert!(first < second);
    assert!(!text.contains("without its blank"));
}

/// Energy CV²/2, first power V²/R, v(t) = V·exp(−t/(R·C)): any textbook of circuits.
#[test]
fn a_resistor_that_discharges_stands_what_the_cautions_say() {
    let text = text_of("cautions.html");
    for (volt, farad, ohm) in [(450.0_f64, 47e-6, 10e3), (63.0, 10e-3, 470.0)] {
        let row = format!(
            "{} {} {} {}",
            shown(farad * volt * volt / 2.0, "J", 2),
            shown(volt * volt / ohm, "W", 2),
            shown(5.0 * ohm * farad, "s", 2),
            shown(ohm * farad * volt.ln(), "s", 2),
        );
        assert!(text.contains(&row), "{row}: {text}");
    }
    // "After 5RC less than one percent of the voltage is left."
    assert!((-5f64).exp() < 0.01);
}

/// What the issue asked to be named, with the rules of the place before all of it, and pointers
/// from the pages whose examples invite the work.
#[test]
fn cautions_are_named_and_pointed_to() {
    let text = text_of("cautions.html");
    let rules = text.find("the manuals come first").unwrap();
    for words in [
        "Overhead power lines",
        "High voltage in old equipment",
        "insulated probe",
        "voltage rating",
        "means measured",
        "Old and toxic parts",
        "Glass-fibre dust",
        "Solder",
    ] {
        let at = text.find(words).unwrap_or_else(|| panic!("no {words}"));
        assert!(at > rules, "{words} stands before the local rules");
    }
    for (page, part) in [
        ("ground/ohms.html", "antennas"),
        ("reflect/circuit.html", "antennas"),
        ("series/circuit.html", "antennas"),
        ("parts/width.html", "antennas"),
        ("series/see.html", "high-voltage"),
        ("series/worked.html", "high-voltage"),
        ("change/nothing.html", "high-voltage"),
        ("strays/build.html", "charge"),
        ("parts/fixture.html", "charge"),
    ] {
        let link = format!("cautions.html#{part}\"");
        assert!(main_of(html_of(page)).contains(&link), "{page}");
        assert!(html_of("cautions.html").contains(&format!("id=\"{part}\"")));
    }
}

/// ± is 95 % and u is k = 1: a table with ± says 95 % or k = 2 in its caption, one with k = 1
/// holds no ±.
#[test]
fn every_table_keeps_to_one_convention() {
    let mut with_range = 0;
    for (path, text) in &book().pages {
        for table in text.split("<table").skip(1) {
            let table = table.split("</table>").next().unwrap();
            let caption = table.split("</caption>").next().unwrap_or_default();
            if !caption.starts_with("><caption>") {
                continue;
            }
            let cells = &table[caption.len()..];
            if cells.contains('±') {
                with_range += 1;
                let says = caption.contains("95") || caption.contains("k = 2");
                assert!(says, "{}: {caption}", path.display());
            }
            if caption.contains("k = 1") {
                assert!(!cells.contains('±'), "{}: {caption}", path.display());
            }
        }
    }
    assert!(with_range >= 3, "{with_range}");
}

/// The dotted curve leaves the part's: a gap of 0.35 pF more than halves what 0.3 pF read.
#[test]
fn the_dotted_curve_lies_off_the_line() {
    let gimmick = scenario("gimmick-over").unwrap();
    for hz in [10e6, 100e6, 1e9] {
        let at = Scenario {
            freq_hz: Some(hz),
            ..gimmick.clone()
        };
        let part = 0.4 + J * (TAU * hz * 5e-9 - 1.0 / (TAU * hz * 0.3e-12));
        let beside = 1.0 / (1.0 / part + J * TAU * hz * 0.35e-12);
        near_by_share(back(&at, Fixture::SeriesThrough), beside, 1e-9);
        assert!(beside.norm() < 0.6 * part.norm(), "{hz}");
    }
}

/// What the lines of the reach plot mean, and its axes, stand outside of where its curves run.
#[test]
fn no_word_stands_on_a_curve_of_the_reach_plot() {
    let part = scenario("dummy-load-resistor").unwrap();
    let frame = ReachFrame {
        size: [420.0, 300.0],
        reference: ReferenceImpedance::FIFTY_OHM,
        wanted: 0.1,
        type_size: 11.0,
    };
    let scene = frame.scene(&Bench::new(&part).unwrap()).unwrap();
    let heights: Vec<f64> = scene
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Line { points, stroke } if matches!(stroke.ink, Ink::Fixture(_)) => Some(points),
            _ => None,
        })
        .flatten()
        .map(|[_, y]| *y)
        .collect();
    let top = heights.iter().copied().fold(f64::INFINITY, f64::min);
    let bottom = heights.iter().copied().fold(0.0, f64::max);
    for words in ["thick: ", "level line: ", "share of |Z|", "|Z|"] {
        let height = scene.marks.iter().find_map(|mark| match mark {
            Mark::Text { at, text, .. } if text.starts_with(words) => Some(at[1]),
            _ => None,
        });
        let height = height.unwrap_or_else(|| panic!("no \"{words}\""));
        let beside = height < top - 5.0 || height > bottom + 5.0;
        assert!(beside, "{words} at {height}, curves from {top} to {bottom}");
    }
    // The other plots name their axis of frequency.
    for page in ["parts/comes.html", "values/value.html"] {
        assert!(html_of(page).contains(">frequency</text>"), "{page}");
    }
}

/// Each page leads to the one below it in the summary, and the last one back to the first.
#[test]
fn every_page_leads_on() {
    let summary = fs::read_to_string(root().join("text/SUMMARY.md")).unwrap();
    let pages: Vec<(&str, &str)> = summary
        .lines()
        .filter_map(|line| {
            let (_, rest) = line.split_once('[')?;
            let (title, rest) = rest.split_once("](")?;
            Some((title, rest.strip_suffix(")")?.strip_suffix(".md")?))
        })
        .collect();
    assert!(pages.len() >= 75, "{}", pages.len());
    for (index, (_, page)) in pages.iter().enumerate() {
        let (title, next) = pages[(index + 1) % pages.len()];
        let up = "../".repeat(page.matches('/').count());
        let words = match index + 1 == pages.len() {
            false => "Next: ",
            true => "Back to the beginning: ",
        };
        let link = format!("{words}<a href=\"{up}{next}.html\">{title}</a>");
        let html = main_of(html_of(&format!("{page}.html")));
        assert_eq!(html.matches(&link).count(), 1, "{page}: {link}");
    }
}

/// The sum on the page on how to use the book is that of the minutes on all pages.
#[test]
fn the_minutes_add_up() {
    let not_chapters = ["index.html", "print.html", "toc.html"];
    let mut sum = 0;
    for (path, text) in &book().pages {
        if not_chapters.iter().any(|name| path.ends_with(name)) {
            continue;
        }
        let main = main_of(text);
        let (_, rest) = main.split_once("<p class=\"minutes\">About ").unwrap();
        sum += rest.split(' ').next().unwrap().parse::<u32>().unwrap();
    }
    says(
        "use.html",
        &format!("All pages together take about {sum} minutes"),
    );
    says("use.html", "150 words take one minute");
}

/// The search is mdBook's own, with its index as a script, so that it works from a file path.
#[test]
fn every_page_can_search() {
    for (path, text) in &book().pages {
        if path.ends_with("toc.html") {
            continue;
        }
        for part in ["id=\"mdbook-searchbar\"", "searcher.js", "searchindex.js"] {
            assert!(text.contains(part), "{} lacks {part}", path.display());
        }
    }
}

/// The verdict of the page on clouds, which its sentence about the display repeats.
#[test]
fn the_display_hides_what_the_page_on_clouds_says() {
    let part = scenario("bias-resistor-handheld").unwrap();
    let readout = Bench::new(&part).unwrap().readout();
    let seen = readout.appraisal_of(Fixture::Reflect).unwrap();
    assert_eq!(seen.verdict, Verdict::HiddenByDisplay);
    let level = |ohm: f64| 20.0 * ((ohm - 50.0) / (ohm + 50.0)).log10();
    assert!((level(5_170.0) - level(4_700.0)).abs() < 0.05);
    says(
        "change/clouds.html",
        "less than one step of the display apart",
    );
}
