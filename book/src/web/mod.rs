//! Crates of this workspace as modules of a page: built for wasm, bound to JavaScript, and packed
//! for a server or for a stick.
//!
//! A page loads one classic script, `NAME.js`, which fetches nothing until it is asked:
//!
//! ```js
//! const exports = await window.jigwise.NAME.load((share) => { /* 0 to 1 */ });
//! ```
//!
//! Served, it asks for `NAME.wasm` beside it. On a stick, where a browser blocks that, it adds the
//! script `NAME-bytes.js` to the page, which holds the same bytes as text.

mod bind;
mod pack;
mod toolchain;

use std::fmt;
use std::io;
use std::path::PathBuf;

pub use pack::{Packed, Packing};
pub use toolchain::missing_toolchain;

/// A crate that becomes a module of a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WebCrate {
    /// Its package in the workspace.
    pub package: &'static str,
    /// The profile of Cargo.toml that it is built with.
    pub profile: &'static str,
    /// What its files and its entry in `window.jigwise` are called.
    pub name: &'static str,
}

impl WebCrate {
    /// What makes the pages of the book live.
    pub const LIVE: Self = Self {
        package: "jigwise-live",
        profile: "web-small",
        name: "live",
    };

    /// What reduces the reader's own sweeps.
    pub const SWEEPS: Self = Self {
        package: "jigwise-sweeps",
        profile: "web-small",
        name: "sweeps",
    };

    /// What makes trays and grades forms on the teacher's page.
    pub const DESK: Self = Self {
        package: "jigwise-desk",
        profile: "web-small",
        name: "desk",
    };

    /// The window, as a page.
    pub const SIMULATOR: Self = Self {
        package: "jigwise-sim",
        profile: "web",
        name: "simulator",
    };

    /// Builds, binds and packs the crate.
    ///
    /// # Errors
    /// [`WebError`] with its remedy.
    pub fn packed(self, packing: Packing) -> Result<Packed, WebError> {
        bind::check_lock()?;
        let bound = bind::bound(self, &toolchain::built(self)?)?;
        pack::packed(self, bound, packing)
    }
}

/// Why a crate can't become a module of a page.
#[derive(Debug)]
pub enum WebError {
    /// No compiler here builds for wasm.
    NoToolchain(String),
    /// The script that builds can't be run.
    Script(PathBuf, io::Error),
    /// The crate does not compile; the compiler has said why.
    Compile(&'static str),
    /// Compiled, and the compiler named no module.
    NoModule(&'static str),
    /// What binds a module has another version than the crate that it binds.
    Version {
        /// The version of `wasm-bindgen` in Cargo.lock.
        module: String,
        /// The version of `wasm-bindgen-cli-support` in Cargo.lock.
        binder: String,
    },
    /// Cargo.lock can't be read for those versions.
    Lock(String),
    /// The module can't be bound.
    Bind(&'static str, String),
    /// A crate in the module brings JavaScript of its own.
    OwnScripts(&'static str),
    /// The module can't be packed.
    Pack(io::Error),
}

impl std::error::Error for WebError {}

impl fmt::Display for WebError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoToolchain(remedy) => f.write_str(remedy),
            Self::Script(path, error) => write!(
                f,
                "{} can't be run ({error}); it needs bash, and its mark as an executable file",
                path.display()
            ),
            Self::Compile(package) => write!(
                f,
                "{package} does not compile for the web; see above, and try \
                 .ci/web check -p {package}"
            ),
            Self::NoModule(package) => write!(
                f,
                "{package} was compiled and gave no module; it needs a binary, or a library with \
                 crate-type \"cdylib\""
            ),
            Self::Version { module, binder } => write!(
                f,
                "Cargo.lock has wasm-bindgen {module} and wasm-bindgen-cli-support {binder}, which \
                 have to be the same: name one version for both in Cargo.toml and run cargo update \
                 -p wasm-bindgen -p wasm-bindgen-cli-support"
            ),
            Self::Lock(message) => write!(
                f,
                "Cargo.lock {message}; have it written again with cargo metadata"
            ),
            Self::Bind(package, message) => write!(
                f,
                "{package} can't be bound to JavaScript: {message}. Its profile has to keep the \
                 module whole: strip = false in Cargo.toml"
            ),
            Self::OwnScripts(package) => write!(
                f,
                "a crate in {package} brings JavaScript of its own, which a classic script can't \
                 load; do without that crate, or turn off the feature that needs it"
            ),
            Self::Pack(error) => write!(f, "a module can't be packed: {error}"),
        }
    }
}
