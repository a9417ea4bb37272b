//! What is in a folder.

use std::fs;
use std::path::Path;

/// The names in a folder, sorted.
///
/// # Panics
/// Where the folder can't be read.
pub fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
