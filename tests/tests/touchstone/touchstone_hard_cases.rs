//! The 27 hard cases of a reader of the open file standard, one test each.
//!
//! Source: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum, 2002), 2.0 (2009) and
//! what 2.1 changes. What they leave open (a wrong extension, numbers that are none) is refused
//! with the place and a remedy.

use jigwise_tests::touchstone::{TWO_PORT, c, read, refused, same_reading, says};
use jigwise_touchstone::{Remark, SweepError, read_file, read_text};
use num_complex::Complex64;

const VERSION_TWO: &str = "[Version] 2.0
# MHz S RI
[Number of Ports] 2
[Two-Port Data Order] 12_21
[Number of Frequencies] 2
[Reference] 50 50
[Network Data]
1 .11 .011 .12 .012 .21 .021 .22 .022
2 .11 0 .12 0 .21 0 .22 0
[End]
";

/// Hard case 1: fields in any order, the number after R.
#[test]
fn case_01_option_fields_in_any_order() {
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

/// Hard case 2: what is missing is GHz, S, MA, R 50.
#[test]
fn case_02_bare_option_line() {
    let bare = read("coil.s1p", "#\n1.5 0.5 90\n");
    assert_eq!(bare.reference_ohm(), 50.0);
    assert_eq!(bare.frequency_hz(), [1.5e9]);
    same_reading(bare.s(0, 1, 1), c(0.0, 0.5));
}

/// Hard case 3: unit and reference alone.
#[test]
fn case_03_gap_in_the_option_line() {
    let gap = read("coil.s1p", "# MHz   R 75\n1.5 0.5 90\n");
    assert_eq!(gap.reference_ohm(), 75.0);
    assert_eq!(gap.frequency_hz(), [1.5e6]);
    same_reading(gap.s(0, 1, 1), c(0.0, 0.5));

    let format_alone = read("coil.s1p", "# DB\n1.5 -20 180\n");
    assert_eq!(format_alone.frequency_hz(), [1.5e9]);
    same_reading(format_alone.s(0, 1, 1), c(-0.1, 0.0));
}

/// Hard case 4: only the first option line counts.
#[test]
fn case_04_second_option_line() {
    let sweep = read(
        "coil.s1p",
        "! measured\n# MHz S RI R 75\n# GHz S MA R 50\n1 0.6 -0.8\n# Hz\n2 0.5 0\n",
    );
    assert_eq!(sweep.reference_ohm(), 75.0);
    assert_eq!(sweep.frequency_hz(), [1e6, 2e6]);
    assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8));
    assert_eq!(sweep.remarks(), [Remark::SecondOptionLine { line: 3 }]);
    let late = read("coil.s1p", "# MHz S RI R 75\n1 0.6 -0.8\n# Hz\n2 0.5 0\n");
    assert_eq!(late.remarks(), [Remark::SecondOptionLine { line: 3 }]);
}

/// Hard case 5: without an option line unit and format are a guess.
#[test]
fn case_05_no_option_line() {
    let error = refused("coil.s1p", "! no option line\n1 0.6 -0.8\n");
    says(&error, Some(2), &["option line", "# MHz S RI R 50"]);
}

/// Hard case 6, with blank lines, tabs, letters in either case.
#[test]
fn case_06_comment_behind_numbers() {
    let sweep = read(
        "COIL.S1P",
        "\n!\n! # GHz\n\n# mHZ s rI r 50 ! the option line\n  \t\n1 0.6 -0.8 ! row 1\n\
         2\t0.5\t.25 ! row 2\n",
    );
    assert_eq!(sweep.frequency_hz(), [1e6, 2e6]);
    assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8));
    assert_eq!(sweep.s(1, 1, 1), c(0.5, 0.25));
}

/// Hard case 7.
#[test]
fn case_07_comment_glued_to_a_number() {
    let sweep = read(
        "coil.s1p",
        "# MHz RI!\n1 0.6 -0.8! row 1\n3 0.4 -.5!! row ! 3\n",
    );
    assert_eq!(sweep.frequency_hz(), [1e6, 3e6]);
    assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8));
    assert_eq!(sweep.s(1, 1, 1), c(0.4, -0.5));
}

/// Hard case 8: any line end, a byte-order mark, old letters in a comment.
#[test]
fn case_08_line_ends_marks_and_old_letters() {
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

    for end in ["\r", "\r\n", "\n"] {
        let third = "# MHz RI\n1 0.6 -0.8\n2 x 0\n".replace('\n', end);
        says(&refused("coil.s1p", &third), Some(3), &["\"x\""]);
    }
}

/// Hard case 9: a record goes on in the next lines.
#[test]
fn case_09_two_port_records_may_wrap() {
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
fn case_10_noise_from_an_equal_frequency() {
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
        same_reading(noise[0].source_reflection, c(0.0, 0.64));
        assert!((noise[0].resistance_ohm - 28.5).abs() < 1e-12);
    }
}

/// Hard case 11: version 1 writes Z and Y normalised to R, whatever R is. 1 is a match in
/// both; z = 2 and y = 2 are Γ = ±1/3.
#[test]
fn case_11_version_one_is_normalised() {
    for ohm in ["50", "75", "1"] {
        let of = |letter: &str, value: &str| {
            let text = format!("# GHz {letter} RI R {ohm}\n1 {value} 0\n");
            read("part.s1p", &text).s(0, 1, 1)
        };
        same_reading(of("Y", "1"), Complex64::ZERO);
        same_reading(of("Z", "1"), Complex64::ZERO);
        same_reading(of("Z", "2"), c(1.0 / 3.0, 0.0));
        same_reading(of("Y", "2"), c(-1.0 / 3.0, 0.0));
        same_reading(of("Z", "0"), c(-1.0, 0.0));
        same_reading(of("Y", "0"), c(1.0, 0.0));
    }
    says(
        &refused("part.s1p", "# GHz H RI R 50\n1 1 0\n"),
        Some(2),
        &["H", "two ports"],
    );
    // h11 = 2 and h22 = 2 make a series 2 in front of a shunt 1/2, h12 = h21 = 0 keeps the
    // ports apart: Γ1 = (2 − 1)/(2 + 1), Γ2 = (1 − 2)/(1 + 2). g is the other way round.
    for ohm in ["50", "75"] {
        for (letter, sign) in [("H", 1.0), ("G", -1.0)] {
            let text = format!("# GHz {letter} RI R {ohm}\n1 2 0 0 0 0 0 2 0\n");
            let sweep = read("part.s2p", &text);
            same_reading(sweep.s(0, 1, 1), c(sign / 3.0, 0.0));
            same_reading(sweep.s(0, 2, 2), c(-sign / 3.0, 0.0));
        }
    }
}

/// Hard case 12: a zero in decibels is written as a very small one.
#[test]
fn case_12_decibels_of_nothing_and_negative_magnitudes() {
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

/// Hard case 13: frequencies rise strictly; zero is one.
#[test]
fn case_13_frequencies_rise() {
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
fn case_14_extension_against_columns() {
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
        &refused("box.s4p", one_port),
        Some(3),
        &["found 6 numbers", "expected 33", "ending"],
    );
    says(&refused("box.s0p", one_port), Some(2), &["0 ports", "1 to"]);
    let huge = refused("box.s99999999999999999999p", one_port);
    assert!(huge.is_unsupported(), "{huge}");
    let four = "# MHz RI\n1 11 0 12 0 13 0 14 0\n21 0 22 0 23 0 24 0\n\
                31 0 32 0 33 0 34 0\n41 0 42 0 43 0 44 0\n";
    assert_eq!(read("box", four), read("box.s4p", four));
}

/// Hard case 15: cut off in the middle of a record, by lines or by words.
#[test]
fn case_15_cut_off_record() {
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
fn case_16_numbers_that_are_none() {
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

/// Hard case 17: version 2 without \[End\], with text after it, with wrong counts, with a
/// keyword that does not exist.
#[test]
fn case_17_version_two_ends_counts_keywords() {
    let whole = read("part.ts", VERSION_TWO);
    assert_eq!(whole.remarks(), []);
    let open = read("part.ts", &VERSION_TWO.replace("[End]\n", ""));
    assert_eq!(open, whole);
    assert_eq!(open.remarks(), [Remark::NoEnd]);
    let more = read(
        "part.ts",
        &format!("{VERSION_TWO}! fine\n3 4 5 what\n[Version]\n"),
    );
    assert_eq!(more, whole);
    assert_eq!(more.remarks(), [Remark::AfterEnd { line: 12 }]);

    let few = refused(
        "part.ts",
        &VERSION_TWO.replace("Frequencies] 2", "Frequencies] 3"),
    );
    says(
        &few,
        Some(10),
        &["found 2", "[Number of Frequencies] announces 3"],
    );
    let many = refused(
        "part.ts",
        &VERSION_TWO.replace("Frequencies] 2", "Frequencies] 1"),
    );
    says(
        &many,
        Some(9),
        &["found 2", "[Number of Frequencies] announces 1"],
    );
    for (from, to, line, words) in [
        (
            "[Reference] 50 50",
            "[Referenz] 50 50",
            6,
            "\"[Referenz] 50 50\"",
        ),
        (
            "[Reference] 50 50",
            "[Reference 50 50",
            6,
            "closed brackets",
        ),
        ("[Reference] 50 50", "[Reference]50 50", 6, "blank after"),
        ("[Reference] 50 50", "[Number of Ports] 2", 6, "it once"),
        ("[Reference] 50 50", "[Noise Data]", 6, "[Network Data]"),
        (
            "[Version] 2.0",
            "[Version] 3.0",
            1,
            "\"[Version] 2.0\" or \"[Version] 2.1\"",
        ),
        ("[Version] 2.0", "! none", 3, "without a version"),
        (
            "[Number of Ports] 2",
            "! none",
            4,
            "[Number of Ports] before it",
        ),
        (
            "[Number of Ports] 2",
            "[Number of Ports] two",
            3,
            "whole number",
        ),
        (
            "[Number of Ports] 2",
            "[Number of Ports] 0",
            3,
            "above zero",
        ),
        (
            "[Number of Frequencies] 2",
            "! none",
            7,
            "no [Number of Frequencies]",
        ),
        ("[Network Data]", "! none", 8, "no [Network Data]"),
        ("# MHz S RI", "! none", 3, "option line"),
        ("[End]", "[Noise Data]", 10, "[Number of Noise Frequencies]"),
        ("[End]", "[Reference] 50 50", 10, "[End] here"),
    ] {
        let text = VERSION_TWO.replace(from, to);
        assert_ne!(text, VERSION_TWO, "{from}");
        says(&refused("part.ts", &text), Some(line), &[words]);
    }
    let twice = VERSION_TWO.replace("[Reference] 50 50", "[Version] 2.0");
    says(&refused("part.ts", &twice), Some(6), &["[Version]", "once"]);
}

/// Hard case 18: 12_21 is 11, 12, 21, 22; 21_12 is 11, 21, 12, 22. Two ports must say which,
/// other numbers must not.
#[test]
fn case_18_both_orders_of_two_ports() {
    let across = read("part.ts", VERSION_TWO);
    assert_eq!(across.s(0, 1, 2), c(0.12, 0.012));
    assert_eq!(across.s(0, 2, 1), c(0.21, 0.021));
    let down = read("part.ts", &VERSION_TWO.replace("12_21", "21_12"));
    assert_eq!(down.s(0, 1, 2), c(0.21, 0.021));
    assert_eq!(down.s(0, 2, 1), c(0.12, 0.012));
    for (from, to, line, words) in [
        ("[Two-Port Data Order] 12_21", "! none", 7, "12_21 where"),
        ("12_21", "12-21", 4, "12_21 or 21_12"),
        (
            "[Number of Ports] 2",
            "[Number of Ports] 3",
            4,
            "two-port files only",
        ),
    ] {
        let text = VERSION_TWO.replace(from, to);
        says(&refused("part.ts", &text), Some(line), &[words]);
    }
}

/// Hard case 19: half a matrix stands for a symmetric one.
#[test]
fn case_19_half_matrices() {
    let half = |format: &str, data: &str| {
        let text = VERSION_TWO
            .replace("[Reference] 50 50", &format!("[Matrix Format] {format}"))
            .replace("Frequencies] 2", "Frequencies] 1");
        let (head, _) = text.split_once("[Network Data]\n").unwrap();
        read("part.ts", &format!("{head}[Network Data]\n{data}\n[End]\n"))
    };
    let lower = half("Lower", "1 .11 0 .21 0 .22 0");
    assert_eq!(lower, half("upper", "1 .11 0 .21 0\n.22 0"));
    assert_eq!(lower.s(0, 1, 2), c(0.21, 0.0));
    assert_eq!(lower.s(0, 2, 1), c(0.21, 0.0));
    assert_eq!(lower.s(0, 2, 2), c(0.22, 0.0));

    let three = |format: &str, data: &str| {
        let head = "[Version] 2.1\n# MHz S RI\n[Number of Ports] 3\n[Number of Frequencies] 1\n";
        let text = format!("{head}[Matrix Format] {format}\n[Network Data]\n{data}\n[End]\n");
        read("tee.ts", &text)
    };
    let full = three("Full", "1 11 0 21 0 31 0\n21 0 22 0 32 0\n31 0 32 0 33 0");
    assert_eq!(three("Lower", "1 11 0\n21 0 22 0\n31 0 32 0 33 0"), full);
    assert_eq!(three("Upper", "1 11 0 21 0 31 0 22 0 32 0 33 0"), full);
    says(
        &refused(
            "part.ts",
            &VERSION_TWO.replace("[Reference] 50 50", "[Matrix Format] Half"),
        ),
        Some(6),
        &["\"Half\"", "Full, Lower or Upper"],
    );
}

/// Hard case 20: over several lines, miscounted, and against the option line's R, which they
/// override.
#[test]
fn case_20_references_of_version_two() {
    let with = |text: &str| {
        VERSION_TWO
            .replace("# MHz S RI", "# MHz S RI R 600")
            .replace("[Reference] 50 50", text)
    };
    let one_line = read("part.ts", &with("[Reference] 20 75"));
    assert_eq!(one_line.references_ohm(), [20.0, 75.0]);
    assert!(one_line.reference_ohm().is_nan());
    for split in [
        "[Reference]\n20\n75",
        "[Reference] 20 ! ohms\n\n! next\n 75",
    ] {
        assert_eq!(read("part.ts", &with(split)), one_line, "{split}");
    }
    let none = read("part.ts", &with("! none"));
    assert_eq!(none.references_ohm(), [600.0, 600.0]);
    says(
        &refused("part.ts", &with("[Reference] 20")),
        Some(7),
        &["1 references for 2 ports"],
    );
    says(
        &refused("part.ts", &with("[Reference] 20 75 50")),
        Some(6),
        &["3 references for 2 ports"],
    );
    says(
        &refused("part.ts", &with("[Reference] 20 -75")),
        Some(6),
        &["\"-75\"", "positive real"],
    );
}

/// Hard case 21: `R 50 75`, one for each port, as 1.1 allows. Ideal transformers and lines
/// give the values after the change of reference: S = 0 at 50 and 75 Ω ends in 50 and 75 Ω.
#[test]
fn case_21_one_reference_for_each_port() {
    let equal = read("pad.s2p", &TWO_PORT.replace("R 50", "R 75 75"));
    assert_eq!(equal.reference_ohm(), 75.0);
    let text = TWO_PORT.replace("R 50", "R 50 75");
    let unequal = read("pad.s2p", &text);
    assert_eq!(unequal.references_ohm(), [50.0, 75.0]);
    assert!(unequal.reference_ohm().is_nan());
    assert_eq!(unequal.s(0, 2, 1), c(0.21, 0.021));
    let apart = read("pad.s2p", "# MHz RI R 50 75\n1 0 0 0 0 0 0 0 0\n");
    let at_50 = apart.renormalised(&[50.0]).unwrap();
    assert_eq!(at_50.reference_ohm(), 50.0);
    same_reading(at_50.s(0, 1, 1), c(0.0, 0.0));
    same_reading(at_50.s(0, 2, 2), c(0.2, 0.0));
    says(
        &refused("pad.s2p", &TWO_PORT.replace("R 50", "R 50 75 60")),
        Some(1),
        &["3 references for 2 ports"],
    );
    let normalised = refused("pad.s2p", &text.replace(" S ", " Z "));
    says(&normalised, Some(1), &["Z parameters", "differ"]);
    assert!(normalised.is_unsupported());
}

/// Hard case 22: an analyzer that measures one way leaves S12 and S22 zero.
#[test]
fn case_22_an_export_of_one_direction() {
    let sweep = read(
        "pad.s2p",
        "# MHz RI\n1 .1 0 .9 0 0 0 0 0\n2 .1 0 .8 0 0 0 0 0\n",
    );
    assert_eq!(sweep.len(), 2);
    assert_eq!(sweep.s(1, 2, 1), c(0.8, 0.0));
    assert_eq!(sweep.s(1, 1, 2), Complex64::ZERO);
    assert_eq!(sweep.s(1, 2, 2), Complex64::ZERO);
    assert!(sweep.is_one_direction());
    let both = read(
        "pad.s2p",
        "# MHz RI\n1 .1 0 .9 0 0 0 0 0\n2 .1 0 .8 0 0 0 .1 0\n",
    );
    assert!(!both.is_one_direction());
    let nothing = read("pad.s2p", "# MHz RI\n1 0 0 0 0 0 0 0 0\n");
    assert!(!nothing.is_one_direction());
    let unequal = read("pad.s2p", "# MHz RI R 50 75\n1 .1 0 .9 0 0 0 0 0\n");
    let error = unequal.renormalised(&[50.0]).unwrap_err();
    assert_eq!(error, SweepError::OneDirection);
    assert!(error.to_string().contains("export all four"), "{error}");
}

/// Hard case 23: noise and calibration put readings above one.
#[test]
fn case_23_readings_above_one() {
    let sweep = read("coil.s1p", "# MHz MA\n1 1.00491 179.9\n2 40 0\n");
    assert!((sweep.s(0, 1, 1).norm() - 1.00491).abs() < 1e-15);
    assert!((sweep.s(1, 1, 1).re - 40.0).abs() < 1e-14);
}

/// Hard case 24: more than ten thousand points, from a file; each stored exactly.
#[test]
fn case_24_long_sweeps() {
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

/// Hard case 25: never complex, zero or negative.
#[test]
fn case_25_references_are_positive_and_real() {
    for bad in ["(10+10j)", "0", "-50", "NaN", "inf", "", "MHz"] {
        let error = refused("coil.s1p", &format!("# RI R {bad}\n1 1 0\n"));
        says(&error, Some(1), &["positive real", "R 50"]);
    }
}

/// Hard case 26: what port the heading names is a comment.
#[test]
fn case_26_one_port_headed_s22() {
    let text = "# MHz S RI R 50\n! FREQ.MHZ S22RE S22IM\n1 0.6 -0.8\n";
    let sweep = read("part.s1p", text);
    assert_eq!(sweep.s(0, 1, 1), c(0.6, -0.8));
    assert_eq!(sweep.remarks(), [Remark::HeadedAs { port: 2 }]);
    assert!(sweep.remarks()[0].to_string().contains("S22"));
    let own = read("part.s1p", &text.replace("S22", "S11"));
    assert_eq!(own.remarks(), []);
}

/// Hard case 27: nothing above GHz is legal.
#[test]
fn case_27_no_unit_above_gigahertz() {
    for unit in ["THz", "mm", "Hertz"] {
        let error = refused("coil.s1p", &format!("! a\n# {unit} S RI\n1 1 0\n"));
        says(
            &error,
            Some(2),
            &[&format!("\"{unit}\""), "Hz, kHz, MHz, GHz"],
        );
    }
}
