//! Compiling for wasm, by whichever toolchain `.ci/web` finds.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use super::{WebCrate, WebError};
use crate::folders::project;

/// The script that knows the toolchains.
fn script() -> Command {
    let mut script = Command::new(path());
    script.current_dir(project());
    // Cargo, which started this process, puts its own compiler's libraries first. Another
    // compiler has others.
    script.env_remove("LD_LIBRARY_PATH");
    script
}

fn path() -> PathBuf {
    project().join(".ci/web")
}

/// What is missing for the web and how to get it, or nothing where all is there.
///
/// # Errors
/// [`WebError::Script`] where that can't be found out.
pub fn missing_toolchain() -> Result<Option<String>, WebError> {
    let answer = script()
        .arg("ready")
        .output()
        .map_err(|error| WebError::Script(path(), error))?;
    if answer.status.success() {
        return Ok(None);
    }
    let said = String::from_utf8_lossy(&answer.stderr);
    Ok(Some(said.trim().trim_start_matches("web: ").to_owned()))
}

/// The module of a crate, as the compiler leaves it. What the compiler says goes to the
/// terminal, because it takes minutes.
pub(super) fn built(of: WebCrate) -> Result<PathBuf, WebError> {
    if let Some(remedy) = missing_toolchain()? {
        return Err(WebError::NoToolchain(remedy));
    }
    let compiled = script()
        .args(["build", "--package", of.package, "--profile", of.profile])
        .args(["--message-format", "json-render-diagnostics"])
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| WebError::Script(path(), error))?;
    if !compiled.status.success() {
        return Err(WebError::Compile(of.package));
    }
    module_of(of.package, &String::from_utf8_lossy(&compiled.stdout))
        .ok_or(WebError::NoModule(of.package))
}

/// The module among Cargo's messages, one a line.
fn module_of(package: &str, messages: &str) -> Option<PathBuf> {
    let of_package = format!("#{package}@");
    messages
        .lines()
        .filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok())
        .filter(|message| {
            let id = message["package_id"].as_str();
            id.is_some_and(|id| id.contains(&of_package))
        })
        .filter_map(|message| {
            let files = message["filenames"].as_array()?.clone();
            let names = files.iter().filter_map(|file| file.as_str());
            names
                .map(PathBuf::from)
                .find(|file| file.extension().is_some_and(|end| end == "wasm"))
        })
        .next_back()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_module_is_the_one_of_the_package() {
        let messages = r#"
{"reason":"compiler-artifact","package_id":"registry+https://x#other@1.0.0","manifest_path":"/x/Cargo.toml","filenames":["/t/other.wasm"]}
{"reason":"compiler-artifact","package_id":"path+file:///p/book/live#jigwise-live@0.1.0","manifest_path":"/p/book/live/Cargo.toml","filenames":["/t/liblive.rlib","/t/jigwise_live.wasm"]}
{"reason":"build-finished","success":true}
"#;
        assert_eq!(
            module_of("jigwise-live", messages),
            Some(PathBuf::from("/t/jigwise_live.wasm"))
        );
        assert_eq!(module_of("jigwise-sim", messages), None);
        assert_eq!(module_of("jigwise-live", "no JSON\n"), None);
    }
}
