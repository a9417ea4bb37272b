//! The command `lab`, as a function over its arguments and its two outputs, so that a test
//! calls it without a process.

use std::ffi::OsString;
use std::fmt;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use jigwise_bench::Fixture;
use jigwise_bench::shell;
use jigwise_bench::words::fixture_title;
use jigwise_bench::{ValueError, parse_count};

use crate::{AnswerError, CatalogueError, Task, catalogue};

/// What `lab check` ends with where the answer is not right.
const NOT_RIGHT: u8 = 1;

/// Tasks about the three fixtures, with hints and checked answers.
#[derive(Parser)]
#[command(name = "lab", disable_help_subcommand = true)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// All tasks.
    List,
    /// A task's question.
    Show {
        /// The task's key, as `lab list` prints it.
        task: String,
    },
    /// A hint; the first, or the one numbered.
    Hint {
        /// The task's key.
        task: String,
        /// Which one, from 1.
        #[arg(default_value = "1")]
        number: String,
    },
    /// Check an answer: ends with 0 where it is right, 1 where not, 2 where it is no answer.
    Check {
        /// The task's key.
        task: String,
        /// A number with its unit, "330 - j120", a fixture, or a formula in S and Z0.
        #[arg(allow_hyphen_values = true)]
        answer: String,
    },
}

#[derive(Debug)]
enum CommandError {
    Catalogue(CatalogueError),
    Answer {
        task: &'static Task,
        error: AnswerError,
    },
    NoSuchHint {
        task: &'static Task,
        error: ValueError,
    },
    Output(io::Error),
}

impl fmt::Display for CommandError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Catalogue(error) => error.fmt(f),
            Self::Answer { task, error } => write!(f, "{error}. {}", task.form()),
            Self::NoSuchHint { task, error } => {
                write!(
                    f,
                    "{error}: {} has {} hints",
                    task.key(),
                    task.hints().len()
                )
            }
            Self::Output(error) => {
                write!(
                    f,
                    "the output can't be written ({error}); is the disk full?"
                )
            }
        }
    }
}

impl From<io::Error> for CommandError {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

impl From<CatalogueError> for CommandError {
    fn from(error: CatalogueError) -> Self {
        Self::Catalogue(error)
    }
}

/// Runs `lab` with `arguments` (the first is the program's own name). Ends with 0, with 1
/// where an answer is not right, or with 2 after bad input.
pub fn run<A>(arguments: A, out: &mut dyn Write, err: &mut dyn Write) -> ExitCode
where
    A: IntoIterator<Item: Into<OsString> + Clone>,
{
    shell::run("lab", arguments, out, err, |arguments, out, _| {
        work(arguments, out)
    })
}

fn work(arguments: Arguments, out: &mut dyn Write) -> Result<ExitCode, CommandError> {
    let mut code = ExitCode::SUCCESS;
    match arguments.verb {
        Verb::List => list(out)?,
        Verb::Show { task } => show(catalogue().task(&task)?, out)?,
        Verb::Hint { task, number } => hint(catalogue().task(&task)?, &number, out)?,
        Verb::Check { task, answer } => {
            let task = catalogue().task(&task)?;
            let verdict = task
                .check(&answer)
                .map_err(|error| CommandError::Answer { task, error })?;
            writeln!(out, "{verdict}")?;
            if !verdict.is_right() {
                code = ExitCode::from(NOT_RIGHT);
            }
        }
    }
    Ok(code)
}

fn list(out: &mut dyn Write) -> io::Result<()> {
    let widest = |tasks: &[Task]| tasks.iter().map(|task| task.key().len()).max().unwrap_or(0);
    let width = widest(catalogue().tasks());
    for fixture in Fixture::ALL {
        writeln!(out, "{}", fixture_title(fixture))?;
        for task in catalogue()
            .tasks()
            .iter()
            .filter(|t| t.fixture() == fixture)
        {
            writeln!(out, "  {:width$}  {}", task.key(), task.title())?;
        }
    }
    Ok(())
}

fn show(task: &Task, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}\n{}\n{}", task.title(), task.prompt(), task.form())
}

fn hint(task: &'static Task, number: &str, out: &mut dyn Write) -> Result<(), CommandError> {
    let hints = task.hints();
    let number = parse_count(number, 1, hints.len() as u64)
        .map_err(|error| CommandError::NoSuchHint { task, error })?;
    // The number is one of the hints, so the index is inside.
    writeln!(out, "{}", hints[number as usize - 1])?;
    Ok(())
}
