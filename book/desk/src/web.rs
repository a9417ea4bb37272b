//! What the page's worker calls. Every error is a sentence, thrown as a string.

use jigwise_exercises::archive;
use jigwise_exercises::grading::LARGEST;
use wasm_bindgen::prelude::wasm_bindgen;

use crate::{Asked, Graded, Grading, Made};

#[wasm_bindgen]
extern "C" {
    /// What the worker does with a share of the work done, 0 to 1.
    #[wasm_bindgen(js_name = jigwiseProgress)]
    fn progress(share: f64);
}

/// The sentence and the archives of trays that were made.
#[wasm_bindgen]
pub struct MadeTrays(Made);

#[wasm_bindgen]
impl MadeTrays {
    /// What was made.
    #[wasm_bindgen(getter)]
    pub fn said(&self) -> String {
        self.0.said.clone()
    }

    /// The code of the trays.
    #[wasm_bindgen(getter)]
    pub fn code(&self) -> String {
        self.0.code.clone()
    }

    /// The archive to hand out.
    #[wasm_bindgen(getter)]
    pub fn trays(&self) -> Vec<u8> {
        self.0.trays.clone()
    }

    /// The archive for the teacher alone.
    #[wasm_bindgen(getter)]
    pub fn teacher(&self) -> Vec<u8> {
        self.0.teacher.clone()
    }
}

/// Makes trays.
///
/// # Errors
/// A sentence about what was typed.
#[wasm_bindgen]
pub fn make(lab: &str, groups: &str, seed: &str, made_unix: f64) -> Result<MadeTrays, String> {
    let asked = Asked {
        lab,
        groups,
        seed,
        made_unix: made_unix as i64,
    };
    crate::make(asked, progress).map(MadeTrays)
}

/// The most bytes of a form that are read.
#[wasm_bindgen]
pub fn largest_form() -> usize {
    LARGEST
}

/// True for the path of a form.
#[wasm_bindgen]
pub fn is_form(path: &str) -> bool {
    jigwise_exercises::grading::is_form(path)
}

/// True for the path of a key.
#[wasm_bindgen]
pub fn is_key(path: &str) -> bool {
    jigwise_exercises::tray::is_key(path)
}

/// A file in an archive.
#[wasm_bindgen]
pub struct ArchiveEntry(archive::Entry);

#[wasm_bindgen]
impl ArchiveEntry {
    /// Its path.
    #[wasm_bindgen(getter)]
    pub fn path(&self) -> String {
        self.0.path.clone()
    }

    /// Its size when it is unpacked, as the archive claims.
    #[wasm_bindgen(getter)]
    pub fn size(&self) -> f64 {
        self.0.size as f64
    }

    /// True where its bytes are packed.
    #[wasm_bindgen(getter)]
    pub fn is_deflated(&self) -> bool {
        self.0.is_deflated
    }

    /// Where its bytes begin in the archive.
    #[wasm_bindgen(getter)]
    pub fn start(&self) -> usize {
        self.0.bytes.start
    }

    /// Where its bytes end in the archive.
    #[wasm_bindgen(getter)]
    pub fn end(&self) -> usize {
        self.0.bytes.end
    }
}

/// The files of an archive.
///
/// # Errors
/// A sentence for bytes that are no archive.
#[wasm_bindgen]
pub fn entries(zip: &[u8]) -> Result<Vec<ArchiveEntry>, String> {
    let found = archive::entries(zip).map_err(|error| error.to_string())?;
    Ok(found.into_iter().map(ArchiveEntry).collect())
}

/// The grading of a class.
#[wasm_bindgen]
#[derive(Default)]
pub struct Class(Grading);

#[wasm_bindgen]
impl Class {
    /// Without a key and without forms.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes the key and says whose it is.
    ///
    /// # Errors
    /// A sentence for a file that is no key.
    pub fn take_key(&mut self, name: &str, bytes: &[u8]) -> Result<String, String> {
        self.0.take_key(name, bytes)
    }

    /// Takes a file that was handed in; false for one that is no form.
    pub fn take_form(&mut self, path: &str, bytes: Vec<u8>, size: f64) -> bool {
        self.0.take_form(path, bytes, size as u64)
    }

    /// How many forms were taken.
    pub fn forms(&self) -> usize {
        self.0.forms()
    }

    /// Lets go of all forms.
    pub fn clear_forms(&mut self) {
        self.0.clear_forms();
    }

    /// Grades.
    ///
    /// # Errors
    /// A sentence where something is missing.
    pub fn grade(&self, due: &str, made_unix: f64) -> Result<Grades, String> {
        self.0.grade(due, made_unix as i64, progress).map(Grades)
    }
}

/// Grades of a class.
#[wasm_bindgen]
pub struct Grades(Graded);

#[wasm_bindgen]
impl Grades {
    /// How many forms have each status.
    #[wasm_bindgen(getter)]
    pub fn said(&self) -> String {
        self.0.said.clone()
    }

    /// The table of marks.
    #[wasm_bindgen(getter)]
    pub fn csv(&self) -> String {
        self.0.csv.clone()
    }

    /// What is said of the class, as a piece of HTML.
    #[wasm_bindgen(getter)]
    pub fn class(&self) -> String {
        self.0.class.clone()
    }

    /// The archive of the pages.
    #[wasm_bindgen(getter)]
    pub fn pages(&self) -> Vec<u8> {
        self.0.pages.clone()
    }
}
