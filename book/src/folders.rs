//! Where the sources of the book and of the project are.

use std::path::{Path, PathBuf};

/// The folder of this book's sources.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The folder of the whole project, from which readers run the commands that pages show.
pub(crate) fn project() -> &'static Path {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    root.parent().unwrap_or(root)
}

/// A message without the folder of this checkout.
pub(crate) fn without_project(message: &str) -> String {
    message.replace(&format!("{}/", project().display()), "")
}
