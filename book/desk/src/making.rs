//! Trays for a class, as two archives.

use jigwise_bench::parse_count;
use jigwise_exercises::archive::zipped;
use jigwise_exercises::tray::{MOST_GROUPS, Seed, TrayFile, TraySet, lab};

/// What a teacher asks for, as it was typed.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The key of the lab.
    pub lab: &'a str,
    /// How many groups.
    pub groups: &'a str,
    /// The seed: 32 hexadecimal digits, or a whole number.
    pub seed: &'a str,
    /// When the trays are made, in seconds since 1970.
    pub made_unix: i64,
}

/// Trays, ready to be saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// What was made, in a sentence.
    pub said: String,
    /// The code of the trays.
    pub code: String,
    /// The archive with a folder for each group.
    pub trays: Vec<u8>,
    /// The archive with what the teacher alone has.
    pub teacher: Vec<u8>,
}

/// Makes trays; `progress` is told the share that is done.
///
/// # Errors
/// A sentence that names what was typed and what is expected.
pub fn make(asked: Asked<'_>, mut progress: impl FnMut(f64)) -> Result<Made, String> {
    let lab = lab(asked.lab).map_err(|error| error.to_string())?;
    let groups = parse_count(asked.groups, 1, MOST_GROUPS.into())
        .map_err(|error| format!("groups: {error}"))?;
    let seed: Seed = asked
        .seed
        .parse()
        .map_err(|error| format!("seed: {error}"))?;
    // The count is at most MOST_GROUPS.
    let set = TraySet::new(lab, seed, groups as u32);
    let mut trays = Vec::new();
    for number in 1..=set.groups() {
        let files = set
            .group(number)
            .and_then(|group| set.files_of(&group))
            .map_err(|error| error.to_string())?;
        trays.extend(files);
        progress(f64::from(number) / f64::from(set.groups()));
    }
    let teacher = set.teachers_files().map_err(|error| error.to_string())?;
    let packed = |files: &[TrayFile]| {
        let files = files.iter().map(|file| (&*file.path, &*file.bytes));
        zipped(files, Some(asked.made_unix)).map_err(|error| error.to_string())
    };
    let mut said = format!("{}.", set.title());
    if !seed.is_sealed() {
        said.push_str(" Mind: ");
        said.push_str(Seed::SHORT);
        said.push('.');
    }
    Ok(Made {
        said,
        code: set.code(),
        trays: packed(&trays)?,
        teacher: packed(&teacher)?,
    })
}
