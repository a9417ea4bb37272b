//! What a class gets back: the table for a spreadsheet, and the pages.

use crate::grading::{form, graded, set};

/// OWASP, "CSV Injection": cells that begin with = + - @, tab or carriage return are worked out by
/// spreadsheets.
#[test]
fn no_cell_is_worked_out_by_a_spreadsheet() {
    let set = set(4);
    let names = [
        "=1+1",
        "+cmd",
        "-2",
        "@SUM(A1)",
        "\\t=1",
        "  =HYPERLINK(1)",
        "＝1",
        "a \\\"b\\\", c",
    ];
    let forms: Vec<(String, Vec<u8>)> = names
        .iter()
        .enumerate()
        .map(|(at, name)| {
            let group = at as u32 % 4 + 1;
            let text = form(&set, group, &format!("names = \"{name}\"\n"), "");
            (format!("={at}.toml"), text.into_bytes())
        })
        .collect();
    let forms: Vec<(&str, Vec<u8>)> = forms.iter().map(|(n, b)| (&**n, b.clone())).collect();
    let csv = graded(&set, &forms).csv();
    let text = csv.strip_prefix('\u{feff}').unwrap();
    let mut lines = csv_lines(text);
    let head = lines.remove(0);
    assert_eq!(lines.len(), names.len());
    for line in &lines {
        assert_eq!(line.len(), head.len(), "{line:?}");
        for cell in line {
            let first = cell.trim_start_matches(' ').chars().next();
            assert!(
                !first.is_some_and(|c| "=+-@\t\r＝＋".contains(c)),
                "{cell:?}"
            );
        }
    }
    assert!(
        lines.iter().any(|line| line[1] == "a \"b\", c"),
        "{lines:?}"
    );
}

/// Lines and cells by RFC 4180.
fn csv_lines(text: &str) -> Vec<Vec<String>> {
    let mut lines = vec![vec![String::new()]];
    let mut quoted = false;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let line = lines.last_mut().unwrap();
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                line.last_mut().unwrap().push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => line.push(String::new()),
            '\n' if !quoted => lines.push(vec![String::new()]),
            '\r' if !quoted => {}
            c => line.last_mut().unwrap().push(c),
        }
    }
    lines.retain(|line| line.len() > 1);
    lines
}

#[test]
fn the_pages_name_the_slips_and_hold_no_right_answer() {
    let set = set(3);
    let r = |group: u32| {
        set.group(group).unwrap().questions()[0]
            .task
            .knowable()
            .unwrap()
            .right
    };
    let shunt = |group: u32| {
        let z = r(group) / 50.0;
        let s = (z - 1.0) / (z + 1.0);
        25.0 * s / (1.0 - s)
    };
    let forms: Vec<(String, Vec<u8>)> = (1..=3)
        .map(|group| {
            let answer = format!("q1 = \"{:.3} ± 5 %\"\nq2 = \"<b>bold</b>\"\n", shunt(group));
            (
                format!("{group}.toml"),
                form(&set, group, "", &answer).into_bytes(),
            )
        })
        .collect();
    let forms: Vec<(&str, Vec<u8>)> = forms.iter().map(|(n, b)| (&**n, b.clone())).collect();
    let book = graded(&set, &forms);
    let (slip, count) = &book.slips()[0];
    assert!(slip.contains("shunt-through formula"), "{slip}");
    assert_eq!(*count, 3);
    let pages = book.pages();
    assert_eq!(pages.len(), 4);
    assert!(
        pages[0]
            .html
            .contains("3 times: this is what the shunt-through formula gives")
    );
    for (group, page) in (1..).zip(&pages[1..]) {
        assert!(page.html.contains("&lt;b&gt;bold"), "{}", page.html);
        assert!(
            !page.html.contains(&format!("{:.1}", r(group))),
            "{}",
            page.name
        );
    }
}
