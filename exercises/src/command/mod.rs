//! The command `lab`, as a function over its arguments and its two outputs, so that a test
//! calls it without a process.

mod grade;
mod talk;
mod tray;

use std::ffi::OsString;
use std::fmt;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use jigwise_bench::shell::{self, write_whole};
use jigwise_bench::{ScenarioError, ValueError, parse_count};

use crate::{AnswerError, Area, CatalogueError, Task, catalogue};

/// What `lab check` ends with where the answer is not right.
const NOT_RIGHT: u8 = 1;

/// Tasks about the three fixtures with checked answers; trays, grades and talks.
#[derive(Parser)]
#[command(name = "lab", version = jigwise_bench::version(), disable_help_subcommand = true)]
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
    /// A task worked out, with its answer.
    Solution {
        /// The task's key.
        task: String,
    },
    /// Write a task's measurement into a folder.
    Data {
        /// The task's key.
        task: String,
        /// The folder.
        #[arg(default_value = ".")]
        folder: PathBuf,
    },
    /// All labs for a class.
    Labs,
    /// Make trays for a class: a folder for each group, and one for the teacher alone.
    Tray(tray::Arguments),
    /// Grade the forms of a class.
    Grade(grade::Arguments),
    /// Talks for a club evening.
    #[command(subcommand)]
    Talk(talk::Verb),
}

#[derive(Debug)]
enum CommandError {
    Catalogue(CatalogueError),
    Answer {
        task: &'static Task,
        error: Box<AnswerError>,
    },
    NoSuchHint {
        task: &'static Task,
        error: ValueError,
    },
    /// What a message says by itself.
    Said(String),
    File {
        path: PathBuf,
        error: io::Error,
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
            Self::Said(message) => f.write_str(message),
            Self::File { path, error } => write!(
                f,
                "{}: {error}; check the folder, its permissions and the room on the disk",
                path.display()
            ),
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

impl From<ScenarioError> for CommandError {
    fn from(error: ScenarioError) -> Self {
        Self::Said(error.to_string())
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
    shell::run("lab", arguments, out, err, work)
}

fn work(
    arguments: Arguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<ExitCode, CommandError> {
    let mut code = ExitCode::SUCCESS;
    match arguments.verb {
        Verb::List => list(out)?,
        Verb::Show { task } => show(catalogue().task(&task)?, out)?,
        Verb::Hint { task, number } => hint(catalogue().task(&task)?, &number, out)?,
        Verb::Solution { task } => {
            for step in catalogue().task(&task)?.solution() {
                writeln!(out, "{step}")?;
            }
        }
        Verb::Data { task, folder } => data(catalogue().task(&task)?, &folder, out)?,
        Verb::Labs => tray::list(out)?,
        Verb::Tray(arguments) => tray::make(&arguments, out, err)?,
        Verb::Grade(arguments) => grade::grade(&arguments, out, err)?,
        Verb::Talk(verb) => talk::talk(&verb, out)?,
        Verb::Check { task, answer } => {
            let task = catalogue().task(&task)?;
            let verdict = task.check(&answer).map_err(|error| CommandError::Answer {
                task,
                error: Box::new(error),
            })?;
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
    for area in Area::ALL {
        writeln!(out, "{}", area.title())?;
        for task in catalogue().tasks().iter().filter(|t| t.area() == area) {
            writeln!(
                out,
                "  {:width$}  {} (level {}, {} min)",
                task.key(),
                task.title(),
                task.level(),
                task.minutes()
            )?;
        }
    }
    Ok(())
}

fn show(task: &Task, out: &mut dyn Write) -> Result<(), CommandError> {
    writeln!(out, "{}\n{}", task.title(), task.prompt())?;
    for (letter, option) in task.options() {
        writeln!(out, "  {letter}) {option}")?;
    }
    writeln!(out, "{}", task.form())?;
    if let Some(data) = task.data()? {
        writeln!(
            out,
            "\n{}, which cargo lab data {} writes into a file:\n{}",
            data.name,
            task.key(),
            data.text.trim_end()
        )?;
    }
    Ok(())
}

fn data(task: &Task, folder: &Path, out: &mut dyn Write) -> Result<(), CommandError> {
    let Some(data) = task.data()? else {
        return Err(CommandError::Said(format!(
            "{} has no file: all its numbers are in the question, which cargo lab show {} prints",
            task.key(),
            task.key()
        )));
    };
    let path = folder.join(&data.name);
    write_whole(&path, |file| file.write_all(data.text.as_bytes())).map_err(|error| {
        CommandError::File {
            path: path.clone(),
            error,
        }
    })?;
    writeln!(out, "{}", path.display())?;
    Ok(())
}

fn hint(task: &'static Task, number: &str, out: &mut dyn Write) -> Result<(), CommandError> {
    let hints = task.hints();
    let number = parse_count(number, 1, hints.len() as u64)
        .map_err(|error| CommandError::NoSuchHint { task, error })?;
    // The number is one of the hints, so the index is inside.
    writeln!(out, "{}", hints[number as usize - 1])?;
    Ok(())
}
