//! Sets of files that a page holds: whole or not at all. A page has no folders; a file's path is
//! its name.

use std::cell::RefCell;
use std::ffi::OsStr;
use std::io;
use std::path::{Path, PathBuf};

use jigwise_touchstone::files::hold;

/// What happens where a name of the set is taken. A page holds what was written last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// Nothing is written.
    Refuse,
    /// The new one takes the place of the old one.
    Replace,
}

/// A file on its way into what the page holds.
pub type WholeFile<'a> = &'a mut Vec<u8>;

/// A set as it grows.
#[derive(Debug)]
pub struct Staged {
    beside: PathBuf,
    files: RefCell<Vec<(PathBuf, Vec<u8>)>>,
}

impl Staged {
    /// Begins a set whose files will be at `beside`.
    ///
    /// # Errors
    /// None; the result is the native one.
    pub fn begin(beside: &Path, _name: &OsStr) -> io::Result<Self> {
        Ok(Self {
            beside: beside.to_owned(),
            files: RefCell::default(),
        })
    }

    /// Makes a folder in the set.
    ///
    /// # Errors
    /// None; the result is the native one.
    pub fn make_folder(&self, _name: impl AsRef<Path>) -> io::Result<()> {
        Ok(())
    }

    /// Writes a file of the set.
    ///
    /// # Errors
    /// What `write` returns.
    pub fn write<E: From<io::Error>>(
        &self,
        name: impl AsRef<Path>,
        write: impl FnOnce(&mut WholeFile<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut bytes = Vec::new();
        write(&mut &mut bytes)?;
        let path = self.beside.join(name);
        self.files.borrow_mut().push((path, bytes));
        Ok(())
    }

    /// Lets the page hold them all.
    ///
    /// # Errors
    /// None; the result is the native one.
    pub fn publish(self, _taken: Taken) -> io::Result<()> {
        for (path, bytes) in self.files.into_inner() {
            hold(path.strip_prefix(".").unwrap_or(&path), bytes);
        }
        Ok(())
    }
}

/// Makes a folder, and those that it is in.
///
/// # Errors
/// None; the result is the native one.
pub fn make_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}
