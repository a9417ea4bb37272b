//! A number with its unit: how people type it, how it is read, how it is shown.

mod parse;
mod ratio;
mod show;

pub use parse::{Quantity, Unit, ValueError, parse_quantity, parse_value, plain_characters};
pub use ratio::{significant, unsigned_percent};
pub use show::{complex_ohm, engineering, fixed, grouped, percent, plain_complex, with_spread};
