//! What the page's worker calls.

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

use jigwise_touchstone::files;
use wasm_bindgen::prelude::wasm_bindgen;

#[wasm_bindgen]
extern "C" {
    /// What the worker does with a share of the work done, 0 to 1.
    #[wasm_bindgen(js_name = jigwiseProgress)]
    fn progress(share: f64);
}

/// What a command said.
#[wasm_bindgen]
pub struct Said {
    succeeded: bool,
    out: String,
    err: String,
}

#[wasm_bindgen]
impl Said {
    /// True where it ended with 0.
    #[wasm_bindgen(getter)]
    pub fn succeeded(&self) -> bool {
        self.succeeded
    }

    /// Its output.
    #[wasm_bindgen(getter)]
    pub fn out(&self) -> String {
        self.out.clone()
    }

    /// Its notes and errors.
    #[wasm_bindgen(getter)]
    pub fn err(&self) -> String {
        self.err.clone()
    }
}

/// Holds a file of the reader under its name.
#[wasm_bindgen]
pub fn hold(name: &str, bytes: Vec<u8>) {
    files::hold(Path::new(name), bytes);
}

/// Lets go of every file.
#[wasm_bindgen]
pub fn clear() {
    files::clear();
}

/// Runs `jig` with arguments, the first of which is its name.
#[wasm_bindgen]
pub fn run(arguments: Vec<String>) -> Said {
    jigwise_jig::tell_progress_to(progress);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = jigwise_jig::run(
        arguments.into_iter().map(OsString::from),
        &mut out,
        &mut err,
    );
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    Said {
        succeeded: code == ExitCode::SUCCESS,
        out: text(out),
        err: text(err),
    }
}

/// The names of the files below a folder.
#[wasm_bindgen]
pub fn names_in(folder: &str) -> Vec<String> {
    let held = files::held_files();
    let inside = held.iter().filter(|(path, _)| path.starts_with(folder));
    inside.map(|(path, _)| path.display().to_string()).collect()
}

/// The bytes of a file; none for a name that is not held.
#[wasm_bindgen]
pub fn bytes_of(name: &str) -> Vec<u8> {
    files::read(Path::new(name)).unwrap_or_default()
}
