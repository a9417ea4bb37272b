//! The book, built once for all tests of a binary.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use jigwise_book::{NetworkReference, build, network_references, root};
use tempfile::TempDir;

/// What a build of the book left behind.
#[derive(Debug)]
pub struct PressedBook {
    /// Its pages by their path in the book.
    pub pages: BTreeMap<PathBuf, String>,
    /// What any of its files asks the network for.
    pub network_references: Vec<NetworkReference>,
}

/// The book from the sources as they are. Its folder is gone when this returns.
///
/// # Panics
/// Where it can't be built or read.
pub fn book() -> &'static PressedBook {
    static BOOK: OnceLock<PressedBook> = OnceLock::new();
    BOOK.get_or_init(|| {
        let folder = TempDir::new().expect("a folder");
        build(&root(), Some(folder.path())).unwrap_or_else(|error| panic!("{error}"));
        PressedBook {
            pages: pages_in(folder.path()),
            network_references: network_references(folder.path()).expect("readable"),
        }
    })
}

fn pages_in(root: &Path) -> BTreeMap<PathBuf, String> {
    let mut pages = BTreeMap::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("readable") {
            let path = entry.expect("readable").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "html") {
                let text = fs::read_to_string(&path).expect("UTF-8");
                let name = path.strip_prefix(root).expect("below the root");
                pages.insert(name.to_owned(), text);
            }
        }
    }
    pages
}

/// A page as HTML.
///
/// # Panics
/// Where the book has no such page.
#[track_caller]
pub fn html_of(page: &str) -> &'static str {
    book()
        .pages
        .get(Path::new(page))
        .unwrap_or_else(|| panic!("no page {page}"))
}

/// What stands between `<main>` and `</main>`.
///
/// # Panics
/// Where the page has no main part.
#[track_caller]
pub fn main_of(html: &str) -> &str {
    let (_, main) = html.split_once("<main>").expect("a main part");
    main.split_once("</main>").expect("its end").0
}

/// The words of a page's main part, one blank between two of them; its pictures are left out.
///
/// # Panics
/// Where the book has no such page, or a picture has no end.
#[track_caller]
pub fn text_of(page: &str) -> String {
    let mut text = String::new();
    for (index, part) in main_of(html_of(page)).split("<svg").enumerate() {
        let part = match index {
            0 => part,
            _ => part.split_once("</svg>").expect("the picture's end").1,
        };
        let mut inside = false;
        for (at, c) in part.char_indices() {
            match c {
                '<' => {
                    inside = true;
                    // A link to the glossary and a live number stand within a sentence.
                    if !is_in_a_sentence(&part[at..]) {
                        text.push(' ');
                    }
                }
                '>' => inside = false,
                c if !inside => text.push(c),
                _ => {}
            }
        }
        text.push(' ');
    }
    // The thin space before a unit is white space too.
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn is_in_a_sentence(tag: &str) -> bool {
    ["<a ", "</a>", "<span", "</span>"]
        .iter()
        .any(|opening| tag.starts_with(opening))
}
