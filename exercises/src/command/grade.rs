//! `lab grade`: a folder of forms against the key of a folder of trays.

use std::collections::HashSet;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use jigwise_bench::shell::{Progress, folder_of, write_whole};

use super::CommandError;
use super::tray::written_whole;
use crate::grading::times;
use crate::grading::{self, DEEPEST, FormFile, Gradebook, LARGEST, Status, check_time, is_form};
use crate::tray::{KEY_PATH, Key};

#[derive(Args)]
pub(super) struct Arguments {
    /// The folder that `lab tray` made; its key is needed and nothing else.
    trays: PathBuf,
    /// The folder with the forms, in folders of their own or not.
    #[arg(long, value_name = "FOLDER")]
    answers: PathBuf,
    /// The table of marks to write; the pages go into a folder beside it, named after it.
    #[arg(long, value_name = "FILE.csv")]
    out: PathBuf,
    /// When the forms were due, as 2026-11-30T12:45.
    #[arg(long, value_name = "TIME")]
    due: Option<String>,
    /// Replace marks and pages that are there already.
    #[arg(long)]
    replace: bool,
}

pub(super) fn grade(
    arguments: &Arguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let path = arguments.trays.join(KEY_PATH);
    let name = path.display().to_string();
    let text = fs::read_to_string(&path).map_err(|error| {
        CommandError::Said(format!(
            "{name}: {error}; grading needs the key that lab tray wrote there, so copy the folder \
             teacher too"
        ))
    })?;
    let key = Key::read(&text, &name).map_err(|error| CommandError::Said(error.to_string()))?;
    if let Some(due) = &arguments.due {
        check_time(due).map_err(|error| CommandError::Said(format!("--due: {error}")))?;
    }
    let pages = arguments.out.with_extension("").with_file_name(format!(
        "{}-pages",
        arguments
            .out
            .file_stem()
            .map_or("grades".into(), |stem| stem.to_string_lossy())
    ));
    for place in [&arguments.out, &pages] {
        if place.exists() && !arguments.replace {
            return Err(CommandError::Said(format!(
                "{} is there already; name another file with --out, or give --replace",
                place.display()
            )));
        }
    }
    if pages.exists() && !pages.join("class.html").exists() {
        return Err(CommandError::Said(format!(
            "{} is there and holds no pages of marks; name another file with --out",
            pages.display()
        )));
    }
    if arguments.out.is_dir() {
        return Err(CommandError::Said(format!(
            "{} is a folder; name a file with --out, for example {}",
            arguments.out.display(),
            arguments.out.join("grades.csv").display()
        )));
    }
    let mut search = Search::default();
    search.look_into(&arguments.answers, "", 0)?;
    let forms = search.forms;
    let progress = Progress::new("grading");
    let book = grading::grade(key.set(), &forms, arguments.due.as_deref(), |share| {
        progress.at(share);
    })?;
    drop(progress);
    let beside = folder_of(&arguments.out);
    fs::create_dir_all(beside).map_err(|error| CommandError::File {
        path: beside.to_owned(),
        error,
    })?;
    write_whole(&arguments.out, |file| file.write_all(book.csv().as_bytes())).map_err(|error| {
        CommandError::File {
            path: arguments.out.clone(),
            error,
        }
    })?;
    written_whole(&pages, |folder| {
        for page in book.pages() {
            let path = folder.join(&page.name);
            fs::write(&path, page.html).map_err(|error| CommandError::File { path, error })?;
        }
        Ok(())
    })?;
    summary(&book, out, err)?;
    writeln!(
        out,
        "{}, and a page for the class and for each form in {}",
        arguments.out.display(),
        pages.display()
    )?;
    Ok(())
}

fn summary(book: &Gradebook, out: &mut dyn Write, err: &mut dyn Write) -> Result<(), CommandError> {
    writeln!(out, "{}", book.counts())?;
    for row in book.rows.iter().filter(|row| row.status == Status::Broken) {
        for remark in &row.remarks {
            writeln!(err, "lab: {remark}")?;
        }
    }
    for (slip, count) in book.slips().into_iter().take(3) {
        writeln!(out, "{}: {slip}", times(count))?;
    }
    Ok(())
}

/// The forms in a folder: files that end in .toml or .txt.
#[derive(Default)]
struct Search {
    forms: Vec<FormFile>,
    /// Folders as the system knows them: a link to one of them leads round in a circle.
    seen: HashSet<PathBuf>,
}

impl Search {
    /// Looks into a folder, `shown` below the folder of all forms.
    fn look_into(&mut self, folder: &Path, shown: &str, depth: usize) -> Result<(), CommandError> {
        let fault = |error| CommandError::File {
            path: folder.to_owned(),
            error,
        };
        if !self.seen.insert(folder.canonicalize().map_err(fault)?) {
            return Ok(());
        }
        let mut entries: Vec<PathBuf> = fs::read_dir(folder)
            .map_err(fault)?
            .filter_map(|entry| Some(entry.ok()?.path()))
            .collect();
        entries.sort();
        for path in entries {
            let name = path.file_name().unwrap_or_default();
            if name.as_encoded_bytes().starts_with(b".") {
                continue;
            }
            let name = name.to_string_lossy();
            let shown = match shown {
                "" => name.into_owned(),
                above => format!("{above}/{name}"),
            };
            if !path.is_dir() {
                if is_form(&shown) {
                    self.forms.push(read(&path, shown));
                }
            } else if depth < DEEPEST
                && let Err(error) = self.look_into(&path, &shown, depth + 1)
            {
                // A folder that can't be looked into costs what is in it.
                let said = format!("this folder can't be looked into ({error})");
                self.forms.push(FormFile::unreadable(shown, said));
            }
        }
        Ok(())
    }
}

/// A form, or why it can't be read.
fn read(path: &Path, name: String) -> FormFile {
    let opened = || {
        let about = fs::metadata(path)?;
        // A pipe or a device might never end.
        if !about.is_file() {
            return Ok(None);
        }
        let mut bytes = Vec::new();
        File::open(path)?
            .take(LARGEST as u64 + 1)
            .read_to_end(&mut bytes)?;
        Ok::<_, io::Error>(Some((bytes, about.len())))
    };
    match opened() {
        Ok(Some((bytes, size))) => FormFile {
            size,
            ..FormFile::new(name, bytes)
        },
        Ok(None) => FormFile::unreadable(name, "this is no file".to_owned()),
        Err(error) => FormFile::unreadable(name, format!("this file can't be read ({error})")),
    }
}
