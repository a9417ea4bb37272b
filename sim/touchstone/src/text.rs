//! The words of a line, their columns, and text for messages.

pub(crate) fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | 0x0b | 0x0c)
}

/// A word of a line with the byte it begins at, from 0.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Word<'a> {
    pub bytes: &'a [u8],
    pub at: usize,
}

impl Word<'_> {
    /// As text for a message; letters outside ASCII are shown as far as they can be.
    pub fn text(&self) -> String {
        shown(self.bytes)
    }
}

/// The part of a line before its comment.
pub(crate) fn before_comment(line: &[u8]) -> &[u8] {
    match memchr::memchr(b'!', line) {
        Some(at) => &line[..at],
        None => line,
    }
}

/// The words of what stands before the comment.
pub(crate) fn words(line: &[u8]) -> impl Iterator<Item = Word<'_>> + Clone {
    let line = before_comment(line);
    let mut at = 0;
    std::iter::from_fn(move || {
        while line.get(at).copied().is_some_and(is_blank) {
            at += 1;
        }
        let start = at;
        while line.get(at).is_some_and(|byte| !is_blank(*byte)) {
            at += 1;
        }
        (start < at).then(|| Word {
            bytes: &line[start..at],
            at: start,
        })
    })
}

/// The column, from 1 and in characters, of the byte at `at`.
pub(crate) fn column(line: &[u8], at: usize) -> usize {
    String::from_utf8_lossy(&line[..at.min(line.len())])
        .chars()
        .count()
        + 1
}

/// Text of unknown encoding: UTF-8, else Latin-1, cut where it would fill a screen.
pub(crate) fn shown(bytes: &[u8]) -> String {
    const LONGEST_SHOWN: usize = 60;
    let text = decoded(bytes);
    match text.char_indices().nth(LONGEST_SHOWN) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text,
    }
}

/// UTF-8, else Latin-1, in which old exporters write their comments.
pub(crate) fn decoded(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    }
}
