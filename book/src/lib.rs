//! Builds the book, so that no number in it can drift from the code.
//!
//! The chapters are Markdown in `text`. Passes over them compute what they show: numbers in
//! running text, formulas as MathML, worked examples with figures, tables, tasks, and the
//! output of shell lines. A wrong scenario, formula, key or link stops the build and names
//! file and line. `cargo book build` runs the passes in this process; book.toml registers the
//! same passes as commands, so stock mdBook builds the same book.
//!
//! ```
//! use jigwise_book::{BuildError, build, root};
//!
//! let out = std::env::temp_dir().join("jigwise-book-example");
//! let folder = build(&root(), Some(&out))?;
//! assert!(folder.join("index.html").is_file());
//! std::fs::remove_dir_all(out).unwrap();
//! # Ok::<(), BuildError>(())
//! ```

mod blocks;
pub mod command;
mod formulas;
mod links;
mod minutes;
mod offline;
mod page;
mod passes;
mod press;
mod serve;
mod values;

pub use offline::{NetworkReference, network_references};
pub use page::PageError;
pub use passes::Pass;
pub use press::{BuildError, build, root};
