//! Zip archives in memory: trays to hand out, and forms as a school's server packs them.
//!
//! The format is PKWARE's APPNOTE 6.3; the entries are those of the library `rawzip`. What is
//! written is not made smaller, because a tray is small. It is written as stored blocks of DEFLATE
//! (RFC 1951 §3.2.4) all the same: programs that unpack while they read refuse an entry without a
//! method whose length comes after it.
//!
//! ```
//! use jigwise_exercises::archive::{entries, zipped};
//!
//! let zip = zipped([("group-01/answers.toml", b"version = 1".as_slice())], None)?;
//! let found = entries(&zip)?;
//! assert_eq!(found[0].path, "group-01/answers.toml");
//! assert_eq!(found[0].size, 11);
//! # Ok::<(), jigwise_exercises::archive::ArchiveError>(())
//! ```

use std::fmt;
use std::io::Write;
use std::ops::Range;

use rawzip::time::UtcDateTime;
use rawzip::{CompressionMethod, ZipArchive, ZipArchiveWriter};

/// The most files that an archive is looked through for.
pub const MOST_ENTRIES: usize = 100_000;

/// Why an archive can't be read or written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ArchiveError(String);

impl std::error::Error for ArchiveError {}

impl fmt::Display for ArchiveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl From<rawzip::Error> for ArchiveError {
    fn from(error: rawzip::Error) -> Self {
        Self(format!(
            "this is no whole zip archive ({error}); download or copy it again, or unpack it and \
             take the folder"
        ))
    }
}

/// A file in an archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its path, with `/` between its parts.
    pub path: String,
    /// Its size when it is unpacked, as the archive claims.
    pub size: u64,
    /// True where its bytes are packed by DEFLATE, false where they stand as they are.
    pub is_deflated: bool,
    /// Where its bytes are in the archive.
    pub bytes: Range<usize>,
}

/// The files of an archive, without its folders. What is packed in a way that browsers don't know,
/// or locked by a password, is not among them.
///
/// # Errors
/// [`ArchiveError`] for bytes that are no archive.
pub fn entries(zip: &[u8]) -> Result<Vec<Entry>, ArchiveError> {
    let archive = ZipArchive::from_slice(zip)?;
    let mut found = Vec::new();
    let mut records = archive.entries();
    while let Some(record) = records.next_entry()? {
        let is_deflated = record.compression_method() == CompressionMethod::DEFLATE;
        let is_stored = record.compression_method() == CompressionMethod::STORE;
        if record.is_dir() || record.flags().is_encrypted() || !(is_deflated || is_stored) {
            continue;
        }
        if found.len() == MOST_ENTRIES {
            return Err(ArchiveError(format!(
                "this archive has more than {MOST_ENTRIES} files; take the folder with the forms alone"
            )));
        }
        let (start, end) = archive
            .get_entry(record.wayfinder())?
            .compressed_data_range();
        // Both lie in a slice, so they fit.
        found.push(Entry {
            path: String::from_utf8_lossy(record.file_path().as_ref()).replace('\\', "/"),
            size: record.uncompressed_size_hint(),
            is_deflated,
            bytes: start as usize..end as usize,
        });
    }
    Ok(found)
}

/// An archive of files, each a path and its bytes. `changed_unix` is the time that all of them are
/// said to be of, in seconds since 1970.
///
/// # Errors
/// [`ArchiveError`] for a path that an archive can't hold.
pub fn zipped<'a>(
    files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
    changed_unix: Option<i64>,
) -> Result<Vec<u8>, ArchiveError> {
    let unwritten = |error: &dyn fmt::Display| ArchiveError(format!("no archive is made: {error}"));
    let mut archive = ZipArchiveWriter::new(Vec::new());
    for (path, bytes) in files {
        let mut file = archive
            .new_file(path)
            .compression_method(CompressionMethod::DEFLATE);
        if let Some(seconds) = changed_unix {
            file = file.last_modified(UtcDateTime::from_unix(seconds));
        }
        let (mut entry, config) = file.start().map_err(|error| unwritten(&error))?;
        let mut writer = config.wrap(StoredBlocks(&mut entry));
        writer.write_all(bytes).map_err(|error| unwritten(&error))?;
        let (blocks, descriptor) = writer.finish().map_err(|error| unwritten(&error))?;
        blocks.finish().map_err(|error| unwritten(&error))?;
        entry
            .finish(descriptor)
            .map_err(|error| unwritten(&error))?;
    }
    archive.finish().map_err(|error| unwritten(&error))
}

/// Writes bytes as stored blocks of DEFLATE: a byte that says whether the block is the last, the
/// length of two bytes and its complement, and the bytes.
struct StoredBlocks<W>(W);

impl<W: Write> StoredBlocks<W> {
    fn block(&mut self, bytes: &[u8], is_last: bool) -> std::io::Result<()> {
        // The callers cut at the largest length.
        let length = bytes.len() as u16;
        self.0.write_all(&[u8::from(is_last)])?;
        self.0.write_all(&length.to_le_bytes())?;
        self.0.write_all(&(!length).to_le_bytes())?;
        self.0.write_all(bytes)
    }

    fn finish(mut self) -> std::io::Result<()> {
        self.block(&[], true)
    }
}

impl<W: Write> Write for StoredBlocks<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        for block in bytes.chunks(usize::from(u16::MAX)) {
            self.block(block, false)?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.0.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_archive_says_what_to_do() {
        let zip = zipped([("a.toml", b"one".as_slice()), ("b/c.txt", b"")], None).unwrap();
        assert_eq!(entries(&zip).unwrap().len(), 2);
        for bytes in [&zip[..zip.len() - 30], b"PK", b"", &zip[40..]] {
            let error = entries(bytes).unwrap_err().to_string();
            assert!(error.contains("copy it again"), "{error}");
        }
    }
}
