//! From Markdown to a folder of pages.

use std::fmt;
use std::path::{Path, PathBuf};

use mdbook_driver::MDBook;
use mdbook_driver::errors::Error;
use mdbook_markdown::pulldown_cmark::{Event, Tag};

use crate::benches;
use crate::claim::{ClaimError, claim, mark};
use crate::page::{Page, PageError, file_name};
use crate::passes::Pass;

/// Why the book can't be built.
#[derive(Debug)]
pub enum BuildError {
    /// Something wrong on a page.
    Page(PageError),
    /// The folder is not one to build into.
    Folder(ClaimError),
    /// Anything else, in mdBook's words.
    Other(Error),
}

impl std::error::Error for BuildError {}

impl fmt::Display for BuildError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Page(error) => error.fmt(f),
            Self::Folder(error) => error.fmt(f),
            Self::Other(error) => write!(f, "{error:#}"),
        }
    }
}

impl From<Error> for BuildError {
    fn from(error: Error) -> Self {
        match error.downcast::<PageError>() {
            Ok(page) => Self::Page(page),
            Err(other) => Self::Other(other),
        }
    }
}

impl From<PageError> for BuildError {
    fn from(error: PageError) -> Self {
        Self::Page(error)
    }
}

impl From<ClaimError> for BuildError {
    fn from(error: ClaimError) -> Self {
        Self::Folder(error)
    }
}

impl BuildError {
    /// The error of a page, if a page is at fault.
    pub fn page(&self) -> Option<&PageError> {
        match self {
            Self::Page(error) => Some(error),
            Self::Folder(_) | Self::Other(_) => None,
        }
    }
}

/// Builds the book in `root` and gives the folder it is in: `out`, relative to where the user
/// stands, or the one that its book.toml names.
///
/// The folder is emptied first, so `out` is a new one, an empty one, or one that a build made.
///
/// # Errors
/// [`BuildError`] with file and line where a page is at fault.
pub fn build(root: &Path, out: Option<&Path>) -> Result<PathBuf, BuildError> {
    build_edition(root, out, false)
}

/// The same; `with_simulator` where its worked examples lead to a simulator beside them.
pub(crate) fn build_edition(
    root: &Path,
    out: Option<&Path>,
    with_simulator: bool,
) -> Result<PathBuf, BuildError> {
    check_summary(root)?;
    let mut book = MDBook::load(root)?;
    if let Some(out) = out {
        let out = std::path::absolute(out).map_err(|error| BuildError::Other(error.into()))?;
        claim(&out)?;
        book.config.build.build_dir = out;
    }
    for pass in Pass::ALL {
        book.with_preprocessor(pass);
    }
    let built = book.build();
    let folder = book.build_dir_for("html");
    // Whatever became of the build, what is in the folder is a build's.
    if folder.is_dir() {
        mark(&folder)?;
    }
    built?;
    if with_simulator {
        benches::link(&folder).map_err(|error| BuildError::Other(error.into()))?;
    }
    Ok(folder)
}

/// Every page that the summary names exists, and the summary names every page.
fn check_summary(root: &Path) -> Result<(), BuildError> {
    let folder = root.join("text");
    let summary = folder.join("SUMMARY.md");
    let text = std::fs::read_to_string(&summary).map_err(|error| {
        PageError::new(
            file_name(Path::new("SUMMARY.md")),
            1,
            format!("can't be read ({error}); every book has one"),
        )
    })?;
    let page = Page::new(file_name(Path::new("SUMMARY.md")), &text);
    let mut named = Vec::new();
    for (event, range) in page.events() {
        let Event::Start(Tag::Link { dest_url, .. }) = event else {
            continue;
        };
        let path = folder.join(&*dest_url);
        if !path.is_file() {
            let message = format!("there is no page {dest_url}; write it or take the line out");
            return Err(page.error(range.start, message).into());
        }
        named.push(path);
    }
    for path in pages_below(&folder)? {
        if path != summary && !named.contains(&path) {
            let inside = path.strip_prefix(&folder).unwrap_or(&path);
            let message = "this page is in no line of SUMMARY.md, so nobody would find it; add it";
            return Err(PageError::new(file_name(inside), 1, message).into());
        }
    }
    Ok(())
}

fn pages_below(folder: &Path) -> Result<Vec<PathBuf>, BuildError> {
    let mut pages = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries =
            std::fs::read_dir(&folder).map_err(|error| BuildError::Other(error.into()))?;
        for entry in entries {
            let path = entry
                .map_err(|error| BuildError::Other(error.into()))?
                .path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "md") {
                pages.push(path);
            }
        }
    }
    pages.sort();
    Ok(pages)
}
