//! `lab grade`: a folder of forms against the key of a folder of trays.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use jigwise_bench::shell::{Progress, write_whole};

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
    let mut forms = Vec::new();
    collect(&arguments.answers, &arguments.answers, 0, &mut forms)?;
    let progress = Progress::new("grading");
    let book = grading::grade(key.set(), &forms, arguments.due.as_deref(), |share| {
        progress.at(share);
    })?;
    drop(progress);
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

/// All forms in a folder: files that end in .toml or .txt.
fn collect(
    root: &Path,
    folder: &Path,
    depth: usize,
    forms: &mut Vec<FormFile>,
) -> Result<(), CommandError> {
    let fault = |path: &Path| {
        let path = path.to_owned();
        move |error| CommandError::File { path, error }
    };
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .map_err(fault(folder))?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .collect();
    entries.sort();
    for path in entries {
        let name = path.file_name().unwrap_or_default();
        if name.as_encoded_bytes().starts_with(b".") {
            continue;
        }
        if path.is_dir() {
            if depth < DEEPEST {
                collect(root, &path, depth + 1, forms)?;
            }
            continue;
        }
        let parts = path.strip_prefix(root).unwrap_or(&path).iter();
        let parts: Vec<_> = parts.map(|part| part.to_string_lossy()).collect();
        let shown = parts.join("/");
        if is_form(&shown) {
            forms.push(read(&path, shown));
        }
    }
    Ok(())
}

/// A form; one that can't be read has no bytes, and grading says so.
fn read(path: &Path, name: String) -> FormFile {
    let mut bytes = Vec::new();
    let size = fs::metadata(path).map_or(0, |meta| meta.len());
    if let Ok(file) = File::open(path) {
        // What was read before a fault is told of as a broken form.
        let _ = file.take(LARGEST as u64 + 1).read_to_end(&mut bytes);
    }
    FormFile { name, bytes, size }
}
