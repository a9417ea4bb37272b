//! Tables of our own TOML files, read with places, so that every refusal names its line.

pub use crate::scenario::calibration::{OFFSET_KEYS, load_of, offset_line, open_of, short_of};
pub use crate::scenario::error::{Place, text_of};
pub use crate::scenario::keyed::{Keyed, RawTable};
