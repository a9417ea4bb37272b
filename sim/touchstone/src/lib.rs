//! The open file standard for S-parameter sweeps, Touchstone.
mod error;
mod header;
mod keyword;
mod lines;
mod matrix;
mod number;
mod option_line;
mod parameter;
mod read;
mod records;
mod remark;
mod sweep;
mod write;
mod write_file;

pub use error::{Problem, TouchstoneError};
pub use num_complex::Complex64;
pub use option_line::{Format, Parameter, Unit, Version};
pub use read::{read_file, read_from, read_text};
pub use records::{Entry, Records};
pub use remark::Remark;
pub use sweep::{Mode, NoisePoint, Sweep, SweepError};
pub use write::{Options, WriteError, write_text, write_to};
pub use write_file::{write_file, write_whole};

/// The most ports a file may have: a matrix of this size takes 4 MB.
pub const MOST_PORTS: usize = 512;
