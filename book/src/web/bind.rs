//! Binding a module to JavaScript, with the library behind `wasm-bindgen`'s own command, so that
//! no tool has to be installed beside the compiler.

use std::path::Path;

use wasm_bindgen_cli_support::Bindgen;

use super::{WebCrate, WebError};
use crate::folders::project;

const MODULE: &str = "wasm-bindgen";
const BINDER: &str = "wasm-bindgen-cli-support";

/// A module with its script.
pub(super) struct Bound {
    /// A script that declares one variable, named as [`global`].
    pub(super) glue: String,
    pub(super) wasm: Vec<u8>,
}

/// The variable that the script of a module declares.
pub(super) fn global(of: WebCrate) -> String {
    format!("jigwise_{}", of.name)
}

/// Refuses a lock in which the module and what binds it differ.
pub(super) fn check_lock() -> Result<(), WebError> {
    let path = project().join("Cargo.lock");
    let lock = std::fs::read_to_string(path)
        .map_err(|error| WebError::Lock(format!("can't be read ({error})")))?;
    same_version(&lock)
}

fn same_version(lock: &str) -> Result<(), WebError> {
    let (module, binder) = (version(lock, MODULE)?, version(lock, BINDER)?);
    if module == binder {
        Ok(())
    } else {
        Err(WebError::Version { module, binder })
    }
}

fn version(lock: &str, package: &str) -> Result<String, WebError> {
    let lock: toml::Table = lock
        .parse()
        .map_err(|error: toml::de::Error| WebError::Lock(format!("is not TOML ({error})")))?;
    let packages = lock.get("package").and_then(toml::Value::as_array);
    packages
        .into_iter()
        .flatten()
        .find(|entry| entry.get("name").and_then(toml::Value::as_str) == Some(package))
        .and_then(|entry| entry.get("version")?.as_str())
        .map(str::to_owned)
        .ok_or_else(|| WebError::Lock(format!("does not name {package}")))
}

/// The module that the compiler left at `wasm`, without the names that only a debugger reads.
pub(super) fn bound(of: WebCrate, wasm: &Path) -> Result<Bound, WebError> {
    let refused = |error: &dyn std::fmt::Display| WebError::Bind(of.package, error.to_string());
    let mut binder = Bindgen::new();
    binder
        .input_path(wasm)
        .out_name(of.name)
        .typescript(false)
        .omit_default_module_path(true)
        .remove_name_section(true)
        .remove_producers_section(true);
    let mut output = binder
        .no_modules(true)
        .and_then(|binder| binder.no_modules_global(&global(of)))
        .and_then(|binder| binder.generate_output())
        .map_err(|error| refused(&format!("{error:#}")))?;
    let own_scripts = output.snippets().values().flatten().count() + output.local_modules().len();
    if own_scripts > 0 {
        return Err(WebError::OwnScripts(of.package));
    }
    Ok(Bound {
        glue: output.js().to_owned(),
        wasm: output.wasm_mut().emit_wasm(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lock(module: &str, binder: &str) -> String {
        format!(
            "version = 4\n[[package]]\nname = \"{MODULE}\"\nversion = \"{module}\"\n\
             [[package]]\nname = \"{BINDER}\"\nversion = \"{binder}\"\n"
        )
    }

    #[test]
    fn the_lock_of_this_project_has_one_version() {
        check_lock().unwrap();
    }

    #[test]
    fn two_versions_are_refused_with_a_remedy() {
        same_version(&lock("0.2.130", "0.2.130")).unwrap();
        let error = same_version(&lock("0.2.131", "0.2.130")).unwrap_err();
        let sentence = error.to_string();
        for part in ["0.2.131", "0.2.130", "cargo update"] {
            assert!(sentence.contains(part), "{sentence}");
        }
        for lock in ["", "not toml", "[[package]]\nname = \"other\"\n"] {
            let error = same_version(lock).unwrap_err();
            assert!(matches!(error, WebError::Lock(_)), "{error}");
        }
    }
}
