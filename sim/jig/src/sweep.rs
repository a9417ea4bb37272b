use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use jigwise_touchstone::{Options, Sweep, write_to};

use super::{CommandError, FixtureArgument, write_sweep};
use jigwise_bench::Measurement;
use jigwise_bench::Scenario;
use jigwise_quantity::{ValueError, engineering, parse_count};

/// Write a simulated measurement of a scenario's device as a Touchstone file.
///
/// Noise and what the calibration leaves are drawn from the scenario's seed; the file tells its
/// story in comments.
#[derive(Args)]
pub(super) struct SweepArguments {
    /// Scenario file with a [sweep].
    scenario: PathBuf,
    /// The fixture that the part is in.
    #[arg(long, value_enum)]
    fixture: FixtureArgument,
    /// File to write, ending in .s1p for reflect and .s2p for the others; - for standard output.
    #[arg(long, default_value = "-")]
    out: PathBuf,
    /// Write the raw readings, before any correction.
    #[arg(long)]
    raw: bool,
    /// Write beside it the raw sweeps of standards and blanks (open, short, load, through …).
    #[arg(long)]
    with_standards: bool,
    /// Draw from this seed and not from that of the scenario.
    #[arg(long, value_parser = seed)]
    seed: Option<u64>,
}

fn seed(text: &str) -> Result<u64, ValueError> {
    parse_count(text, 0, u64::MAX)
}

impl SweepArguments {
    pub(super) fn run(&self, out: &mut dyn Write, err: &mut dyn Write) -> Result<(), CommandError> {
        let mut scenario = Scenario::read_file(&self.scenario)?;
        if let Some(seed) = self.seed {
            scenario.seed = seed;
        }
        let fixture = self.fixture.into();
        let in_file = |error: jigwise_bench::ScenarioError| error.in_file(&self.scenario);
        let measurement = Measurement::of(&scenario, fixture).map_err(in_file)?;
        let sweep = match self.raw {
            true => measurement.raw(),
            false => measurement.corrected(),
        }?;
        let standards = match self.with_standards {
            true => measurement.raw_standards_and_blanks()?,
            false => Vec::new(),
        };
        if self.out == Path::new("-") {
            if self.with_standards {
                return Err(CommandError::Usage(
                    "standards are files of their own; name the first with --out, for example \
                     --out choke.s2p"
                        .to_owned(),
                ));
            }
            // Comments and numbers first in memory: a failure half way writes nothing.
            let mut text = Vec::new();
            write_to(&mut text, &sweep, &Options::default())?;
            out.write_all(&text)?;
        } else {
            write_sweep(&self.out, &sweep, &Options::default())?;
            report(err, &self.out, &sweep)?;
        }
        for (name, sweep) in &standards {
            let path = beside(&self.out, name, sweep.ports());
            write_sweep(&path, sweep, &Options::default())?;
            report(err, &path, sweep)?;
        }
        writeln!(err, "Drawn from seed {}.", scenario.seed)?;
        Ok(())
    }
}

/// `choke.s2p` with "open" is `choke-open.s1p`.
fn beside(path: &Path, name: &str, ports: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!("{stem}-{name}.s{ports}p"))
}

fn report(err: &mut dyn Write, path: &Path, sweep: &Sweep) -> Result<(), CommandError> {
    let freq_hz = sweep.frequency_hz();
    let (first, last) = (freq_hz[0], freq_hz[freq_hz.len() - 1]);
    writeln!(
        err,
        "{}: {} points from {} to {}",
        path.display(),
        sweep.len(),
        engineering(first, "Hz", 4),
        engineering(last, "Hz", 4)
    )?;
    Ok(())
}
