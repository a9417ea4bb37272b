//! The rules of the open file standard that a one- or two-port reader meets in real files.
//!
//! Source: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum, 2002): option line,
//! defaults, units, formats, comments, order of two-port columns, noise. What it leaves open
//! (a wrong extension, numbers that are none) is refused with the place and a remedy.

use std::io::{self, BufReader, Read};

use jigwise_tests::seed::for_all;
use jigwise_tests::touchstone::{TWO_PORT, c, read, same_reading, says};
use jigwise_touchstone::{read_file, read_from, read_text};
use num_complex::Complex64;
use proptest::prelude::*;

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

/// DB is 20·log10 of the magnitude, angles are degrees; one reading in three formats.
#[test]
fn formats_are_three_ways_to_write_one_reading() {
    let of = |option: &str, data: &str| {
        read("coil.s1p", &format!("# MHz {option}\n1 {data}\n")).s(0, 1, 1)
    };
    let expected = c(0.1 * 0.5f64.sqrt(), -0.1 * 0.5f64.sqrt());
    same_reading(
        of("RI", &format!("{} {}", expected.re, expected.im)),
        expected,
    );
    same_reading(of("MA", "0.1 -45"), expected);
    same_reading(of("DB", "-20 -45"), expected);
    same_reading(of("MA", "0.1 315"), expected);
}

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

/// The example of the specification: `R 75`, z = 0.99 at −4°, which is 74.25 Ω at −4°.
#[test]
fn impedance_of_the_published_example() {
    let sweep = read("part.s1p", "# MHz Z MA R 75\n100 0.99 -4\n");
    let gamma = sweep.s(0, 1, 1);
    let ohm = 75.0 * (1.0 + gamma) / (1.0 - gamma);
    let expected = Complex64::from_polar(74.25, -(4f64.to_radians()));
    assert!((ohm - expected).norm() < 1e-12, "{ohm} for {expected}");
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

/// A line may lie across any two buffers of its source.
#[test]
fn buffers_of_any_size_read_the_same() {
    let latin = [b"\xef\xbb\xbf! 3 \xb5H\r\n".as_slice(), TWO_PORT.as_bytes()].concat();
    let texts = [
        latin,
        TWO_PORT.replace('\n', "\r").into_bytes(),
        TWO_PORT.replace('\n', "\r\n").into_bytes(),
        format!("\r\r\n\n{}", TWO_PORT.trim_end()).into_bytes(),
        TWO_PORT.replace(".21", "x").into_bytes(),
    ];
    for text in texts {
        for name in ["pad.s2p", "pad"] {
            let whole = read_text(&text, name);
            for capacity in 1..80 {
                let source = BufReader::with_capacity(capacity, text.as_slice());
                assert_eq!(read_from(source, name), whole, "{capacity}");
            }
        }
    }
}

/// A source that breaks off is an error, not a short sweep.
#[test]
fn a_source_that_fails_is_reported() {
    struct Broken;
    impl Read for Broken {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::Error::other("cable pulled"))
        }
    }
    let source = BufReader::new(TWO_PORT.as_bytes().chain(Broken));
    let error = read_from(source, "pad.s2p").unwrap_err();
    assert!(error.is_unreadable());
    says(&error, None, &["cable pulled"]);
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
