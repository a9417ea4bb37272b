//! The workspace as cargo sees it.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

/// A crate of the workspace.
#[derive(Debug)]
pub struct Package {
    /// Its name.
    pub name: String,
    /// The names of its test binaries.
    pub tests: Vec<String>,
    /// The crates of the workspace that its manifest names, for any platform and feature;
    /// dev-dependencies left out.
    pub uses: Vec<String>,
}

/// The folder with the workspace's manifest.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// What `cargo` prints, asked in the root and without the network.
///
/// # Panics
/// Where it can't be run, or fails.
#[track_caller]
pub fn cargo(arguments: &[&str]) -> String {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(arguments)
        .args(["--offline", "--locked"])
        .current_dir(root())
        .output()
        .expect("cargo runs");
    let wrong = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {wrong}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// The crates of the workspace.
///
/// # Panics
/// Where cargo describes them otherwise than it does today.
pub fn packages() -> Vec<Package> {
    let text = cargo(&["metadata", "--no-deps", "--format-version", "1"]);
    let metadata: Value = serde_json::from_str(&text).expect("JSON");
    let name = |of: &Value| of["name"].as_str().expect("a name").to_owned();
    let list = |of: &Value| of.as_array().expect("a list").clone();
    let names = |of: Vec<Value>| of.iter().map(name).collect();
    list(&metadata["packages"])
        .iter()
        .map(|package| {
            let mut tests = list(&package["targets"]);
            tests.retain(|target| target["kind"][0] == "test");
            let mut uses = list(&package["dependencies"]);
            uses.retain(|used| used["path"].is_string() && used["kind"] != "dev");
            Package {
                name: name(package),
                tests: names(tests),
                uses: names(uses),
            }
        })
        .collect()
}
