//! The built book: nothing asks the network, every page has its parts, and what the question
//! says of its table is true.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use jigwise_bench::{Bench, Fixture};
use jigwise_book::root;
use jigwise_exercises::{Answer, catalogue, nudged_level, scenario};
use jigwise_tests::pressed_book::{book, html_of, main_of};

fn chapters() -> impl Iterator<Item = (&'static PathBuf, &'static String)> {
    let not_chapters = ["index.html", "print.html", "toc.html"].map(Path::new);
    let pages = book().pages.iter();
    pages.filter(move |(path, _)| !not_chapters.contains(&path.as_path()))
}

#[test]
fn nothing_asks_the_network() {
    assert_eq!(book().network_references, []);
}

#[test]
fn every_page_says_how_long_it_takes_and_holds_no_sign_left_over() {
    let count = chapters().count();
    assert!(count >= 41, "{count}");
    for (path, text) in chapters() {
        let main = main_of(text);
        assert!(
            main.contains("<p class=\"minutes\">About "),
            "{}",
            path.display()
        );
        assert_eq!(main.matches("<h1").count(), 1, "{}", path.display());
        for sign in ["{{", "}}", "$$", "minutes:", "```"] {
            assert!(!main.contains(sign), "{} holds {sign}", path.display());
        }
    }
}

#[test]
fn ids_are_unique_and_every_figure_has_title_and_description() {
    for (path, text) in &book().pages {
        let ids: Vec<&str> = text
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        let unique: HashSet<&&str> = ids.iter().collect();
        assert_eq!(unique.len(), ids.len(), "{}", path.display());
        for figure in text
            .split("<svg xmlns")
            .skip(1)
            .filter(|s| s.contains("jw-figure"))
        {
            let names = figure.split("aria-labelledby=\"").nth(1).unwrap();
            for name in names.split('"').next().unwrap().split(' ') {
                assert!(ids.contains(&name), "{}: {name}", path.display());
            }
        }
    }
}

#[test]
fn all_tasks_are_in_the_book_and_their_answers_are_not() {
    let print = html_of("print.html");
    for task in catalogue().tasks() {
        assert!(
            print.contains(&format!("cargo lab check {} ", task.key())),
            "{}",
            task.key()
        );
        let page =
            chapters().find(|(_, text)| text.contains(&format!("cargo lab check {} ", task.key())));
        let (path, text) = page.unwrap();
        if let Some(Answer::Value(right)) = task.right_answer() {
            let digits = format!("{:.2e}", right.re.abs());
            let digits = digits.split('e').next().unwrap();
            assert!(!main_of(text).contains(digits), "{}", path.display());
        }
    }
}

/// The question's page says: no fixture sees every part, every part is seen by some fixture.
#[test]
fn what_the_question_says_of_its_table_is_true() {
    let source = fs::read_to_string(root().join("text/question.md")).unwrap();
    let names = source.split("```compare\n").nth(1).unwrap();
    let names = names.split("```").next().unwrap();
    let mut lost = HashSet::new();
    for name in names.lines() {
        let readout = Bench::new(&scenario(name).unwrap()).unwrap().readout();
        let moves = Fixture::ALL.map(|fixture| {
            let before = readout.of(fixture).decibels().unwrap();
            (nudged_level(&readout, fixture).unwrap() - before).abs()
        });
        assert!(moves.iter().any(|moved| *moved >= 0.1), "{name}: {moves:?}");
        for (fixture, moved) in Fixture::ALL.into_iter().zip(moves) {
            if moved < 0.01 {
                lost.insert(fixture);
            }
        }
    }
    assert_eq!(lost.len(), Fixture::ALL.len());
}

#[test]
fn shell_lines_were_run_and_their_output_stands_below() {
    let mut commands = 0;
    for (path, text) in chapters() {
        for block in text.split("class=\"jw-shell").skip(1) {
            let shown = block.split("</code>").next().unwrap();
            commands += shown.matches("$ cargo ").count();
            let last = shown.rsplit(['\n', ';']).next().unwrap();
            assert!(!last.contains("$ cargo"), "{}: {shown}", path.display());
        }
    }
    assert!(commands >= 3, "{commands}");
}

/// The text of one chapter, held so that a change of any pass is seen. Renew it with
/// JIGWISE_RENEW=1 and read the difference.
#[test]
fn the_main_part_of_a_chapter_is_as_it_was() {
    let main = main_of(html_of("series/worked.html"))
        .replace("><", ">\n<")
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect::<Vec<_>>()
        .join("\n");
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("snapshots/series-worked.txt");
    if std::env::var_os("JIGWISE_RENEW").is_some() {
        fs::create_dir_all(kept.parent().unwrap()).unwrap();
        fs::write(&kept, main + "\n").unwrap();
        return;
    }
    let expected = fs::read_to_string(&kept)
        .unwrap_or_else(|error| panic!("{}: {error}; run with JIGWISE_RENEW=1", kept.display()));
    let differing: Vec<String> = expected
        .lines()
        .zip(main.lines())
        .enumerate()
        .filter(|(_, (old, new))| old != new)
        .map(|(index, (old, new))| format!("line {}:\n- {old}\n+ {new}", index + 1))
        .collect();
    assert!(
        differing.is_empty() && expected.lines().count() == main.lines().count(),
        "{} lines were kept, {} are there now. JIGWISE_RENEW=1 renews {}\n{}",
        expected.lines().count(),
        main.lines().count(),
        kept.display(),
        differing.join("\n")
    );
}
