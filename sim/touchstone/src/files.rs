//! Files by their paths. In a browser there is no file system: there a file is what its page
//! holds under that name, and what is written is held beside it.

use std::io::{self, Read};
use std::path::Path;

#[cfg(target_arch = "wasm32")]
pub use self::held::{clear, held_files, hold};

/// Opens a file to read it.
///
/// # Errors
/// What the system says; for a page, that it holds no such file.
#[cfg(not(target_arch = "wasm32"))]
pub fn open(path: &Path) -> io::Result<impl Read> {
    std::fs::File::open(path)
}

/// Opens a file that the page holds.
///
/// # Errors
/// That the page holds no such file.
#[cfg(target_arch = "wasm32")]
pub fn open(path: &Path) -> io::Result<impl Read> {
    Ok(io::Cursor::new(held::bytes_of(path)?))
}

/// True for a file that is there.
pub fn is_file(path: &Path) -> bool {
    #[cfg(target_arch = "wasm32")]
    return held::bytes_of(path).is_ok();
    #[cfg(not(target_arch = "wasm32"))]
    path.is_file()
}

/// All bytes of a file.
///
/// # Errors
/// As [`open`].
pub fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open(path)?.read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(target_arch = "wasm32")]
mod held {
    use std::cell::RefCell;
    use std::collections::BTreeMap;
    use std::io;
    use std::path::{Path, PathBuf};

    thread_local! {
        static HELD: RefCell<BTreeMap<PathBuf, Vec<u8>>> = const { RefCell::new(BTreeMap::new()) };
    }

    pub(super) fn bytes_of(path: &Path) -> io::Result<Vec<u8>> {
        let bytes = HELD.with_borrow(|held| held.get(path).cloned());
        bytes.ok_or_else(|| {
            io::Error::new(io::ErrorKind::NotFound, "it is not among the files given")
        })
    }

    /// Holds a file under a name.
    pub fn hold(path: &Path, bytes: Vec<u8>) {
        HELD.with_borrow_mut(|held| held.insert(path.to_owned(), bytes));
    }

    /// Every file that is held, in the order of their names.
    pub fn held_files() -> Vec<(PathBuf, Vec<u8>)> {
        HELD.with_borrow(|held| {
            held.iter()
                .map(|(path, bytes)| (path.clone(), bytes.clone()))
                .collect()
        })
    }

    /// Lets go of every file.
    pub fn clear() {
        HELD.with_borrow_mut(BTreeMap::clear);
    }
}
