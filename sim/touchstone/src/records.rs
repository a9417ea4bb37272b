use std::io::BufRead;

use num_complex::Complex64;

use crate::error::TouchstoneError;
use crate::lines::Lines;
use crate::read_header::read_header;
use crate::state::{Found, Stage, State};
use crate::{Format, Mode, NoisePoint, Parameter, Remark, Version};

/// A file record by record, in memory that does not grow with its length: one line, one
/// matrix and the leading comments.
///
/// ```
/// use jigwise_touchstone::{Entry, Records};
///
/// let file = "# MHz S RI R 50\n7.1 0.6 -0.8\n14.2 0.7 -0.7\n".as_bytes();
/// let mut records = Records::new(file, "coil.s1p")?;
/// let mut largest: f64 = 0.0;
/// while let Some(entry) = records.next_entry()? {
///     if let Entry::Point { s, .. } = entry {
///         largest = largest.max(s[0].norm());
///     }
/// }
/// assert_eq!(largest, 1.0);
/// # Ok::<(), jigwise_touchstone::TouchstoneError>(())
/// ```
pub struct Records<R> {
    lines: Lines<R>,
    state: State,
}

/// One record of a file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Entry<'a> {
    /// A frequency of the sweep.
    Point {
        /// Hz.
        freq_hz: f64,
        /// Row-major, S11 S12 … S21 S22 ….
        s: &'a [Complex64],
    },
    /// A frequency of the noise data.
    Noise(NoisePoint),
}

impl<R: BufRead> Records<R> {
    /// Reads what stands above the data. The extension of `name` (.s1p, .s2p, …) tells the
    /// number of ports of a version 1 file; with any other name the first record's shape does.
    ///
    /// # Errors
    /// [`TouchstoneError`] with file, line and column.
    pub fn new(source: R, name: &str) -> Result<Self, TouchstoneError> {
        let mut lines = Lines::new(source);
        let header = read_header(&mut lines, name)?;
        Ok(Self {
            lines,
            state: State::new(header, name),
        })
    }

    /// The next record; `None` after the last. After an error there is nothing more.
    ///
    /// # Errors
    /// [`TouchstoneError`] with file, line and column.
    pub fn next_entry(&mut self) -> Result<Option<Entry<'_>>, TouchstoneError> {
        let found = self.state.advance(&mut self.lines);
        if found.is_err() {
            self.state.stage = Stage::Over;
        }
        Ok(match found? {
            Found::Nothing => None,
            Found::Point => Some(Entry::Point {
                freq_hz: self.state.freq_hz,
                s: &self.state.cells,
            }),
            Found::Noise(point) => Some(Entry::Noise(point)),
        })
    }

    /// The file's version.
    pub fn version(&self) -> Version {
        self.state.header.version
    }

    /// What the file's numbers are; entries hold S whatever this says.
    pub fn parameter(&self) -> Parameter {
        self.state.header.parameter
    }

    /// How the file writes a complex number.
    pub fn format(&self) -> Format {
        self.state.header.format
    }

    /// Number of ports.
    pub fn ports(&self) -> usize {
        self.state.header.ports
    }

    /// The reference impedance of each port, Ω.
    pub fn references_ohm(&self) -> &[f64] {
        &self.state.header.references_ohm
    }

    /// What rows and columns stand for in a mixed-mode file; empty in any other.
    pub fn modes(&self) -> &[Mode] {
        &self.state.header.modes
    }

    /// The comments above the first record.
    pub fn comments(&self) -> &[String] {
        &self.state.header.comments
    }

    /// What was odd about the file so far.
    pub fn remarks(&self) -> &[Remark] {
        &self.state.header.remarks
    }

    /// Records announced by a version 2 file.
    pub(crate) fn announced(&self) -> Option<usize> {
        self.state.header.frequencies
    }
}
