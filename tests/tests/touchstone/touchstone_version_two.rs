//! Version 2 and many ports: layout, normalisation, mixed modes, noise.
//!
//! Sources: Touchstone File Format Specification 2.0 (IBIS Open Forum, 24 April 2009) and the
//! changes of 2.1; the pairs of one network in both versions are its examples.

use jigwise_tests::touchstone::{c, read, refused, same_reading, says};
use jigwise_touchstone::{Mode, NoisePoint, Remark, Sweep, SweepError};
use num_complex::Complex64;

fn file(ports: usize, option: &str, more: &str, data: &str) -> String {
    let order = if ports == 2 {
        "[Two-Port Data Order] 21_12\n"
    } else {
        ""
    };
    format!(
        "[Version] 2.1\n{option}\n[Number of Ports] {ports}\n{order}[Number of Frequencies] 1\n\
         {more}[Network Data]\n{data}\n[End]\n"
    )
}

/// Z = (1 + Γ)/(1 − Γ) times the reference.
fn ohms(sweep: &Sweep) -> Complex64 {
    let gamma = sweep.s(0, 1, 1);
    sweep.references_ohm()[0] * (1.0 + gamma) / (1.0 - gamma)
}

/// The example pair: version 1 at R 75 writes 0.99 ∠ −4°, version 2 the ohms 74.25 ∠ −4°
/// whatever the reference; S at 20 Ω is 0.576066 − 0.023342j.
#[test]
fn published_pair_of_one_impedance() {
    let one = read("part.s1p", "# MHz Z MA R 75\n100 0.99 -4\n");
    let two = file(1, "# MHz Z MA", "[Reference] 20\n", "100 74.25 -4");
    let two = read("part.ts", &two);
    let expected = Complex64::from_polar(74.25, -(4f64.to_radians()));
    for sweep in [&one, &two] {
        assert!((ohms(sweep) - expected).norm() < 1e-12, "{}", ohms(sweep));
    }
    assert!((two.s(0, 1, 1) - c(0.576066, -0.023342)).norm() < 1e-6);
    let moved = one.renormalised(&[20.0]).unwrap();
    assert!((moved.s(0, 1, 1) - two.s(0, 1, 1)).norm() < 1e-15);
}

/// The example pair: rn 0.38 at 50 Ω in version 1 is Rn 19 Ω in version 2. The numbers beside
/// it are from memory.
#[test]
fn published_pair_of_noise() {
    let one = "# GHz S MA R 50\n2 .95 -26 3.57 157 .04 76 .66 -14\n\
               22 .6 -144 1.3 40 .14 40 .56 -85\n4 .7 .64 69 .38\n18 2.7 .46 -33 .4\n";
    let one = read("fet.s2p", one);
    let two = "[Version] 2.0\n# GHz S MA R 50\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n\
               [Number of Frequencies] 2\n[Number of Noise Frequencies] 2\n[Reference] 50 50\n\
               [Network Data]\n2 .95 -26 3.57 157 .04 76 .66 -14\n\
               22 .6 -144 1.3 40 .14 40 .56 -85\n[Noise Data]\n4 .7 .64 69 19\n\
               18 2.7 .46 -33 20\n[End]\n";
    let two = read("fet.ts", two);
    assert_eq!(one, two);
    assert_eq!(
        two.noise()[0],
        NoisePoint {
            freq_hz: 4e9,
            least_figure_db: 0.7,
            source_reflection: Complex64::from_polar(0.64, 69f64.to_radians()),
            resistance_ohm: 19.0,
        }
    );
}

/// Version 2 tells noise by its keyword, so it may begin anywhere and wrap, but must be
/// announced and complete.
#[test]
fn noise_of_version_two_is_announced() {
    let with = |count: &str, noise: &str| {
        file(
            2,
            "# GHz S RI",
            count,
            &format!("1 0 0 0 0 0 0 0 0\n[Noise Data]\n{noise}"),
        )
    };
    let two = "[Number of Noise Frequencies] 2\n";
    let sweep = read("a.ts", &with(two, "5 1 .5 0 10\n6 1 .5\n 0 20"));
    assert_eq!(sweep.noise()[0].freq_hz, 5e9);
    assert_eq!(sweep.noise()[1].resistance_ohm, 20.0);
    for (text, words) in [
        (with("", "5 1 .5 0 10"), "[Number of Noise Frequencies]"),
        (with(two, "5 1 .5 0 10"), "found 1 records"),
        (
            with(two, "5 1 .5 0 10\n6 1 .5 0 1\n7 1 .5 0 1"),
            "found 3 records",
        ),
        (with(two, "5 1 .5 0 10\n6 1 .5"), "3 of the 5 numbers"),
        (with(two, "5 1 .5 0 10\n5 1 .5 0 9"), "5 after 5"),
        (with(two, "5 1 -.5 0 10\n6 1 .5 0 9"), "magnitude -0.5"),
    ] {
        let error = refused("a.ts", &text);
        assert!(error.to_string().contains(words), "{error}");
        assert!(error.line().is_some());
    }
    let unused = file(2, "# GHz S RI", two, "1 0 0 0 0 0 0 0 0");
    says(
        &refused("a.ts", &unused),
        Some(9),
        &[
            "found 0 records",
            "[Number of Noise Frequencies] announces 2",
        ],
    );
    let three = file(
        3,
        "# GHz S RI",
        two,
        "1 1 0 0 0 0 0 0 0 1 0 0 0 0 0 0 0 1 0\n[Noise Data]",
    );
    assert!(refused("a.ts", &three).to_string().contains("two-port"));
}

const FOUR_PORT_ROWS: &str = "\
1 11 .1 12 .1 13 .1 14 .1 ! row 1
  21 .1 22 .1 23 .1 24 .1
  31 .1 32 .1 33 .1 34 .1
  41 .1 42 .1 43 .1 44 .1
";

/// Three ports and more go across before down, each row on a new line.
#[test]
fn many_ports_are_row_major() {
    let sweep = read("box.s4p", &format!("# MHz S RI R 50\n{FOUR_PORT_ROWS}"));
    assert_eq!(sweep.ports(), 4);
    assert_eq!(sweep.remarks(), []);
    for to in 1..=4 {
        for from in 1..=4 {
            assert_eq!(sweep.s(0, to, from), c((10 * to + from) as f64, 0.1));
        }
    }
    let three = "# MHz S RI\n1 11 0 12 0 13 0\n21 0 22 0 23 0\n31 0 32 0 33 0\n2 0 0 0 0 0 0\n\
                 0 0 0 0 0 0\n0 0 0 0 0 0\n";
    let three = read("tee.s3p", three);
    assert_eq!((three.len(), three.s(0, 3, 1)), (2, c(31.0, 0.0)));
}

/// Rows of more than four pairs go on in the next line. Other breaks are read in order and
/// remarked on; version 2 leaves them free.
#[test]
fn long_rows_wrap_after_four_pairs() {
    let mut text = String::from("# MHz S RI\n");
    let mut flat = String::from("7");
    for row in 1..=6 {
        text.push_str(if row == 1 { "7" } else { " " });
        for column in 1..=6 {
            text.push_str(&format!(" {row}{column} 0"));
            flat.push_str(&format!(" {row}{column} 0"));
            if column == 4 {
                text.push('\n');
            }
        }
        text.push('\n');
    }
    let sweep = read("box.s6p", &text);
    assert_eq!(sweep.remarks(), []);
    assert_eq!(sweep.s(0, 5, 6), c(56.0, 0.0));
    let one_line = read("box.s6p", &format!("# MHz S RI\n{flat}\n"));
    assert_eq!(one_line, sweep);
    assert_eq!(one_line.remarks(), [Remark::RowLayout { line: 2 }]);
    let broken = flat.replace(" 2", "\n2").replace(" 5", "\n5");
    let two = read("box.ts", &file(6, "# MHz S RI", "", &broken));
    assert_eq!(two, sweep);
    assert_eq!(two.remarks(), []);
}

/// A row that is missing shows at the line that begins the next record.
#[test]
fn a_missing_row_is_found() {
    let without = FOUR_PORT_ROWS
        .lines()
        .take(3)
        .collect::<Vec<_>>()
        .join("\n");
    let text = format!("# MHz S RI\n{without}\n2 0 0 0 0 0 0 0 0\n");
    let error = refused("box.s4p", &text);
    says(
        &error,
        Some(5),
        &["found 34 numbers", "expected 33", "the record before"],
    );
    assert_eq!(error.column(), Some(17));
    let cut = refused("box.s4p", &format!("# MHz S RI\n{without}\n"));
    says(&cut, Some(2), &["25 of the 33 numbers"]);
    let cut = file(4, "# MHz S RI", "", &without);
    says(&refused("box.ts", &cut), Some(6), &["25 of the 33 numbers"]);
    let more = file(1, "# MHz S RI", "", "1 2 3 4");
    says(
        &refused("box.ts", &more),
        Some(6),
        &["found 4", "expected 3"],
    );
}

/// N uncoupled impedances have N reflection coefficients, each at its own reference; so have
/// their admittances. Version 1 has them normalised.
#[test]
fn many_uncoupled_impedances() {
    let data = |z: [f64; 3]| {
        format!(
            "1 {} 0 0 0 0 0\n0 0 {} 0 0 0\n0 0 0 0 {} 0\n",
            z[0], z[1], z[2]
        )
    };
    let references = "[Reference] 50 75 20\n";
    let z = [25.0, 75.0, 60.0];
    let expected = [-1.0 / 3.0, 0.0, 0.5];
    for (option, values) in [("# MHz Z RI", z), ("# MHz Y RI", z.map(f64::recip))] {
        let sweep = read("box.ts", &file(3, option, references, &data(values)));
        for port in 1..=3 {
            same_reading(sweep.s(0, port, port), c(expected[port - 1], 0.0));
            same_reading(sweep.s(0, port, port % 3 + 1), c(0.0, 0.0));
        }
    }
    for (option, sign) in [("# MHz Z RI R 75", 1.0), ("# MHz Y RI R 75", -1.0)] {
        let sweep = read("box.s3p", &format!("{option}\n{}", data([0.5, 1.0, 3.0])));
        for (port, gamma) in [(1, -1.0 / 3.0), (2, 0.0), (3, 0.5)] {
            same_reading(sweep.s(0, port, port), c(sign * gamma, 0.0));
        }
    }
}

/// A wire node of three ports: Y of the node grounded through y at every port is singular as
/// Z; S of the bare tee at equal references is −1/3 on and 2/3 off the diagonal (any text on
/// networks), at unequal ones S_ii = (G_i − ΣG_other)/ΣG, S_ij = 2√(G_i·G_j)/ΣG.
#[test]
fn a_tee_changes_its_references() {
    let third = 1.0 / 3.0;
    let s = |i, j| c(if i == j { -third } else { 2.0 * third }, 0.0);
    let cells = (0..9).map(|k| s(k / 3, k % 3)).collect();
    let tee = Sweep::new(3, &[50.0], vec![1e6], cells).unwrap();
    let ohm = [50.0, 20.0, 75.0];
    let moved = tee.renormalised(&ohm).unwrap();
    let g = ohm.map(f64::recip);
    let sum: f64 = g.iter().sum();
    for to in 0..3 {
        for from in 0..3 {
            let mut expected = 2.0 * (g[to] * g[from]).sqrt() / sum;
            if to == from {
                expected -= 1.0;
            }
            same_reading(moved.s(0, to + 1, from + 1), c(expected, 0.0));
        }
    }
    let back = moved.renormalised(&[50.0]).unwrap();
    for (to, from) in [(1, 1), (2, 3)] {
        same_reading(back.s(0, to, from), tee.s(0, to, from));
    }
}

/// Mixed-mode data are handed on as they stand, with what each row is.
#[test]
fn mixed_modes_are_kept() {
    let data = "1 11 0 12 0 13 0\n21 0 22 0 23 0\n31 0 32 0 33 0";
    let with = |order: &str| {
        file(
            3,
            "# MHz S RI",
            &format!("[Mixed-Mode Order] {order}\n"),
            data,
        )
    };
    let sweep = read("box.ts", &with("D2,3 c2,3 S1"));
    assert_eq!(
        sweep.modes(),
        [
            Mode::Differential(2, 3),
            Mode::Common(2, 3),
            Mode::Single(1)
        ]
    );
    assert_eq!(sweep.s(0, 2, 1), c(21.0, 0.0));
    assert_eq!(sweep.renormalised(&[75.0]), Err(SweepError::MixedMode));
    for order in [
        "D2,3 S1",
        "D2,3 S1 S2",
        "D2,3 C3,2 S1",
        "D2,2 C2,2 S1",
        "D2,4 C2,4 S1",
        "S1 S2",
        "X1",
        "S1 S2 S2",
        "D2,3 D2,3 S1",
        "",
        "S1 S2 S3 S1",
    ] {
        let error = refused("box.ts", &with(order));
        says(&error, Some(5), &["[Mixed-Mode Order]", "D2,3 or C2,3"]);
    }
    let z = refused("box.ts", &with("D2,3 C2,3 S1").replace("S RI", "Z RI"));
    assert!(z.is_unsupported());
    says(&z, Some(6), &["mixed-mode Z"]);
}

/// The information block is for people, whatever is in it.
#[test]
fn information_is_passed_over() {
    let block = "[Begin Information]\nMade by: [nobody\n# GHz\n[Network Data]\n1 2\n\
                 [end  information]\n";
    let plain = file(1, "# MHz S RI", "", "1 2 3");
    let told = file(1, "# MHz S RI", block, "1 2 3");
    assert_eq!(read("a.ts", &told), read("a.ts", &plain));
    let open = block.replace("[end  information]\n", "");
    let error = refused("a.ts", &file(1, "# MHz S RI", &open, "1 2 3"));
    assert!(error.to_string().contains("[End Information]"), "{error}");
    assert!(
        refused(
            "a.ts",
            &told.replace("[end  information]\n", "[End Information] now\n")
        )
        .to_string()
        .contains("[End Information]")
    );
}

/// The name doesn't count in version 2, but a contradiction is remarked on.
#[test]
fn the_number_of_ports_is_said_inside() {
    let text = file(1, "# MHz S RI", "", "1 2 3");
    let sweep = read("a.s2p", &text);
    assert_eq!(sweep.ports(), 1);
    let remark = Remark::NameDiffers {
        name_ports: 2,
        ports: 1,
    };
    assert_eq!(sweep.remarks(), [remark]);
    let error = refused("a.ts", &text.replace("Ports] 1", "Ports] 5000"));
    assert!(error.is_unsupported());
    let h = refused("a.ts", &text.replace(" S ", " H "));
    assert!(h.to_string().contains("two ports only"), "{h}");
}

/// Leading comments are kept as they stand; those between the data are not.
#[test]
fn leading_comments_tell_their_story() {
    let text = "! A coil of the junk box\n!\n!  indented\n# MHz RI\n! freq re im\n1 2 3\n! late\n";
    let sweep = read("a.s1p", text);
    assert_eq!(
        sweep.comments(),
        ["A coil of the junk box", "", " indented", "freq re im"]
    );
    let latin = jigwise_touchstone::read_text(b"! 3 \xb5H\n# RI\n1 2 3\n", "a.s1p").unwrap();
    assert_eq!(latin.comments(), ["3 µH"]);
    let many = format!(
        "{}# RI\n1 2 3\n",
        "! a line of a long story\n".repeat(10_000)
    );
    let sweep = read("a.s1p", &many);
    assert!(sweep.comments().len() > 1_000);
    assert!(matches!(sweep.remarks(), [Remark::CommentsCut { .. }]));
}

/// A file saved as wide text, and one that is a single endless line, are named as such.
#[test]
fn wide_text_and_endless_lines() {
    let wide: Vec<u8> = "\u{feff}# RI\n1 2 3\n"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    let error = jigwise_touchstone::read_text(&wide, "a.s1p").unwrap_err();
    assert!(error.to_string().contains("plain text"), "{error}");
    let endless = format!("# RI\n{}", "1 ".repeat(2_000_000));
    let error = refused("a.s1p", &endless);
    assert!(error.is_unsupported(), "{error}");
    let talk = format!("!{}\n# RI\n1 2 3\n", "talk ".repeat(1_000_000));
    assert_eq!(read("a.s1p", &talk).len(), 1);
}
