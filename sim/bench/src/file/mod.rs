//! The reader of our own TOML files: scenarios, instruments and calibrations.
//!
//! [`RawTable::parse`] takes the text apart, and [`Keyed`] gives the values behind its keys.
//! Every refusal is worded here and names file, line, key and value; the TOML library is quoted
//! only where the text is no TOML.
//!
//! ```
//! use jigwise_bench::Unit;
//! use jigwise_bench::file::{Keyed, Place, RawTable};
//!
//! let place = Place { file: "cable.toml", text: "version = 1\nlenght = \"3 m\"\n" };
//! let raw = RawTable::parse(&place)?;
//! let keys = ["version", "length"];
//! let error = Keyed::document(&place, &raw, "a cable file", Some(&keys)).err().unwrap();
//! assert_eq!(
//!     error.to_string(),
//!     "cable.toml, line 2: \"lenght\" is no key of a cable file; did you mean \"length\"?"
//! );
//! # Ok::<(), jigwise_bench::ScenarioError>(())
//! ```

mod error;
mod hint;
mod keyed;
mod raw;
mod single;

pub use self::error::{Place, ScenarioError, text_of};
pub use self::hint::{expected_one_of, hint};
pub use self::keyed::{Keyed, Words};
pub use self::raw::RawTable;
pub use crate::scenario::calibration::{OFFSET_KEYS, offset_line, standard_keys, standard_of};
