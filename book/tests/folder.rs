//! Into which folders the book is built, and which it leaves alone.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use jigwise_book::MARKER;

fn build(stands: &Path, out: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_book"))
        .args(["build", "--still", "--out", out])
        .current_dir(stands)
        .output()
        .unwrap()
}

#[test]
fn a_relative_folder_is_where_the_user_stands() {
    let scratch = tempfile::tempdir().unwrap();
    let stands = scratch.path().join("desk");
    fs::create_dir(&stands).unwrap();
    let built = build(&stands, "../pages/book");
    let said = String::from_utf8_lossy(&built.stderr).into_owned();
    assert!(built.status.success(), "{said}");
    let folder = scratch.path().join("pages/book");
    assert!(folder.join("index.html").is_file());
    assert!(folder.join(MARKER).is_file());

    // What an earlier build left goes, and nothing is asked.
    fs::write(folder.join("old-page.html"), "old").unwrap();
    assert!(build(&stands, "../pages/book").status.success());
    assert!(!folder.join("old-page.html").exists());
}

#[test]
fn a_folder_of_somebody_else_stays_as_it_is() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path().join("thesis");
    fs::create_dir_all(folder.join("chapters")).unwrap();
    fs::write(folder.join("chapters/one.txt"), "years of work").unwrap();
    for out in ["thesis", "thesis/chapters", "thesis/chapters/one.txt"] {
        let refused = build(scratch.path(), out);
        assert_eq!(refused.status.code(), Some(2), "{out}");
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(said.contains("--out"), "{out}: {said}");
        assert_eq!(said.lines().count(), 1, "{out}: {said}");
    }
    let kept = fs::read_to_string(folder.join("chapters/one.txt")).unwrap();
    assert_eq!(kept, "years of work");
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
}
