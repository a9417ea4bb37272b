//! A number with its unit: how people type it, how it is read, how it is shown.
//!
//! [`parse_value`] reads text whose unit follows from its place, [`parse_quantity`] text of any
//! unit. [`engineering`] and its neighbours show numbers, and what they show is read back.
//!
//! ```
//! use jigwise_quantity::{Unit, engineering, parse_value};
//!
//! let ohm = parse_value("4k7", Unit::Ohm)?;
//! assert_eq!(engineering(ohm, "Ω", 3), "4.70\u{202f}kΩ");
//! # Ok::<(), jigwise_quantity::ValueError>(())
//! ```

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod bounded;
mod complex;
mod error;
mod excerpt;
mod number;
mod parse;
mod prefix;
mod ratio;
mod show;
mod unit;

pub use bounded::{
    above_zero, above_zero_with_unit, between, check_unit_written, parse_count, parse_list,
    zero_or_more,
};
pub use complex::{complex_ohm, plain_complex};
pub use error::{Expected, ValueError};
pub use excerpt::{MAX_QUOTED, excerpt};
pub use num_complex::Complex64;
pub use number::plain_characters;
pub use parse::{Quantity, parse_one_of, parse_quantity, parse_share, parse_value};
pub use ratio::{significant, unsigned_percent};
pub use show::{
    angle, as_known, engineering, fixed, grouped, percent, plus_minus, range, rounded, with_spread,
    without_zeros,
};
pub use unit::Unit;
