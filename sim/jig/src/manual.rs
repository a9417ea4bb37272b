//! What a shell and `man` want to know of the command.

use std::io::Write;

use clap::{Args, Command, CommandFactory};
use clap_complete::{Shell, generate};
use clap_mangen::Man;

use super::{Arguments, CommandError};
use jigwise_bench::expected_one_of;

/// Write what a shell needs to complete the options of jig: redirect it into the shell's folder of
/// completions.
#[derive(Args)]
pub(super) struct Completions {
    /// The shell.
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        // In memory first: the generator panics where an output is closed.
        let mut text = Vec::new();
        generate(self.shell, &mut Arguments::command(), "jig", &mut text);
        out.write_all(&text)?;
        Ok(())
    }
}

/// Write the manual page of jig, or of one of its verbs: redirect it into jig.1 or jig-VERB.1.
#[derive(Args)]
pub(super) struct Manual {
    /// The verb; without one the page of jig itself.
    verb: Option<String>,
}

impl Manual {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let mut whole = Arguments::command();
        whole.build();
        let page = match &self.verb {
            None => Man::new(whole),
            Some(verb) => match whole.find_subcommand(verb) {
                Some(found) => Man::new(found.clone()).title(format!("jig-{verb}")),
                None => {
                    let verbs: Vec<&str> = whole.get_subcommands().map(Command::get_name).collect();
                    return Err(CommandError::Usage(format!(
                        "there is no verb \"{}\", {}",
                        jigwise_quantity::excerpt(verb, jigwise_quantity::MAX_QUOTED),
                        expected_one_of(verb, &verbs)
                    )));
                }
            },
        };
        page.render(&mut { out })?;
        Ok(())
    }
}
