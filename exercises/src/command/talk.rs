//! `lab talk`: the talks that come along, and the check of a talk of one's own.

use std::io::Write;
use std::path::PathBuf;

use clap::Subcommand;
use jigwise_bench::file::text_of;

use super::CommandError;
use crate::talk::{Talk, talks};

#[derive(Subcommand)]
pub(super) enum Verb {
    /// The talks that come with Jigwise.
    List,
    /// Read a talk file: its stops, or file and line of what is wrong. Ends with 2 where
    /// something is.
    Check {
        /// The talk, a TOML file.
        file: PathBuf,
    },
}

pub(super) fn talk(verb: &Verb, out: &mut dyn Write) -> Result<(), CommandError> {
    match verb {
        Verb::List => {
            for built_in in talks() {
                let talk = &built_in.talk;
                writeln!(
                    out,
                    "{:5}  {} ({} min, {} stops)",
                    built_in.key,
                    talk.title,
                    talk.minutes(),
                    talk.stops.len()
                )?;
            }
            Ok(())
        }
        Verb::Check { file } => {
            let (text, name) = text_of(file)?;
            let talk = Talk::from_toml(&text, &name)?;
            let faults: Vec<String> = talk.faults().map(ToString::to_string).collect();
            if !faults.is_empty() {
                return Err(CommandError::Said(faults.join("\nlab: ")));
            }
            for (number, stop) in (1..).zip(&talk.stops) {
                writeln!(out, "{number:2}  {:4} s  {}", stop.seconds, stop.title)?;
            }
            writeln!(
                out,
                "\"{}\": {} stops, {} min; nothing is wrong",
                talk.title,
                talk.stops.len(),
                talk.minutes()
            )?;
            Ok(())
        }
    }
}
