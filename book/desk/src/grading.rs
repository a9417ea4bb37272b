//! Forms of a class against a key.

use std::collections::BTreeMap;

use jigwise_exercises::archive::zipped;
use jigwise_exercises::grading::{FormFile, check_time, grade, is_form};
use jigwise_exercises::tray::Key;

/// A key and the forms that were handed in, as far as they are here.
#[derive(Debug, Clone, Default)]
pub struct Grading {
    key: Option<Key>,
    forms: BTreeMap<String, FormFile>,
}

/// Grades, ready to be shown and saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Graded {
    /// How many forms have each status, in a line.
    pub said: String,
    /// The table of marks.
    pub csv: String,
    /// What the page of the class says, as a piece of HTML.
    pub class: String,
    /// The archive of the pages: one for the class and one for each form.
    pub pages: Vec<u8>,
}

impl Grading {
    /// Takes the key and says whose it is; `name` is what errors call it.
    ///
    /// # Errors
    /// A sentence for a file that is no key, or one of another version.
    pub fn take_key(&mut self, name: &str, bytes: &[u8]) -> Result<String, String> {
        self.key = None;
        let text = std::str::from_utf8(bytes).map_err(|_| {
            format!("{name}: this is no text in UTF-8, and a key is; take key.toml as it was saved")
        })?;
        let key = Key::read(text, name).map_err(|error| error.to_string())?;
        self.key = Some(key);
        Ok(format!("The key to {}.", key.set().title()))
    }

    /// Takes a file that was handed in, of which the beginning is enough where it is larger than any
    /// form. False where its path says that it is no form. The same file is taken once; another of
    /// the same path gets a number behind it.
    pub fn take_form(&mut self, path: &str, bytes: Vec<u8>, size: u64) -> bool {
        if !is_form(path) {
            return false;
        }
        let mut name = path.to_owned();
        let mut nth = 1;
        while let Some(known) = self.forms.get(&name) {
            if known.size == size && known.bytes == bytes {
                return true;
            }
            nth += 1;
            name = format!("{path} ({nth})");
        }
        let form = FormFile {
            size,
            ..FormFile::new(name.clone(), bytes)
        };
        self.forms.insert(name, form);
        true
    }

    /// How many forms were taken.
    pub fn forms(&self) -> usize {
        self.forms.len()
    }

    /// Lets go of all forms.
    pub fn clear_forms(&mut self) {
        self.forms.clear();
    }

    /// Grades all forms. `due` is empty, or when they were due, as 2026-11-30T12:45; `made_unix` is
    /// the time now, in seconds since 1970. `progress` is told the share that is done.
    ///
    /// # Errors
    /// A sentence where the key or the forms are missing, or `due` is no time.
    pub fn grade(
        &self,
        due: &str,
        made_unix: i64,
        progress: impl FnMut(f64),
    ) -> Result<Graded, String> {
        let Some(key) = &self.key else {
            return Err("Choose the key first: grading needs it.".to_owned());
        };
        if self.forms.is_empty() {
            return Err(
                "There is no form yet. Choose the folder with the forms: files whose names end in \
                 .toml or .txt."
                    .to_owned(),
            );
        }
        let due = Some(due).filter(|due| !due.is_empty());
        if let Some(due) = due {
            check_time(due).map_err(|error| format!("due: {error}"))?;
        }
        let forms: Vec<FormFile> = self.forms.values().cloned().collect();
        let book = grade(key.set(), &forms, due, progress).map_err(|error| error.to_string())?;
        let pages = book.pages();
        let files = pages.iter().map(|page| (&*page.name, page.html.as_bytes()));
        Ok(Graded {
            said: format!("{}.", book.counts()),
            csv: book.csv(),
            class: book.class().into_string(),
            pages: zipped(files, Some(made_unix)).map_err(|error| error.to_string())?,
        })
    }
}
