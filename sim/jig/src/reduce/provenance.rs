//! What somebody needs to make a report again: the command, and every file with its digest.

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use jigwise_reduce::report::{InputFile, Provenance};
use jigwise_touchstone::files;
use sha2::{Digest, Sha256};

use super::inputs::Inputs;
use super::sweep_reader::STANDARD_INPUT;
use super::{Reduce, date};

/// The command as it was called.
pub(crate) struct CommandLine(Vec<OsString>);

impl CommandLine {
    pub(crate) fn new(arguments: Vec<OsString>) -> Self {
        Self(arguments)
    }

    /// As it may be typed where the files lie: folders are left out, since they are nobody
    /// else's business.
    fn typed(&self) -> String {
        let mut words = vec!["jig".to_owned()];
        let mut is_place = false;
        for word in self.0.iter().skip(1) {
            let text = word.to_string_lossy();
            let text = match text.split_once('=') {
                Some((option, path)) if option.starts_with("--") => {
                    format!("{option}={}", without_folder(path, option == "--out"))
                }
                _ => without_folder(&text, is_place),
            };
            is_place = word == "--out";
            words.push(match shlex::try_quote(&text) {
                Ok(quoted) => quoted.into_owned(),
                Err(_) => text,
            });
        }
        words.join(" ")
    }
}

/// A path without its folder; other words as they are. The place of a report need not be there.
fn without_folder(word: &str, is_place: bool) -> String {
    let path = Path::new(word);
    let is_path = is_place || path.exists();
    let name = path.file_name().filter(|_| is_path);
    name.map_or(word.to_owned(), |name| name.to_string_lossy().into_owned())
}

/// The SHA-256 of some bytes, in hexadecimal digits.
pub(super) fn digest(bytes: &[u8]) -> String {
    use std::fmt::Write;
    Sha256::digest(bytes)
        .iter()
        .fold(String::new(), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// What a report of a part says of where it comes from.
pub(super) fn provenance(given: &Reduce, line: &CommandLine, part: &Inputs) -> Provenance {
    let mut inputs: Vec<InputFile> = part
        .names
        .iter()
        .map(|name| input("the part".to_owned(), name, part))
        .collect();
    let beside = part.beside.iter();
    inputs.extend(beside.map(|(what, name)| input(what.to_string(), name, part)));
    let named = [
        ("the calibration file", part.calibration.as_deref()),
        ("the instrument", given.instrument.as_deref()),
        ("the strays", given.strays.as_deref()),
    ];
    for (what, name) in named {
        let file = name.filter(|name| files::is_file(Path::new(name)));
        inputs.extend(file.map(|name| input(what.to_owned(), name, part)));
    }
    Provenance {
        command: Some(line.typed()),
        inputs,
        connections: part.budget.is_some().then_some(part.connections),
        operator: given.operator.clone(),
        serial: given.serial.clone(),
        notes: given.note.clone(),
        versions: format!(
            "Jigwise {} on {} ({})",
            env!("CARGO_PKG_VERSION"),
            std::env::consts::OS,
            std::env::consts::ARCH
        ),
    }
}

fn input(what: String, name: &str, part: &Inputs) -> InputFile {
    let stdin = part.stdin_sha256.clone().filter(|_| name == STANDARD_INPUT);
    let changed = fs::metadata(name).and_then(|found| found.modified());
    InputFile {
        what,
        name: name.to_owned(),
        sha256: stdin.or_else(|| {
            files::read(Path::new(name))
                .ok()
                .map(|bytes| digest(&bytes))
        }),
        changed: changed.ok().and_then(date::minute),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples of FIPS 180-4 as NIST prints them: one block, and the empty message.
    #[test]
    fn digests() {
        for (text, expected) in [
            (
                "abc",
                "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            ),
            (
                "",
                "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
            ),
        ] {
            assert_eq!(digest(text.as_bytes()), expected);
        }
    }

    #[test]
    fn the_command_can_be_typed_again_without_its_folders() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("my coil.s1p");
        fs::write(&file, "").unwrap();
        let words = [
            "/usr/bin/jig".into(),
            "reduce".into(),
            file.into_os_string(),
            "--at".into(),
            "7.1M".into(),
            "--out".into(),
            "/no/such/report".into(),
        ];
        let typed = CommandLine::new(words.to_vec()).typed();
        assert_eq!(typed, "jig reduce 'my coil.s1p' --at 7.1M --out report");
    }
}
