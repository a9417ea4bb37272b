//! Benches nobody should build: every method with parts at open, short and pole, strays left and
//! taken out, pieces of the calibration skipped. Numbers or one sentence come out, never a panic.

use std::process::ExitCode;

use jigwise_tests::jig::{jig, json};
use jigwise_tests::workbench::Workbench;

const PARTS: [&str; 14] = [
    "kind = \"open\"",
    "kind = \"short\"",
    "kind = \"fixed\"\nimpedance = \"-50\"",
    "kind = \"fixed\"\nimpedance = \"-25\"",
    "kind = \"fixed\"\nimpedance = \"-100\"",
    "kind = \"fixed\"\nimpedance = \"-49.999999999999\"",
    "kind = \"fixed\"\nimpedance = \"1e-300\"",
    "kind = \"fixed\"\nimpedance = \"1e300\"",
    "kind = \"fixed\"\nimpedance = \"-j1e-20\"",
    "kind = \"fixed\"\nimpedance = \"1e15 - j1e15\"",
    "kind = \"fixed\"\nimpedance = \"0.1\"",
    "kind = \"capacitor\"\ncapacitance = \"1e-20 F\"",
    "kind = \"inductor\"\ninductance = \"1 kH\"",
    "kind = \"resistor\"\nresistance = \"50\"",
];
const METHODS: [&str; 11] = [
    "raw",
    "open",
    "short",
    "through only",
    "open and through",
    "short and through",
    "one port",
    "one port and through",
    "one direction",
    "both directions",
    "both directions, through unknown",
];
const STRAYS: [&str; 3] = [
    "",
    "[strays]\ngap = \"1 pF\"\nground = \"10 nH\"\npin = \"1 pF\"\ncontact = 1000\n\
     [strays.arm]\nlength = \"5 mm\"\nimpedance = 0.1\nloss = \"1000 dB/m\"\n",
    "[strays]\ngap = \"1 pF\"\nbraid = 1000\nbraid_loop = 10\nremoved = true\nleft = \"100 %\"\n\
     [strays.second_arm]\nlength = \"3 mm\"\nvelocity_factor = 0.1\n",
];
const SKIPPED: [&str; 4] = [
    "[]",
    "[\"isolation\"]",
    "[\"open\"]",
    "[\"load\", \"through\"]",
];

#[test]
fn any_bench_gives_numbers_or_a_sentence() {
    let bench = Workbench::new();
    let (mut read, mut refused) = (0, 0);
    for (at, part) in PARTS.iter().enumerate() {
        for (of_method, method) in METHODS.iter().enumerate() {
            for (of_strays, strays) in STRAYS.iter().enumerate() {
                let turn = at + of_method + of_strays;
                let (frequency, skipped) = (
                    ["1e-9", "7 MHz", "30 MHz", "100 MHz"][turn % 4],
                    SKIPPED[(turn / 4 + of_method) % 4],
                );
                let instrument = ["handheld", "club bench", "laboratory"][turn % 3];
                let text = format!(
                    "version = 1\n[device]\n{part}\n[at]\nfrequency = \"{frequency}\"\n\
                     [instrument]\npreset = \"{instrument}\"\n{strays}\
                     [calibration]\nmethod = \"{method}\"\nskipped = {skipped}\n"
                );
                let file = bench.write("bench.toml", &text);
                let told = jig(&["read", &file]);
                assert!(!told.err.contains("panicked"), "{text}{}", told.err);
                let lines = told.out.lines().chain(told.err.lines());
                for line in lines {
                    assert!(line.chars().count() < 400, "{text}{line}");
                    for word in ["NaN", "inf\u{202f}", "inf "] {
                        assert!(!line.contains(word), "{text}{line}");
                    }
                }
                if told.code == ExitCode::SUCCESS {
                    read += 1;
                    json(&["read", &file]);
                    assert_eq!(jig(&["plan", &file]).code, ExitCode::SUCCESS, "{text}");
                } else {
                    refused += 1;
                    assert_eq!(told.code, ExitCode::from(2), "{text}");
                    assert!(told.err.starts_with("jig: "), "{text}{}", told.err);
                    assert_eq!(told.err.trim_end().lines().count(), 1, "{}", told.err);
                }
            }
        }
    }
    assert!(read > 200, "{read} {refused}");
}

/// A percentage of a part that is nothing beside what is resolved has no end of digits.
#[test]
fn a_percentage_without_meaning_is_cut() {
    for (device, reference) in [("1e-300", "50"), ("1e-300", "1e9")] {
        let out = jig(&[
            "read",
            "--device",
            device,
            "--reference",
            reference,
            "--instrument",
            "handheld",
        ])
        .out;
        assert!(
            out.contains("over 1\u{202f}000\u{202f}000\u{202f}%"),
            "{out}"
        );
        assert!(!out.contains("inf"), "{out}");
    }
}
