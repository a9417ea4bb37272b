//! The text command `jig`, as a function over its arguments and its two outputs, so that a
//! test calls it without a process.

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod appraisal;
mod asked;
mod blend;
mod crossovers;
mod json;
mod manual;
mod plan;
mod question;
mod reach;
mod read;
mod reduce;
mod roundtrip;
mod sweep;
mod table;
mod whole_file;

use std::ffi::OsString;
use std::fmt;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};
use jigwise_physics::{Complex64, Fixture, Immittance};
use serde::Serialize;

use jigwise_bench::shell;
use jigwise_bench::{
    BlendError, DeviceError, EntryError, FormulaError, NumberError, ScenarioError, TouchstoneError,
};
use jigwise_quantity::{Unit, ValueError, above_zero, above_zero_with_unit, between};
use jigwise_reduce::ReduceError;
use jigwise_touchstone::{SweepError, WriteError};

pub use self::whole_file::write_sweep;
#[cfg(target_arch = "wasm32")]
pub use jigwise_bench::shell::tell_progress_to;

/// Find the impedance of a part with a vector network analyzer: what each fixture reads, and
/// measured sweeps in ohms.
#[derive(Parser)]
#[command(name = "jig", version = jigwise_bench::version(), after_help = EXIT_CODES)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

const EXIT_CODES: &str = "Exit codes: 0 all is well; 1 the answer is that something is wrong: a \
    formula, or fixtures that contradict each other; 2 what was given can't be used.";

#[derive(Subcommand)]
enum Verb {
    Read(read::Read),
    Plan(plan::Plan),
    Crossovers(crossovers::Crossovers),
    Reach(reach::ReachArguments),
    Roundtrip(roundtrip::RoundtripArguments),
    Blend(blend::BlendArguments),
    Sweep(sweep::SweepArguments),
    Reduce(Box<reduce::Reduce>),
    Completions(manual::Completions),
    Manual(manual::Manual),
}

/// A fixture as an argument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FixtureArgument {
    /// Across one port.
    Reflect,
    /// From the through line to ground.
    ShuntThrough,
    /// Between the two ports.
    SeriesThrough,
}

impl From<FixtureArgument> for Fixture {
    fn from(argument: FixtureArgument) -> Self {
        match argument {
            FixtureArgument::Reflect => Self::Reflect,
            FixtureArgument::ShuntThrough => Self::ShuntThrough,
            FixtureArgument::SeriesThrough => Self::SeriesThrough,
        }
    }
}

/// Why the command stopped.
#[derive(Debug)]
enum CommandError {
    Device(DeviceError),
    Scenario(ScenarioError),
    Number(NumberError),
    Entry(EntryError),
    Nudge(String),
    Blend(BlendError),
    Formula(FormulaError),
    Touchstone(TouchstoneError),
    Reduce { file: String, error: ReduceError },
    InFile { file: String, message: String },
    Point(ReduceError),
    Sweep(SweepError),
    Write(WriteError),
    Usage(String),
    NothingToRead,
    Output(io::Error),
}

impl fmt::Display for CommandError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Device(error) => error.fmt(f),
            Self::Scenario(error) => error.fmt(f),
            Self::Number(error) => error.fmt(f),
            Self::Entry(error) => error.fmt(f),
            Self::Nudge(message) => f.write_str(message),
            Self::Blend(error) => error.fmt(f),
            Self::Formula(error) => error.fmt(f),
            Self::Touchstone(error) => error.fmt(f),
            Self::Reduce { file, error } => write!(f, "{file}: {error}"),
            Self::InFile { file, message } => write!(f, "{file}: {message}"),
            Self::Point(error) => error.fmt(f),
            Self::Sweep(error) => error.fmt(f),
            Self::Write(error) => error.fmt(f),
            Self::Usage(message) => f.write_str(message),
            Self::NothingToRead => {
                f.write_str("no device; name one, for example --device 4.7k, or a scenario file")
            }
            Self::Output(error) => write!(
                f,
                "the output can't be written: {}",
                whole_file::refused_by_system(error)
            ),
        }
    }
}

macro_rules! from_error {
    ($($variant:ident($error:ty)),*) => {
        $(impl From<$error> for CommandError {
            fn from(error: $error) -> Self {
                Self::$variant(error)
            }
        })*
    };
}
from_error!(
    Device(DeviceError),
    Scenario(ScenarioError),
    Number(NumberError),
    Entry(EntryError),
    Formula(FormulaError),
    Touchstone(TouchstoneError),
    Point(ReduceError),
    Sweep(SweepError),
    Write(WriteError),
    Output(io::Error)
);

impl From<serde_json::Error> for CommandError {
    fn from(error: serde_json::Error) -> Self {
        Self::Output(error.into())
    }
}

impl From<csv::Error> for CommandError {
    fn from(error: csv::Error) -> Self {
        Self::Output(match error.into_kind() {
            csv::ErrorKind::Io(error) => error,
            other => io::Error::other(format!("{other:?}")),
        })
    }
}

/// Runs `jig` with `arguments` (the first is the program's own name). Results go to `out`,
/// remarks and errors to `err`. Ends with 0 where all is well, with 1 where the answer is that
/// something is wrong (a formula, or fixtures of one part that contradict each other), or with 2
/// after bad input.
pub fn run<A>(arguments: A, out: &mut dyn Write, err: &mut dyn Write) -> ExitCode
where
    A: IntoIterator<Item: Into<OsString> + Clone>,
{
    let arguments: Vec<OsString> = arguments.into_iter().map(Into::into).collect();
    let line = reduce::CommandLine::new(arguments.clone());
    shell::run("jig", arguments, out, err, |arguments, out, err| {
        work(arguments, &line, out, err)
    })
}

fn work(
    arguments: Arguments,
    line: &reduce::CommandLine,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<ExitCode, CommandError> {
    match arguments.verb {
        Verb::Read(read) => read.run(out)?,
        Verb::Plan(plan) => plan.run(out)?,
        Verb::Crossovers(crossovers) => crossovers.run(out)?,
        Verb::Reach(reach) => reach.run(out)?,
        Verb::Roundtrip(roundtrip) => return roundtrip.run(out),
        Verb::Blend(blend) => return blend.run(out),
        Verb::Sweep(sweep) => sweep.run(out, err)?,
        Verb::Reduce(reduce) => return reduce.run(line, out, err),
        Verb::Completions(completions) => completions.run(out)?,
        Verb::Manual(manual) => manual.run(out)?,
    }
    Ok(ExitCode::SUCCESS)
}

fn frequency(text: &str) -> Result<f64, ValueError> {
    above_zero_with_unit(text, Unit::Hertz)
}

/// An angle of Z in degrees, within the passive half.
fn angle(text: &str) -> Result<f64, ValueError> {
    between(text, Unit::Degree, -90.0, 90.0)
}

fn reference(text: &str) -> Result<f64, ValueError> {
    above_zero(text, Unit::Ohm)
}

/// A complex reading or impedance in JSON.
#[derive(Serialize)]
struct Parts {
    re: f64,
    im: f64,
}

impl From<Complex64> for Parts {
    fn from(value: Complex64) -> Self {
        Self {
            re: value.re,
            im: value.im,
        }
    }
}

/// An impedance in JSON.
#[derive(Serialize)]
struct Ohms {
    r_ohm: f64,
    x_ohm: f64,
}

impl Ohms {
    fn of(device: Immittance) -> Option<Self> {
        device.impedance().map(|z| Self {
            r_ohm: z.re,
            x_ohm: z.im,
        })
    }
}
