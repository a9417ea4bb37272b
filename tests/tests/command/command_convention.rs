//! One convention of uncertainty: a ± is 95 %, a figure called u is a standard uncertainty, and
//! each says so where it stands.

use std::process::ExitCode;

use jigwise_tests::jig::{jig, json};
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

/// A budget whose load error is as large as the circle of the chart, and a reading near the pole
/// of its inverse: a standard deviation has no meaning there, so none is shown, and words say what
/// is known.
#[test]
fn no_u_is_shown_where_it_has_no_meaning() {
    let bench = Workbench::new();
    let path = bench.write("part.s1p", "# MHz S RI R 50\n7 0.2 0.1\n8 0.2 0.1\n");
    let wide = "version = 1\n[instrument]\nname = \"wide\"\nload = \"-1 dB\"\n";
    let wide = bench.write("wide.toml", wide);
    let reduce = [
        "reduce",
        &path,
        "--fixture",
        "reflect",
        "--instrument",
        &wide,
    ];
    let text = said(&reduce);
    assert!(text.contains("a bound only"), "{text}");
    let row = text.lines().find(|line| line.starts_with('7')).unwrap();
    assert_eq!(
        row.matches('–').count(),
        4,
        "u(R), u(X), the part that it may be, and identity: {row}"
    );
    let trust = &json(&reduce)["points"][0]["trust"];
    assert_eq!(trust, "bound-only");
    let read = ["read", "--device", "70", "--instrument", &wide];
    let text = said(&read);
    let row = text
        .lines()
        .rfind(|line| line.starts_with("Reflect "))
        .unwrap();
    assert!(row.matches('–').count() >= 3, "{text}");
    assert!(text.contains("Reflect: a bound only"), "{text}");
}
