use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use jigwise_touchstone::{Options, Sweep, check_name, write_to};
use serde::Serialize;

use super::json::{Document, write_json};
use super::whole_file::{Set, in_file};
use super::{CommandError, FixtureArgument};
use jigwise_bench::shell::Taken;
use jigwise_bench::words::fixture_key;
use jigwise_bench::{Measurement, Scenario};
use jigwise_quantity::{ValueError, engineering, parse_count};

/// Write a simulated measurement of a scenario's device as a Touchstone file.
///
/// Noise and what the calibration leaves are drawn from the scenario's seed; the file tells its
/// story in comments.
#[derive(Args)]
#[command(allow_negative_numbers = true)]
pub(super) struct SweepArguments {
    /// Scenario file with a [sweep].
    scenario: PathBuf,
    /// The fixture that the part is in.
    #[arg(long, value_enum)]
    fixture: FixtureArgument,
    /// File to write, ending in .s1p for reflect and .s2p for the others; - for standard output.
    #[arg(long, default_value = "-")]
    out: PathBuf,
    /// Write the raw readings, before any correction. Without this they are corrected as the
    /// scenario says.
    #[arg(long)]
    raw: bool,
    /// Write beside it the raw sweeps of standards and blanks (open, short, load, through …) and
    /// the calibration file that names them, for `jig reduce --calibration`.
    #[arg(long)]
    with_standards: bool,
    /// Take the place of files that are there. Without this nothing is written over.
    #[arg(long)]
    replace: bool,
    /// Draw from this seed and not from that of the scenario.
    #[arg(long, value_parser = seed)]
    seed: Option<u64>,
    /// Write JSON: what was written, where.
    #[arg(long)]
    json: bool,
}

fn seed(text: &str) -> Result<u64, ValueError> {
    parse_count(text, 0, u64::MAX)
}

/// One file of the set, before it is written.
struct Planned {
    path: PathBuf,
    what: Content,
}

enum Content {
    Sweep(Sweep),
    Calibration(String),
}

impl SweepArguments {
    pub(super) fn run(&self, out: &mut dyn Write, err: &mut dyn Write) -> Result<(), CommandError> {
        let is_stream = self.out == Path::new("-");
        self.check(is_stream)?;
        let mut scenario = Scenario::read_file(&self.scenario)?;
        if let Some(seed) = self.seed {
            scenario.seed = seed;
        }
        let fixture = self.fixture.into();
        let in_scenario = |error: jigwise_bench::ScenarioError| error.in_file(&self.scenario);
        let measurement = Measurement::of(&scenario, fixture).map_err(in_scenario)?;
        let sweep = match self.raw {
            true => measurement.raw(),
            false => measurement.corrected(),
        }?;
        if is_stream {
            // Comments and numbers first in memory: a failure half way writes nothing.
            let mut text = Vec::new();
            write_to(&mut text, &sweep, &Options::default())?;
            out.write_all(&text)?;
        } else {
            let files = self.planned(&measurement, sweep)?;
            self.write(&files)?;
            if self.json {
                let json = SweepJson {
                    fixture: fixture_key(fixture),
                    seed: scenario.seed,
                    written: files.iter().map(FileJson::of).collect(),
                };
                let read = vec![self.scenario.display().to_string()];
                return write_json(&Document::new("sweep", json).read(read), out);
            }
            for file in &files {
                file.report(err)?;
            }
            let has_calibration = |file: &Planned| matches!(file.what, Content::Calibration(_));
            if !self.raw && files.iter().any(has_calibration) {
                writeln!(
                    err,
                    "jig: {} is corrected already: `jig reduce --calibration` would correct it \
                     once more. Write it with --raw for that.",
                    self.out.display()
                )?;
            }
        }
        writeln!(err, "Drawn from seed {}.", scenario.seed)?;
        Ok(())
    }

    /// Refuses options that do nothing in this call.
    fn check(&self, is_stream: bool) -> Result<(), CommandError> {
        let usage = |text: &str| Err(CommandError::Usage(text.to_owned()));
        if !is_stream {
            return Ok(());
        }
        if self.with_standards {
            return usage(
                "standards are files of their own; name the first with --out, for example \
                 --out choke.s2p",
            );
        }
        if self.replace {
            return usage(
                "--replace is about files, and the sweep goes to standard output; name a file \
                 with --out, or leave --replace out",
            );
        }
        if self.json {
            return usage(
                "--json says what was written where, and the sweep itself goes to standard \
                 output; name a file with --out, or leave --json out",
            );
        }
        Ok(())
    }

    /// Everything that is to be written.
    fn planned(
        &self,
        measurement: &Measurement,
        sweep: Sweep,
    ) -> Result<Vec<Planned>, CommandError> {
        let mut files = vec![Planned {
            path: self.out.clone(),
            what: Content::Sweep(sweep),
        }];
        if !self.with_standards {
            return Ok(files);
        }
        let standards = measurement.raw_standards_and_blanks()?;
        let place = |name: &str| {
            let (_, sweep) = standards.iter().find(|(known, _)| known == name)?;
            Some(beside(&self.out, &format!("{name}.s{}p", sweep.ports())))
        };
        let file_of = |name: &str| {
            let path = place(name)?;
            Some(path.file_name()?.to_string_lossy().into_owned())
        };
        let calibration = measurement.calibration_file(&file_of);
        for (name, sweep) in &standards {
            files.extend(place(name).map(|path| Planned {
                path,
                what: Content::Sweep(sweep.clone()),
            }));
        }
        files.extend(calibration.map(|text| Planned {
            path: beside(&self.out, "cal.toml"),
            what: Content::Calibration(text),
        }));
        Ok(files)
    }

    fn write(&self, files: &[Planned]) -> Result<(), CommandError> {
        let taken = if self.replace {
            Taken::Replace
        } else {
            Taken::Refuse
        };
        for file in files {
            if let Content::Sweep(sweep) = &file.what {
                check_name(&file.path.display().to_string(), sweep, &Options::default())?;
            }
        }
        let paths: Vec<&Path> = files.iter().map(|file| file.path.as_path()).collect();
        let set = Set::begin(&paths, taken)?;
        for file in files {
            let written = |error| in_file(&file.path, error);
            match &file.what {
                Content::Sweep(sweep) => set
                    .write(&file.path, |out| {
                        Ok(write_to(out, sweep, &Options::default())?)
                    })
                    .map_err(written)?,
                Content::Calibration(text) => set
                    .write(&file.path, |out| Ok(out.write_all(text.as_bytes())?))
                    .map_err(written)?,
            }
        }
        set.publish()
    }
}

/// `choke.s2p` with `open.s1p` is `choke-open.s1p`.
fn beside(path: &Path, name: &str) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!("{stem}-{name}"))
}

impl Planned {
    fn report(&self, err: &mut dyn Write) -> Result<(), CommandError> {
        let path = self.path.display();
        match &self.what {
            Content::Calibration(_) => writeln!(err, "{path}: the calibration file of these")?,
            Content::Sweep(sweep) => {
                let freq_hz = sweep.frequency_hz();
                let (first, last) = (freq_hz[0], freq_hz[freq_hz.len() - 1]);
                let count = match sweep.len() {
                    1 => "1 point".to_owned(),
                    many => format!("{many} points"),
                };
                writeln!(
                    err,
                    "{path}: {count} from {} to {}",
                    engineering(first, "Hz", 4),
                    engineering(last, "Hz", 4)
                )?;
            }
        }
        Ok(())
    }
}

#[derive(Serialize)]
struct SweepJson {
    fixture: &'static str,
    seed: u64,
    written: Vec<FileJson>,
}

#[derive(Serialize)]
struct FileJson {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    ports: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    points: Option<usize>,
}

impl FileJson {
    fn of(file: &Planned) -> Self {
        let sweep = match &file.what {
            Content::Sweep(sweep) => Some(sweep),
            Content::Calibration(_) => None,
        };
        Self {
            file: file.path.display().to_string(),
            ports: sweep.map(Sweep::ports),
            points: sweep.map(Sweep::len),
        }
    }
}
