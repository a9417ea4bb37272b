//! The rules of the open file standard that a one- or two-port reader meets in real files.
//!
//! Source: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum, 2002): option line,
//! defaults, units, formats, comments, order of two-port columns, noise. What it leaves open
//! (a wrong extension, numbers that are none) is refused with the place and a remedy.

use jigwise_tests::seed::for_all;
use jigwise_touchstone::{Sweep, TouchstoneError, read_file, read_text};
use num_complex::Complex64;
use proptest::prelude::*;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

#[track_caller]
fn read(name: &str, text: &str) -> Sweep {
    read_text(text.as_bytes(), name).unwrap_or_else(|error| panic!("{error}\nin {text:?}"))
}

#[track_caller]
fn refused(name: &str, text: &str) -> TouchstoneError {
    match read_text(text.as_bytes(), name) {
        Ok(sweep) => panic!("{text:?} was read as {sweep:?}"),
        Err(error) => error,
    }
}

/// The message names the file, the line, and each of `words`.
#[track_caller]
fn says(error: &TouchstoneError, line: Option<usize>, words: &[&str]) {
    let message = error.to_string();
    assert_eq!(error.line(), line, "{message}");
    assert!(message.starts_with(error.file()), "{message}");
    for word in words {
        assert!(message.contains(word), "no \"{word}\" in: {message}");
    }
}

#[track_caller]
fn near(value: Complex64, expected: Complex64) {
    assert!((value - expected).norm() <= 1e-15, "{value} for {expected}");
}

/// Hard case 1: fields in any order, the number after R.
#[test]
fn option_fields_come_in_any_order() {
    for option in [
        "# R 75 RI S MHz",
        "# MHz S RI R 75",
        "# RI R 75 MHz S",
        "# S R 75.0 MHz RI",
        "#MHz RI R 7.5e1",
        "\t # mhz s ri r 75",
    ] {
        let sweep = read("coil.s1p", &format!("{option}\n7.1 0.6 -0.8\n"));
        assert_eq!(sweep.reference_ohm(), 75.0, "{option}");
        assert_eq!(sweep.frequency_hz(), [7.1e6], "{option}");
        assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8), "{option}");
    }
}

/// Hard cases 2 and 3: what is missing is GHz, S, MA, R 50.
#[test]
fn missing_option_fields_have_defaults() {
    let bare = read("coil.s1p", "#\n1.5 0.5 90\n");
    assert_eq!(bare.reference_ohm(), 50.0);
    assert_eq!(bare.frequency_hz(), [1.5e9]);
    near(bare.s(0, 1, 1), c(0.0, 0.5));

    let gap = read("coil.s1p", "# MHz   R 75\n1.5 0.5 90\n");
    assert_eq!(gap.reference_ohm(), 75.0);
    assert_eq!(gap.frequency_hz(), [1.5e6]);
    near(gap.s(0, 1, 1), c(0.0, 0.5));

    let format_alone = read("coil.s1p", "# DB\n1.5 -20 180\n");
    assert_eq!(format_alone.frequency_hz(), [1.5e9]);
    near(format_alone.s(0, 1, 1), c(-0.1, 0.0));
}

/// Hard case 4: only the first option line counts.
#[test]
fn a_second_option_line_is_passed_over() {
    let sweep = read(
        "coil.s1p",
        "! measured\n# MHz S RI R 75\n# GHz S MA R 50\n1 0.6 -0.8\n# Hz\n2 0.5 0\n",
    );
    assert_eq!(sweep.reference_ohm(), 75.0);
    assert_eq!(sweep.frequency_hz(), [1e6, 2e6]);
    assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8));
}

/// Hard case 5: without an option line unit and format are a guess.
#[test]
fn data_without_an_option_line_is_refused() {
    let error = refused("coil.s1p", "! no option line\n1 0.6 -0.8\n");
    says(&error, Some(2), &["option line", "# MHz S RI R 50"]);
}

/// Hard cases 6 and 7, blank lines, tabs, letters in either case.
#[test]
fn comments_and_blanks_end_where_they_should() {
    let sweep = read(
        "COIL.S1P",
        "\n!\n! # GHz\n\n# mHZ s rI r 50 ! the option line\n  \t\n1 0.6 -0.8! row 1\n\
         2\t0.5\t.25 ! row 2\n3 0.4 -.5!! row ! 3\n",
    );
    assert_eq!(sweep.frequency_hz(), [1e6, 2e6, 3e6]);
    assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8));
    assert_eq!(sweep.s(1, 1, 1), c(0.5, 0.25));
    assert_eq!(sweep.s(2, 1, 1), c(0.4, -0.5));
}

/// Hard case 8: any line end, a byte-order mark, old letters in a comment.
#[test]
fn line_ends_and_comment_bytes_do_not_matter() {
    let text = "! junk box, part 3\n# MHz RI\n1 0.6 -0.8\n2 0.5 0\n";
    let plain = read("coil.s1p", text);
    for end in ["\r", "\r\n"] {
        assert_eq!(read("coil.s1p", &text.replace('\n', end)), plain, "{end:?}");
    }
    let marked = [b"\xef\xbb\xbf".as_slice(), text.as_bytes()].concat();
    assert_eq!(read_text(&marked, "coil.s1p").unwrap(), plain);
    let latin = [b"! 3 \xb5H coil\n".as_slice(), text.as_bytes()].concat();
    assert_eq!(read_text(&latin, "coil.s1p").unwrap(), plain);
    assert_eq!(read("coil.s1p", text.trim_end()), plain, "no last line end");

    let third = "# MHz RI\r1 0.6 -0.8\r2 x 0\r";
    says(&refused("coil.s1p", third), Some(3), &["\"x\""]);
}

/// Units Hz, kHz, MHz, GHz; the product with the unit is the double nearest to it or its
/// neighbour.
#[test]
fn units_scale_the_frequency() {
    for (unit, hz) in [("Hz", 1.0), ("kHz", 1e3), ("MHz", 1e6), ("GHz", 1e9)] {
        let sweep = read("coil.s1p", &format!("# {unit} RI\n0.07 1 0\n0.3 1 0\n"));
        for (found, written) in sweep.frequency_hz().iter().zip([0.07, 0.3]) {
            let ratio = found / (written * hz);
            assert!((ratio - 1.0).abs() <= f64::EPSILON, "{found} Hz in {unit}");
        }
    }
}

/// Hard case 27: nothing above GHz is legal.
#[test]
fn other_units_are_refused() {
    for unit in ["THz", "mm", "Hertz"] {
        let error = refused("coil.s1p", &format!("! a\n# {unit} S RI\n1 1 0\n"));
        says(
            &error,
            Some(2),
            &[&format!("\"{unit}\""), "Hz, kHz, MHz, GHz"],
        );
    }
}

/// DB is 20·log10 of the magnitude, angles are degrees; one reading in three formats.
#[test]
fn formats_are_three_ways_to_write_one_reading() {
    let of = |option: &str, data: &str| {
        read("coil.s1p", &format!("# MHz {option}\n1 {data}\n")).s(0, 1, 1)
    };
    let expected = c(0.1 * 0.5f64.sqrt(), -0.1 * 0.5f64.sqrt());
    near(
        of("RI", &format!("{} {}", expected.re, expected.im)),
        expected,
    );
    near(of("MA", "0.1 -45"), expected);
    near(of("DB", "-20 -45"), expected);
    near(of("MA", "0.1 315"), expected);
}

/// Hard case 12: a zero in decibels is written as a very small one.
#[test]
fn small_decibels_are_small_readings() {
    let sweep = read("coil.s1p", "# MHz DB\n1 -400 0\n2 -9999 17\n");
    assert!((sweep.s(0, 1, 1).re / 1e-20 - 1.0).abs() < 1e-13);
    assert_eq!(sweep.s(1, 1, 1), Complex64::ZERO);
    says(
        &refused("coil.s1p", "# MHz DB\n1 -inf 0\n"),
        Some(2),
        &["\"-inf\"", "-400"],
    );
    says(
        &refused("coil.s1p", "# MHz MA\n1 -0.5 0\n"),
        Some(2),
        &["-0.5", "RI"],
    );
}

const TWO_PORT: &str = "# MHz S RI R 50\n1 .11 .011 .21 .021 .12 .012 .22 .022\n";

/// Two-port columns are 11, 21, 12, 22.
#[test]
fn two_port_columns_go_down_before_across() {
    let sweep = read("pad.s2p", TWO_PORT);
    assert_eq!(sweep.ports(), 2);
    assert_eq!(sweep.s(0, 1, 1), c(0.11, 0.011));
    assert_eq!(sweep.s(0, 2, 1), c(0.21, 0.021));
    assert_eq!(sweep.s(0, 1, 2), c(0.12, 0.012));
    assert_eq!(sweep.s(0, 2, 2), c(0.22, 0.022));
}

/// Hard case 9: a record goes on in the next lines.
#[test]
fn two_port_records_may_wrap() {
    let flat = read("pad.s2p", TWO_PORT);
    for wrapped in [
        "# MHz S RI R 50\n1 .11 .011 .21 .021\n .12 .012 .22 .022\n",
        "# MHz S RI R 50\n1 .11 .011 .21 .021 ! first half\n! between\n\n.12 .012 .22 .022\n",
    ] {
        assert_eq!(read("pad.s2p", wrapped), flat, "{wrapped}");
    }
}

/// Hard case 10: noise begins where the frequency no longer rises, an equal one included;
/// always magnitude and angle, its resistance in units of R.
#[test]
fn noise_is_kept_apart_from_the_sweep() {
    for (begin, first_hz) in [("2", 2e6), ("0.5", 0.5e6)] {
        let sweep = read(
            "amplifier.s2p",
            &format!(
                "# MHz S RI R 75\n1 0 0 5 0 0 0 0 0\n2 0 0 4 0 0 0 0 0\n\
                 {begin} 0.7 0.64 90 0.38\n4 0.8 0.6 -180 0.4\n"
            ),
        );
        assert_eq!(sweep.frequency_hz(), [1e6, 2e6]);
        let noise = sweep.noise();
        assert_eq!(noise.len(), 2);
        assert_eq!(noise[0].freq_hz, first_hz);
        assert_eq!(noise[0].least_figure_db, 0.7);
        near(noise[0].source_reflection, c(0.0, 0.64));
        assert!((noise[0].resistance_ohm - 28.5).abs() < 1e-12);
    }
}

/// Hard case 11: version 1 writes Z and Y normalised to R, whatever R is. 1 is a match in
/// both; z = 2 and y = 2 are Γ = ±1/3.
#[test]
fn impedances_and_admittances_are_normalised() {
    for ohm in ["50", "75", "1"] {
        let of = |letter: &str, value: &str| {
            let text = format!("# GHz {letter} RI R {ohm}\n1 {value} 0\n");
            read("part.s1p", &text).s(0, 1, 1)
        };
        near(of("Y", "1"), Complex64::ZERO);
        near(of("Z", "1"), Complex64::ZERO);
        near(of("Z", "2"), c(1.0 / 3.0, 0.0));
        near(of("Y", "2"), c(-1.0 / 3.0, 0.0));
        near(of("Z", "0"), c(-1.0, 0.0));
        near(of("Y", "0"), c(1.0, 0.0));
    }
    says(
        &refused("part.s1p", "# GHz H RI R 50\n1 1 0\n"),
        Some(2),
        &["H", "two ports"],
    );
}

/// The example of the specification: `R 75`, z = 0.99 at −4°, which is 74.25 Ω at −4°.
#[test]
fn impedance_of_the_published_example() {
    let sweep = read("part.s1p", "# MHz Z MA R 75\n100 0.99 -4\n");
    let gamma = sweep.s(0, 1, 1);
    let ohm = 75.0 * (1.0 + gamma) / (1.0 - gamma);
    let expected = Complex64::from_polar(74.25, -(4f64.to_radians()));
    assert!((ohm - expected).norm() < 1e-12, "{ohm} for {expected}");
}

/// Hard case 13: frequencies rise strictly; zero is one.
#[test]
fn frequencies_must_rise() {
    let from_zero = read("coil.s1p", "# MHz RI\n0 1 0\n1 1 0\n");
    assert_eq!(from_zero.frequency_hz(), [0.0, 1e6]);
    says(
        &refused("coil.s1p", "# MHz RI\n1 1 0\n2 1 0\n1.5 1 0\n"),
        Some(4),
        &["1.5", "after 2", "higher"],
    );
    says(
        &refused("coil.s1p", "# MHz RI\n1 1 0\n1 1 0\n"),
        Some(3),
        &["after 1"],
    );
    says(&refused("coil.s1p", "# MHz RI\n-1 1 0\n"), Some(2), &["-1"]);
    says(
        &refused("pad.s2p", &format!("{TWO_PORT}1 0 0 0 0 0 0 0 0\n")),
        Some(3),
        &["after 1"],
    );
}

/// Hard case 14: extension against columns, both ways, and a name without one.
#[test]
fn the_extension_must_match_the_columns() {
    let one_port = "# MHz RI\n1 1 0\n2 1 0\n";
    says(&refused("pad.s1p", TWO_PORT), Some(2), &["9", "3", ".s2p"]);
    says(
        &refused("coil.s2p", one_port),
        Some(3),
        &["6", "9", "one-port", ".s1p"],
    );
    assert_eq!(read("coil.dat", one_port).ports(), 1);
    assert_eq!(read("pad", TWO_PORT).ports(), 2);
    says(
        &refused("box.s4p", "# MHz RI\n1 1 0\n"),
        None,
        &["4 ports", "one or two"],
    );
}

/// Hard case 15: cut off in the middle of a record, by lines or by words.
#[test]
fn a_record_that_is_cut_off_is_refused() {
    let complete = format!("{TWO_PORT}2 .11 .011 .21 .021 .12 .012 .22 .022\n");
    read("pad.s2p", &complete);
    let words: Vec<&str> = complete.split(' ').collect();
    for kept in words.len() - 7..words.len() {
        let cut = words[..kept].join(" ");
        let error = refused("pad.s2p", &cut);
        let message = error.to_string();
        assert!(
            message.contains("of the 9 numbers") || message.contains("expected 9"),
            "{message}"
        );
    }
    says(
        &refused("coil.s1p", "# MHz RI\n1 1 0\n2 1\n"),
        Some(3),
        &["found 2 numbers", "expected 3"],
    );
    for empty in ["", "\n\n", "! only a comment\n", "# MHz S RI R 50\n"] {
        says(&refused("coil.s1p", empty), None, &["no data"]);
    }
}

/// Hard case 16: numbers as written by people and by old programs.
#[test]
fn numbers_are_decimal_with_a_point() {
    let sweep = read("coil.s1p", "# MHz RI\n+1.e0 +.5e-3 -1E+0\n");
    assert_eq!(sweep.frequency_hz(), [1e6]);
    assert_eq!(sweep.s(0, 1, 1), c(0.5e-3, -1.0));
    for (found, remedy) in [
        ("NaN", "finite"),
        ("inf", "finite"),
        ("-Infinity", "finite"),
        ("1e999", "number"),
        ("1D9", "E"),
        ("1,5", "point"),
        ("0x10", "number"),
        ("--1", "number"),
        ("1e", "number"),
    ] {
        let text = format!("# MHz RI\n1 1 0\n2 1 {found} \n");
        let error = refused("coil.s1p", &text);
        says(&error, Some(3), &[&format!("\"{found}\""), remedy]);
        assert_eq!(error.column(), Some(5), "{error}");
    }
}

/// Hard cases 21 and 25: one reference per port as 1.1 allows, equal or refused; never
/// complex, zero or negative.
#[test]
fn references_are_positive_real_ohms() {
    let equal = read("pad.s2p", &TWO_PORT.replace("R 50", "R 75 75"));
    assert_eq!(equal.reference_ohm(), 75.0);
    let unequal = refused("pad.s2p", &TWO_PORT.replace("R 50", "R 50 75"));
    says(&unequal, Some(1), &["50", "75"]);
    assert!(unequal.is_unsupported());
    for bad in ["(10+10j)", "0", "-50", "NaN", "inf", "", "MHz"] {
        let error = refused("coil.s1p", &format!("# RI R {bad}\n1 1 0\n"));
        says(&error, Some(1), &["positive real", "R 50"]);
    }
}

/// Hard case 22: an analyzer that measures one way leaves S12 and S22 zero.
#[test]
fn columns_of_zeros_are_data() {
    let sweep = read(
        "pad.s2p",
        "# MHz RI\n1 .1 0 .9 0 0 0 0 0\n2 .1 0 .8 0 0 0 0 0\n",
    );
    assert_eq!(sweep.len(), 2);
    assert_eq!(sweep.s(1, 2, 1), c(0.8, 0.0));
    assert_eq!(sweep.s(1, 1, 2), Complex64::ZERO);
    assert_eq!(sweep.s(1, 2, 2), Complex64::ZERO);
}

/// Hard case 23: noise and calibration put readings above one.
#[test]
fn readings_above_one_are_data() {
    let sweep = read("coil.s1p", "# MHz MA\n1 1.00491 179.9\n2 40 0\n");
    assert!((sweep.s(0, 1, 1).norm() - 1.00491).abs() < 1e-15);
    assert!((sweep.s(1, 1, 1).re - 40.0).abs() < 1e-14);
}

/// Hard case 24: more than ten thousand points, from a file; each stored exactly.
#[test]
fn long_sweeps_are_read_whole() {
    const POINTS: usize = 20_001;
    let value = |k: usize| (k as f64 / 7.0, -1.0 / (k as f64 + 3.0));
    let mut text = String::from("# Hz S RI R 50\n");
    for k in 0..POINTS {
        let (re, im) = value(k);
        text.push_str(&format!("{} {re:e} {im:e}\n", 1_000 + k));
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.s1p");
    std::fs::write(&path, text).unwrap();
    let sweep = read_file(&path).unwrap();
    assert_eq!(sweep.len(), POINTS);
    for k in 0..POINTS {
        let (re, im) = value(k);
        assert_eq!(sweep.s(k, 1, 1), c(re, im));
        assert_eq!(sweep.frequency_hz()[k], (1_000 + k) as f64);
    }
}

/// Hard case 26: what port the heading names is a comment.
#[test]
fn a_one_port_file_may_be_headed_s22() {
    let text = "# MHz S RI R 50\n! FREQ.MHZ S22RE S22IM\n1 0.6 -0.8\n";
    assert_eq!(read("part.s1p", text).s(0, 1, 1), c(0.6, -0.8));
}

#[test]
fn version_2_is_named_and_refused() {
    let error = refused("part.ts", "! new\n[Version] 2.0\n# MHz S RI\n");
    says(&error, Some(2), &["version 2", "version 1"]);
    assert!(error.is_unsupported());
}

#[test]
fn what_is_no_readable_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let missing = read_file(folder.path().join("none.s1p")).unwrap_err();
    says(&missing, None, &["none.s1p", "can't be read"]);
    assert!(missing.is_unreadable());
    let directory = read_file(folder.path()).unwrap_err();
    says(&directory, None, &["folder"]);
    assert!(directory.is_unreadable());
}

/// Whatever the bytes, an answer or an error, never a panic.
#[test]
fn no_bytes_stop_the_reader() {
    let word = prop::sample::select(vec![
        "#",
        "!",
        "\n",
        "\r",
        " ",
        "\t",
        "1",
        "-1",
        "0.5",
        "1e9",
        "1e308",
        "-400",
        "NaN",
        "R",
        "R 50",
        "R -",
        "Z",
        "H",
        "S",
        "DB",
        "RI",
        "MA",
        "GHz",
        "[Version] 2.0",
        "[",
        "(",
        "é",
        "\u{feff}",
        "\u{2028}",
    ]);
    let words = prop::collection::vec(word, 0..40).prop_map(|words| {
        let text: Vec<_> = words.iter().flat_map(|word| [*word, " "]).collect();
        text.concat().into_bytes()
    });
    let bytes = prop_oneof![words, prop::collection::vec(any::<u8>(), 0..80)];
    let name = prop::sample::select(vec!["a.s1p", "a.s2p", "a", "a.s0p", "a.s3p", ""]);
    for_all(&(bytes, name), |(bytes, name)| {
        if let Ok(sweep) = read_text(&bytes, name) {
            prop_assert!(!sweep.frequency_hz().is_empty());
            for k in 0..sweep.len() {
                let s = sweep.s(k, 1, 1);
                prop_assert!(s.re.is_finite() && s.im.is_finite(), "{s}");
            }
        }
        Ok(())
    });
}
