use std::io::{BufRead, ErrorKind};

use crate::problem::Problem;

/// Longest line kept, bytes. A full 100-port matrix on one line of version 2 fits.
pub(crate) const LONGEST_LINE: usize = 1 << 20;

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// A line without its end, counted from 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line<'a> {
    pub number: usize,
    pub bytes: &'a [u8],
}

/// Takes a source apart at CR, LF and CRLF without holding more than one line of it.
///
/// A line that lies whole in the source's buffer is lent from there, not copied.
pub(crate) struct Lines<R> {
    source: R,
    number: usize,
    /// What the line last lent occupies of the source's buffer.
    used: usize,
    /// The last line ended in CR, so an LF at once after it belongs to that end.
    after_cr: bool,
    /// A line that crosses the source's buffers.
    spill: Vec<u8>,
    /// Lines read ahead, to be given again.
    held: Vec<u8>,
    held_ends: Vec<(usize, usize)>,
    held_given: usize,
}

impl<R: BufRead> Lines<R> {
    pub fn new(source: R) -> Self {
        Self {
            source,
            number: 0,
            used: 0,
            after_cr: false,
            spill: Vec::new(),
            held: Vec::new(),
            held_ends: Vec::new(),
            held_given: 0,
        }
    }

    /// The next line; `None` at the end of the source.
    pub fn next(&mut self) -> Result<Option<Line<'_>>, Problem> {
        if self.held_given < self.held_ends.len() {
            let index = self.held_given;
            self.held_given += 1;
            let (number, end) = self.held_ends[index];
            let start = index.checked_sub(1).map_or(0, |i| self.held_ends[i].1);
            let bytes = &self.held[start..end];
            return Ok(Some(Line { number, bytes }));
        }
        self.fresh()
    }

    /// Reads a line ahead and keeps it, so that [`Self::next`] gives it after those already
    /// kept.
    pub fn hold(&mut self) -> Result<Option<Line<'_>>, Problem> {
        let mut held = std::mem::take(&mut self.held);
        let mut ends = std::mem::take(&mut self.held_ends);
        let line = self.fresh()?;
        let Some(line) = line else {
            self.held = held;
            self.held_ends = ends;
            return Ok(None);
        };
        let start = held.len();
        held.extend_from_slice(line.bytes);
        ends.push((line.number, held.len()));
        self.held = held;
        self.held_ends = ends;
        Ok(Some(Line {
            number: self.number,
            bytes: &self.held[start..],
        }))
    }

    /// Bytes of the lines read ahead.
    pub fn held_len(&self) -> usize {
        self.held.len()
    }

    /// Puts the line just given by [`Self::next`] back, to be given again.
    pub fn put_back(&mut self, number: usize, bytes: &[u8]) {
        self.held.clear();
        self.held.extend_from_slice(bytes);
        self.held_ends.clear();
        self.held_ends.push((number, bytes.len()));
        self.held_given = 0;
    }

    fn fresh(&mut self) -> Result<Option<Line<'_>>, Problem> {
        self.source.consume(std::mem::take(&mut self.used));
        self.spill.clear();
        loop {
            let buffer = fill(&mut self.source)?;
            if buffer.is_empty() {
                break;
            }
            let skipped = usize::from(std::mem::take(&mut self.after_cr) && buffer[0] == b'\n');
            let rest = &buffer[skipped..];
            let Some(length) = memchr::memchr2(b'\n', b'\r', rest) else {
                let room = (LONGEST_LINE + 1).saturating_sub(self.spill.len());
                self.spill.extend_from_slice(&rest[..rest.len().min(room)]);
                let all = buffer.len();
                self.source.consume(all);
                continue;
            };
            self.after_cr = rest[length] == b'\r';
            self.number += 1;
            if !self.spill.is_empty() {
                let room = (LONGEST_LINE + 1).saturating_sub(self.spill.len());
                self.spill.extend_from_slice(&rest[..length.min(room)]);
                self.used = skipped + length + 1;
                let spill = std::mem::take(&mut self.spill);
                self.spill = checked(spill)?;
                return Ok(Some(self.line_of_spill()));
            }
            self.used = skipped + length + 1;
            // Asked for again because a loan across iterations can't be returned; it is the
            // same buffer.
            let buffer = fill(&mut self.source)?;
            let bytes = without_mark(self.number, &buffer[skipped..skipped + length]);
            if bytes.len() > LONGEST_LINE && !is_comment(bytes) {
                return Err(Problem::LongLine {
                    bytes: LONGEST_LINE,
                });
            }
            return Ok(Some(Line {
                number: self.number,
                bytes,
            }));
        }
        if self.spill.is_empty() {
            return Ok(None);
        }
        self.number += 1;
        let spill = std::mem::take(&mut self.spill);
        self.spill = checked(spill)?;
        Ok(Some(self.line_of_spill()))
    }

    fn line_of_spill(&self) -> Line<'_> {
        Line {
            number: self.number,
            bytes: without_mark(self.number, &self.spill),
        }
    }
}

fn fill<R: BufRead>(source: &mut R) -> Result<&[u8], Problem> {
    loop {
        match source.fill_buf() {
            Ok(_) => break,
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            Err(error) => {
                return Err(Problem::Unreadable {
                    reason: error.to_string(),
                });
            }
        }
    }
    source.fill_buf().map_err(|error| Problem::Unreadable {
        reason: error.to_string(),
    })
}

fn checked(line: Vec<u8>) -> Result<Vec<u8>, Problem> {
    if line.len() > LONGEST_LINE && !is_comment(&line) {
        return Err(Problem::LongLine {
            bytes: LONGEST_LINE,
        });
    }
    Ok(line)
}

fn is_comment(line: &[u8]) -> bool {
    line.trim_ascii_start().starts_with(b"!")
}

fn without_mark(number: usize, line: &[u8]) -> &[u8] {
    if number == 1 {
        line.strip_prefix(BYTE_ORDER_MARK).unwrap_or(line)
    } else {
        line
    }
}
