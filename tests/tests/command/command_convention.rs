//! One convention of uncertainty: a ± is 95 %, a figure called u is a standard uncertainty, and
//! each says so where it stands.

use std::process::ExitCode;

use jigwise_tests::jig::jig;
use jigwise_tests::workbench::Workbench;

fn said(arguments: &[&str]) -> String {
    let found = jig(arguments);
    assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
    found.out
}

#[test]
fn a_figure_called_u_is_told_as_one() {
    let read = [
        "read",
        "--device",
        "330",
        "--at",
        "7.1M",
        "--instrument",
        "club-bench",
    ];
    let blend = ["blend", "--reflect", "0.6", "--series-through", "0.333333"];
    let bench = Workbench::new();
    let path = bench.write("part.s1p", "# MHz S RI R 50\n7 0.2 0.1\n");
    let reduce = [
        "reduce",
        &path,
        "--fixture",
        "reflect",
        "--instrument",
        "club-bench",
    ];
    for arguments in [&read[..], &blend, &reduce] {
        let text = said(arguments);
        assert!(text.contains("u(R)"), "{arguments:?}: {text}");
        assert_eq!(text.matches("k = 1").count(), 1, "{arguments:?}: {text}");
    }
    // The share of |Z| is a standard uncertainty as well, and called one.
    assert!(said(&read).contains("u(Z)/|Z|"), "{}", said(&read));
}

#[test]
fn what_is_called_value_within_is_95_percent() {
    let plan = [
        "plan",
        "--device",
        "330",
        "--at",
        "7.1M",
        "--instrument",
        "club-bench",
    ];
    let text = said(&plan);
    assert!(text.contains("At 95\u{202f}%"), "{text}");
    assert!(!text.contains("k = 1"), "{text}");
}

/// Where the words send to the 95 % region, the region stands beside them: its circle in the file.
#[test]
fn a_region_that_is_promised_is_there() {
    let read = ["read", "--device", "4.7k", "--instrument", "handheld"];
    let text = said(&read);
    let mut promised = 0;
    for line in text.lines().filter(|line| line.contains("region")) {
        promised += 1;
        assert!(
            line.contains(", within ") || line.contains(", outside "),
            "{line}"
        );
    }
    assert!(promised > 0, "{text}");
}
