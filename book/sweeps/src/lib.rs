//! Own sweeps on a page of the book: the command `jig` itself, over files that the page holds.
//!
//! A worker of the page holds the reader's files under their names, runs `jig reduce` on them, and
//! takes out what `--out` wrote. So a page gives what the command gives, and nothing leaves the
//! browser. Only a browser's build has anything in it.

#[cfg(target_arch = "wasm32")]
mod web;
