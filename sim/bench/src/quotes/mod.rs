//! Numbers quoted from a scenario, so that no text holds one that was typed by hand.
//!
//! ```
//! use jigwise_bench::quotes::Quote;
//! use jigwise_bench::Scenario;
//!
//! let scenario = Scenario::from_toml(
//!     "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"4.7k\"\n",
//!     "part.toml",
//! )?;
//! let level: Quote = "series-through.level 2".parse()?;
//! assert_eq!(level.of(&scenario)?, "−33.62\u{202f}dB");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod around;
mod error;
mod keys;
mod part;
mod quote;
mod seen;
mod shown;

pub use around::load_ohm;
pub use error::QuoteError;
pub use keys::keys;
pub use part::seems_larger_at;
pub use quote::{Quote, fill};
pub use shown::Shown;
