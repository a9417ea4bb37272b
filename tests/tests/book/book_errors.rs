//! A mistake in the book's sources stops the build and names file and line.

use std::fs;
use std::path::Path;

use jigwise_book::{BuildError, build, root};
use tempfile::TempDir;

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, target).unwrap();
        }
    }
}

/// The book's sources in a folder of their own.
fn sources() -> TempDir {
    let folder = TempDir::new().unwrap();
    for part in ["text", "theme"] {
        copy(&root().join(part), &folder.path().join(part));
    }
    fs::copy(root().join("book.toml"), folder.path().join("book.toml")).unwrap();
    folder
}

/// What the build says of `sources` with `added` lines at the end of a page, and the line on
/// which the addition begins. The page is as it was afterwards.
fn with(sources: &TempDir, page: &str, added: &str) -> (Result<(), BuildError>, usize) {
    let path = sources.path().join("text").join(page);
    let text = fs::read_to_string(&path).unwrap();
    let first = text.lines().count() + 2;
    fs::write(
        &path,
        format!(
            "{text}
{added}
"
        ),
    )
    .unwrap();
    let out = sources.path().join("out");
    let result = build(sources.path(), Some(&out)).map(|_| ());
    fs::write(&path, text).unwrap();
    (result, first)
}

/// The sources cut down to one page, with empty ones where it links to: what is said of a page
/// needs no other, and the book is built for every mistake.
fn one_page() -> TempDir {
    let sources = sources();
    let text = sources.path().join("text");
    let page = fs::read_to_string(text.join("reflect/circuit.md")).unwrap();
    fs::remove_dir_all(&text).unwrap();
    fs::create_dir_all(text.join("reflect")).unwrap();
    fs::write(text.join("reflect/circuit.md"), page).unwrap();
    let mut summary = String::from(
        "# Summary

- [The page](reflect/circuit.md)
",
    );
    for linked in [
        "reflect/see.md",
        "reflect/divider.md",
        "reflect/waves.md",
        "cautions.md",
    ] {
        summary += &format!(
            "- [Linked]({linked})
"
        );
        let empty = "# Linked

## Part {#antennas}
";
        fs::write(text.join(linked), empty).unwrap();
    }
    fs::write(text.join("SUMMARY.md"), summary).unwrap();
    sources
}

#[test]
fn a_mistake_on_a_page_has_its_file_and_line() {
    let sources = one_page();
    with(&sources, "reflect/circuit.md", "No mistake.")
        .0
        .unwrap_or_else(|error| panic!("{error}"));
    // Each with how many lines below its beginning the mistake stands.
    for (added, below, reason) in [
        ("```worked reflect no-such-part\n```", 0, "no scenario"),
        ("```worked sideways match\n```", 0, "no fixture"),
        (
            "```worked series-through open\n```",
            0,
            "no reading to work from",
        ),
        (
            "```worked reflect\nversion = 1\n[device]\nkind = \"resistor\"\nresistence = \"3\"\n```",
            4,
            "did you mean \"resistance\"?",
        ),
        (
            "```worked reflect\nversion = 1\n[device]\nkind = \"inductor\"\ninductance = \"2 F\"\n```",
            4,
            "inductance",
        ),
        ("x\n\n$\\frac{1}{$", 2, "closing"),
        ("$$\nx\n\\nonsense{y}\n$$", 2, "formula"),
        (
            "A {{value match refrence 2}}",
            0,
            "did you mean \"reference\"?",
        ),
        (
            "x\n{{value mtach reference 2}}",
            1,
            "did you mean \"match\"?",
        ),
        ("[x](nowhere.md)", 0, "no page"),
        ("[x](https://example.org)", 0, "offline"),
        (
            "```task reflect-levle\n```",
            0,
            "did you mean \"reflect-level\"?",
        ),
        ("```compare\nmatch\nno-such-part\n```", 2, "no scenario"),
        ("```reduced steps\n```", 0, "expected reduced WHAT FOLDER"),
        ("```reduced stepps choke\n```", 0, "did you mean \"steps\"?"),
        (
            "```reduced fit chokes\n```",
            0,
            "no measurement in exercises/measurements/chokes",
        ),
        ("```reduced fit choke\n```", 0, "no part; say which file"),
        (
            "```reduced fit choke\npart choke.s2p\n```",
            1,
            "expected part FILE FIXTURE",
        ),
        (
            "```reduced fit choke\npart choke.s2p sideways\n```",
            1,
            "no fixture",
        ),
        (
            "```reduced fit choke\npart choke.s2p series-through\nblanks x.s2p\n```",
            2,
            "did you mean \"blank\"?",
        ),
        (
            "```reduced fit choke\npart chok.s2p series-through\n```",
            1,
            "exercises/measurements/choke/chok.s2p: can't be read",
        ),
        (
            "```reduced fit choke\npart choke.s2p series-through\ncalibration x.toml\n```",
            2,
            "x.toml",
        ),
        (
            "```reduced fit choke\npart choke.s2p series-through\ninstrument club\n```",
            2,
            "club",
        ),
        (
            "```reduced steps choke\npart choke.s2p series-through\nat 1 MHx\n```",
            2,
            "MHx",
        ),
        (
            "```reduced steps choke\npart choke.s2p series-through\n```",
            0,
            "no frequency; give one",
        ),
        (
            "```reduced causes choke\npart choke.s2p series-through\nat 1 MHz\n```",
            0,
            "no instrument; give one",
        ),
        (
            "```reduced steps choke\npart choke-load.s1p series-through\nat 1 MHz\n```",
            0,
            "needs S21",
        ),
        ("```ends reflect\nno-such-part\n```", 1, "no scenario"),
        ("```answer\n```", 0, "expected answer SCENARIO"),
        (
            "x\n```answer bias-resistor\n```",
            1,
            "scenario \"bias-resistor\" has no instrument",
        ),
        ("```try-formula reflect\n```", 0, "nothing more"),
        ("```own-sweeps choke\n```", 0, "nothing more"),
        ("```class junk-box\n```", 0, "nothing more"),
        ("```clouds sideways anode-resistor\n```", 0, "no fixture"),
        ("```clouds all\n```", 0, "expected clouds"),
        (
            "```clouds all anode-resister\n```",
            0,
            "did you mean \"anode-resistor\"?",
        ),
        (
            "```clouds all bias-resistor\n```",
            0,
            "scenario \"bias-resistor\" has no instrument",
        ),
        (
            "```clouds reflect anode-resistor first\n```",
            0,
            "no number of a calibration",
        ),
        ("x\n\n```reach match\n```", 2, "has no instrument"),
        ("```reach anode-resistor 3\n```", 0, "expected reach"),
        (
            "```calibrations reflect anode-resistor 0\n```",
            0,
            "expected 1 to 20",
        ),
        ("```crossovers handheld\n```", 0, "nothing more"),
        ("```resolves reflect match\n```", 0, "has no instrument"),
        ("```resolves reflect\n```", 0, "expected resolves"),
        ("```got-back sideways\nmatch\n```", 0, "no fixture"),
        ("```got-back reflect\n```", 0, "no scenario to show"),
        (
            "```got-back all\nmatch\nno-such-part | A part\n```",
            2,
            "no scenario",
        ),
        ("```checks all\ncheck-good\n```", 0, "expected checks"),
        ("```checks\nmatch\n```", 0, "no calibration to check"),
        ("```blank series-through\n```", 0, "expected blank"),
        ("```blank series-through match\n```", 0, "no strays left"),
        ("```over bias-resistor\n```", 0, "needs a [sweep]"),
        ("```over bypass-capacitor sideways\n```", 0, "no fixture"),
        ("```best-over bias-resistor\n```", 0, "has no [sweep]"),
        ("```best-over trimmer-over\n```", 0, "has no instrument"),
        ("```apparent blue-capacitor\n```", 0, "no capacitor or coil"),
        ("```millimetre fast\n```", 0, "no number"),
        ("```discharge\n450, 47 uF\n```", 1, "expected VOLTS"),
        ("```discharge\n450, 47 uH, 10k\n```", 1, "47 uH"),
        ("```discharge\n450, 47 uF, 0\n```", 1, "above zero"),
        ("```wire\n5 mm, 0.5 mm\n5 mm\n```", 2, "expected LENGTH"),
        ("```wire\n1 mm, 2 mm\n```", 1, "longer than it is thick"),
        (
            "```plane arm-part arm-part\n```",
            0,
            "no open with a [sweep]",
        ),
        ("A {{value match esr}}", 0, "has no esr"),
        ("A {{value match reflect.separation}}", 0, "[instrument]"),
        (
            "A {{value anode-resistor reflect.seperation}}",
            0,
            "did you mean \"reflect.separation\"?",
        ),
        (
            "```wroked reflect match\n```",
            0,
            "did you mean \"worked\"?",
        ),
        ("```\nunlabelled\n```", 0, "without a label"),
        (
            "```console\n$ cargo jig read --device nonsense\n```",
            1,
            "success",
        ),
        (
            "```console fails\n$ cargo jig read --device 4.7k\n```",
            1,
            "failure",
        ),
        ("```console\n$ rm -rf x\n```", 1, "only cargo jig"),
    ] {
        let (result, first) = with(&sources, "reflect/circuit.md", added);
        let error = result.unwrap_err();
        let page = error
            .page()
            .unwrap_or_else(|| panic!("{added}: no place in {error}"));
        assert_eq!(page.file(), "book/text/reflect/circuit.md", "{error}");
        assert_eq!(page.line(), first + below, "{added}: {error}");
        assert!(error.to_string().contains(reason), "{added}: {error}");
    }
}

#[test]
fn a_summary_that_names_a_missing_page_has_its_line() {
    let (result, first) = with(&sources(), "SUMMARY.md", "- [Gone](gone.md)");
    let error = result.unwrap_err();
    let page = error.page().unwrap();
    assert_eq!((page.file(), page.line()), ("book/text/SUMMARY.md", first));
    assert!(error.to_string().contains("gone.md"), "{error}");
}

#[test]
fn the_sources_as_they_are_pass() {
    let (result, _) = with(&sources(), "reflect/circuit.md", "One line more.");
    result.unwrap_or_else(|error| panic!("{error}"));
}
