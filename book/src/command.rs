//! The command `book`, as a function over its arguments, its input and its two outputs.

use std::ffi::OsString;
use std::fmt;
use std::io::{self, Read, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};
use jigwise_bench::{ValueError, parse_count, shell};
use mdbook_driver::errors::Error;

use crate::edition::{Edition, Wanted};
use crate::folders::root;
use crate::offline::{NetworkReference, network_references};
use crate::passes::Pass;
use crate::pieces;
use crate::press::{BuildError, build};
use crate::serve::serve;
use crate::web::WebError;

/// Build, serve and test the book.
#[derive(Parser)]
#[command(name = "book", version = jigwise_bench::version(), disable_help_subcommand = true)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Build the book into target/book, for any server of files.
    Build {
        #[command(flatten)]
        edition: EditionArguments,
        /// For a memory stick: the folder opens in a browser without a server. Wants --out.
        #[arg(long, requires = "out")]
        stick: bool,
    },
    /// Build the book and show it on this machine's own address.
    Serve {
        #[command(flatten)]
        edition: EditionArguments,
        /// The port; 0 takes a free one.
        #[arg(long, value_parser = port, default_value = "3250")]
        port: u16,
    },
    /// Build the book, look for references to the network, and test its examples.
    Test,
    /// What pieces of live pages are, from JSON to JSON, for the checks in a browser.
    #[command(hide = true)]
    Pieces,
    /// One pass over a book that comes in as JSON, for stock mdBook.
    #[command(hide = true)]
    Preprocess {
        /// The pass, as book.toml names it.
        pass: String,
        /// `supports RENDERER`, as mdBook asks.
        question: Vec<String>,
    },
}

#[derive(Args)]
struct EditionArguments {
    /// Another folder: a new one, an empty one, or one that an earlier build made.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// The simulator too, as a page; its first build takes a quarter of an hour.
    #[arg(long)]
    with_simulator: bool,
    /// Pages that stay as they are printed: quicker to build, and no compiler for the web is asked
    /// for.
    #[arg(long)]
    still: bool,
}

impl EditionArguments {
    /// Builds the modules and says what became of them.
    fn edition(self, stick: bool, err: &mut dyn Write) -> Result<Edition, CommandError> {
        let wanted = Wanted {
            out: self.out,
            simulator: self.with_simulator,
            stick,
            still: self.still,
        };
        let edition = Edition::new(&root(), &wanted)?;
        if let Some(remedy) = edition.still_because() {
            writeln!(
                err,
                "The pages stay as they are printed: {remedy}. Then build again; --still asks for \
                 still pages and ends this note."
            )?;
        }
        Ok(edition)
    }
}

fn port(text: &str) -> Result<u16, ValueError> {
    // The number is in the range of u16, so the conversion keeps it.
    parse_count(text, 0, u64::from(u16::MAX)).map(|port| port as u16)
}

#[derive(Debug)]
enum CommandError {
    Build(BuildError),
    Web(WebError),
    Pass(Error),
    UnknownPass(String),
    ReachesOut(Vec<NetworkReference>),
    Examples,
    Output(io::Error),
}

impl fmt::Display for CommandError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Build(error) => error.fmt(f),
            Self::Web(error) => error.fmt(f),
            Self::Pass(error) => write!(f, "{error:#}"),
            Self::UnknownPass(name) => {
                let known = Pass::ALL.map(Pass::key);
                write!(
                    f,
                    "\"{name}\" is no pass{}",
                    jigwise_bench::hint(name, &known)
                )
            }
            Self::ReachesOut(references) => {
                write!(f, "the book has to work offline, and it asks the network:")?;
                for reference in references {
                    write!(
                        f,
                        "\n  {}, line {}: {}",
                        reference.file.display(),
                        reference.line,
                        reference.address
                    )?;
                }
                Ok(())
            }
            Self::Examples => f.write_str("an example in the book fails; see above"),
            Self::Output(error) => error.fmt(f),
        }
    }
}

impl From<BuildError> for CommandError {
    fn from(error: BuildError) -> Self {
        Self::Build(error)
    }
}

impl From<WebError> for CommandError {
    fn from(error: WebError) -> Self {
        Self::Web(error)
    }
}

impl From<io::Error> for CommandError {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

/// Runs `book` with `arguments` (the first is the program's own name). Ends with 0, or 2
/// where the book or the input is at fault; a pass that does not support a renderer ends
/// with 1, as mdBook expects.
pub fn run<A>(
    arguments: A,
    input: &mut dyn Read,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> ExitCode
where
    A: IntoIterator<Item: Into<OsString> + Clone>,
{
    shell::run("book", arguments, out, err, |arguments, out, err| {
        work(arguments, input, out, err)
    })
}

fn work(
    arguments: Arguments,
    input: &mut dyn Read,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<ExitCode, CommandError> {
    match arguments.verb {
        Verb::Build { edition, stick } => {
            let edition = edition.edition(stick, err)?;
            let folder = edition.build()?;
            writeln!(out, "The book is in {}", folder.display())?;
        }
        Verb::Serve { edition, port } => {
            let edition = edition.edition(false, err)?;
            let folder = edition.build()?;
            serve(edition, &folder, port, out)?;
        }
        Verb::Test => test(out)?,
        Verb::Pieces => pieces::run(input, out)?,
        Verb::Preprocess { pass, question } => {
            let pass = Pass::of_key(&pass).ok_or(CommandError::UnknownPass(pass))?;
            match &question[..] {
                [] => pass
                    .run_as_command(input, out)
                    .map_err(CommandError::Pass)?,
                [word, renderer] if word == "supports" => {
                    let supported = ["html", "test"].contains(&renderer.as_str());
                    return Ok(ExitCode::from(u8::from(!supported)));
                }
                _ => return Ok(ExitCode::from(shell::BAD_INPUT)),
            }
        }
    }
    out.flush()?;
    Ok(ExitCode::SUCCESS)
}

fn test(out: &mut dyn Write) -> Result<(), CommandError> {
    let folder = build(&root(), None)?;
    let references = network_references(&folder)?;
    if !references.is_empty() {
        return Err(CommandError::ReachesOut(references));
    }
    writeln!(
        out,
        "Built, shell lines run, links followed, nothing asks the network."
    )?;
    out.flush()?;
    let examples = std::process::Command::new(std::env::var_os("CARGO").unwrap_or("cargo".into()))
        .args(["test", "--quiet", "--package", "jigwise-book", "--doc"])
        .current_dir(root())
        .status()?;
    if !examples.success() {
        return Err(CommandError::Examples);
    }
    Ok(())
}
