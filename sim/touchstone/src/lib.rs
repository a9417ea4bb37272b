//! The open file standard for S-parameter sweeps, Touchstone, read and written: versions 1, 1.1,
//! 2.0 and 2.1, any number of ports up to [`MOST_PORTS`], parameters S, Y, Z, H, G in three
//! number formats, one reference for each port, noise data, comments.
//!
//! ```
//! let text = "! a coil\n# MHz S RI R 50\n7.1 0.6 -0.8 ! first\n14.2 0.7 -0.7\n";
//! let sweep = jigwise_touchstone::read_text(text.as_bytes(), "coil.s1p")?;
//! assert_eq!(sweep.frequency_hz(), [7.1e6, 14.2e6]);
//! assert_eq!(sweep.s(0, 1, 1).im, -0.8);
//! assert_eq!(sweep.comments(), ["a coil"]);
//! # Ok::<(), jigwise_touchstone::TouchstoneError>(())
//! ```
//!
//! [`read_file`], [`read_text`] and [`read_from`] give a whole [`Sweep`]; [`Records`] gives one
//! record after the other in memory that does not grow with the file. [`write_text`] and
//! [`write_to`] write one; real and imaginary parts come back to the last bit. Where the text goes
//! is the caller's: [`check_name`] tells whether a file's name fits what is in it.
//!
//! Sources: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum, 2002), 2.0 (IBIS Open
//! Forum, 24 April 2009), and the changes of 2.1 (TSIRD 4.1 and 5.1).
//!
//! # What becomes of a file
//!
//! * Y, Z, H and G become S at the file's references: normalised values in version 1, ohms and
//!   siemens in version 2. Version 1 with different references *and* one of these is refused,
//!   because the standard does not say what they would be normalised to.
//! * Different references stay with their ports: [`Sweep::references_ohm`]. Then
//!   [`Sweep::reference_ohm`] is NaN, so that nothing goes wrong in silence, and
//!   [`Sweep::renormalised`] brings all ports to one.
//! * Mixed-mode S is handed on as it stands, with [`Sweep::modes`] saying what each row is;
//!   mixed-mode Y and Z are refused.
//! * A file without an option line is refused: with the standard's defaults, GHz and magnitudes,
//!   most such files would be misread.
//! * What is odd but clear is read and told as a [`Remark`]: a second option line, rows laid out
//!   otherwise, no \[End\], text after it, a name that contradicts \[Number of Ports\], a
//!   one-port file headed S22.
//! * |S| above one and columns of zeros are data; see [`Sweep::is_one_direction`].
//! * A version 1 name that is no `.sNp` is allowed: the first record's shape tells N.
//!
//! # Why an own reader
//!
//! The registry's other general reader of such files, `touchstone` 0.17 (MIT), was run on the
//! 27 hard cases of the tests (`tests/tests/touchstone/touchstone_hard_cases.rs`). It passed 1, 2,
//! 3, 4, 6, 7, 9, 15, 18, 22, 23, 24, 25 and 26. What went wrong can't be mended by a wrapper, as it is
//! not told to the caller:
//!
//! | case | what it did |
//! | --- | --- |
//! | 5 no option line | read with defaults, in silence |
//! | 8 CR, byte-order mark, Latin-1 | CR alone: no points and a reference of 0.5 Ω, in silence; the other two refused |
//! | 10 noise at the last frequency | refused |
//! | 11 Y, Z, H, G | handed on as if they were S, in silence |
//! | 12 −∞ dB, negative magnitude | both taken |
//! | 13 frequencies that fall or repeat | taken |
//! | 14 one-port data named .s2p | three records read as one of two ports |
//! | 16 NaN, inf, 1e999 | taken as S-parameters |
//! | 17 version 2 | an unknown keyword in the place of \[End\] taken; .ts refused |
//! | 19 half matrices | refused |
//! | 20 \[Reference\] over two lines | refused |
//! | 21 `R 50 75` | read as 75 Ω at both ports, in silence |
//! | 27 THz | read as GHz, in silence |

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod cells;
mod draft;
mod error;
mod file_name;
pub mod files;
mod header;
mod keyword;
mod lines;
mod matrix;
mod number;
mod option_line;
mod parameter;
mod problem;
mod read;
mod read_header;
mod records;
mod remark;
mod state;
mod sweep;
mod sweep_error;
mod text;
mod write;
mod write_error;

pub use error::TouchstoneError;
pub use num_complex::Complex64;
pub use option_line::{Format, Parameter, Unit, Version};
pub use problem::Problem;
pub use read::{read_file, read_from, read_text};
pub use records::{Entry, Records};
pub use remark::Remark;
pub use sweep::{Mode, NoisePoint, Sweep};
pub use sweep_error::SweepError;
pub use write::{Options, check_name, write_text, write_to};
pub use write_error::WriteError;

/// The most ports a file may have: a matrix of this size takes 4 MB.
pub const MOST_PORTS: usize = 512;
