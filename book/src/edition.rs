//! One book in a folder, with what makes it live: built once, and again when a source changes.

use std::path::{Path, PathBuf};

use crate::benches::SIMULATOR_FOLDER;
use crate::folders::project;
use crate::press::{BuildError, build_edition};
use crate::web::{Packed, Packing, WebCrate, WebError, missing_toolchain};

/// Where the live pages' module is in the built book.
const LIVE_FOLDER: &str = "theme";
/// What the simulator's page is made of, beside its module.
const PAGE_FILES: [&str; 3] = ["index.html", "page.css", "page.js"];

/// What is asked of an edition.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// The folder; relative to where the user stands. `None` for the one that book.toml names.
    pub out: Option<PathBuf>,
    /// The simulator too.
    pub simulator: bool,
    /// A folder that opens without a server.
    pub stick: bool,
    /// Pages as they are printed, without the module that makes them live.
    pub still: bool,
}

/// A book with its modules, ready to be written into its folder.
pub struct Edition {
    root: PathBuf,
    out: Option<PathBuf>,
    /// The modules, each with its folder in the book.
    modules: Vec<(&'static str, Packed)>,
    /// Why the pages are not live, where they are not and nobody asked for that.
    still_because: Option<String>,
}

impl Edition {
    /// Builds the modules that `wanted` asks for. Where no toolchain is there for live pages the
    /// book does without, and [`Edition::still_because`] says why; a simulator and a stick edition
    /// are not the same without it, so there that is an error.
    ///
    /// # Errors
    /// [`WebError`].
    pub fn new(root: &Path, wanted: &Wanted) -> Result<Self, WebError> {
        let packing = match wanted.stick {
            true => Packing::Stick,
            false => Packing::Served,
        };
        let missing = match wanted.still && !wanted.simulator {
            true => None,
            false => missing_toolchain()?,
        };
        let needed = wanted.simulator || (wanted.stick && !wanted.still);
        let mut modules = Vec::new();
        match &missing {
            Some(remedy) if needed => return Err(WebError::NoToolchain(remedy.clone())),
            Some(_) => {}
            None => {
                if !wanted.still {
                    for of in [WebCrate::LIVE, WebCrate::SWEEPS, WebCrate::DESK] {
                        modules.push((LIVE_FOLDER, of.packed(packing)?));
                    }
                }
                if wanted.simulator {
                    modules.push((SIMULATOR_FOLDER, WebCrate::SIMULATOR.packed(packing)?));
                }
            }
        }
        Ok(Self {
            root: root.to_owned(),
            out: wanted.out.clone(),
            modules,
            still_because: missing,
        })
    }

    /// Writes the book and gives its folder.
    ///
    /// # Errors
    /// [`BuildError`].
    pub fn build(&self) -> Result<PathBuf, BuildError> {
        let has_simulator = self
            .modules
            .iter()
            .any(|(inside, _)| *inside == SIMULATOR_FOLDER);
        let folder = build_edition(&self.root, self.out.as_deref(), has_simulator)?;
        for (inside, module) in &self.modules {
            module
                .write(&folder.join(inside))
                .map_err(|error| BuildError::Other(error.into()))?;
        }
        if has_simulator {
            simulator_page(&folder.join(SIMULATOR_FOLDER))
                .map_err(|error| BuildError::Other(error.into()))?;
        }
        Ok(folder)
    }

    /// The folder of its sources.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Why its pages are not live, where nobody asked for still ones.
    pub fn still_because(&self) -> Option<&str> {
        self.still_because.as_deref()
    }

    /// The modules in it.
    pub fn modules(&self) -> impl Iterator<Item = &Packed> {
        self.modules.iter().map(|(_, module)| module)
    }
}

/// Puts the simulator's page beside its module.
fn simulator_page(folder: &Path) -> std::io::Result<()> {
    let from = project().join("sim").join("app").join("page");
    for name in PAGE_FILES {
        std::fs::copy(from.join(name), folder.join(name))?;
    }
    Ok(())
}
