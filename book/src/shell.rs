//! Shell lines are run when the book is built: what is printed below them is what they say.

use std::ffi::OsString;
use std::process::ExitCode;

use jigwise_page::{Block, BlockError};
use maud::{PreEscaped, Render, html};

use crate::folders::{project, without_project};

/// `console`, then lines that begin with `$`. A line ends with 0, or the fence says
/// `console fails` and it does not.
pub(crate) fn html(block: &Block<'_>) -> Result<String, BlockError> {
    let expected = match block.words[..] {
        [] => true,
        ["fails"] => false,
        _ => return Err(block.error("expected console, or console fails")),
    };
    let mut shown = String::new();
    let mut first = None;
    for (index, line) in block.body.lines().enumerate() {
        let Some(command) = line.strip_prefix("$ ") else {
            return Err(block.body_error(
                index,
                "expected a line that begins with \"$ \"; its output is filled in",
            ));
        };
        let (code, output) = run(command).map_err(|message| block.body_error(index, message))?;
        if (code == ExitCode::SUCCESS) != expected {
            let wanted = if expected { "success" } else { "failure" };
            return Err(block.body_error(
                index,
                format!(
                    "expected {wanted} and it ended otherwise: {}",
                    output.trim()
                ),
            ));
        }
        first.get_or_insert(command);
        shown.push_str(&command_line(command));
        for line in output.lines() {
            shown.push_str(&folded(line));
        }
    }
    // A table keeps its lines, a sentence is broken where the page ends.
    let wrap = first.is_some_and(|command: &str| command.starts_with("cargo lab"));
    // A line break would end the block for mdBook.
    let columns = shown.lines().map(|line| line.chars().count()).max();
    let columns = format!("--jw-columns:{}", columns.unwrap_or(COLUMNS));
    let shown = shown.trim_end().render().into_string();
    let shown = PreEscaped(shown.replace('\n', "&#10;"));
    let label = format!("Shell: {}", first.unwrap_or_default());
    let html = html! {
        div.jw-shell.wrap[wrap] tabindex="0" role="group" aria-label=(label) style=(columns) {
            pre { code.nohighlight { (shown) } }
        }
    };
    Ok(html.into_string())
}

/// Columns of the terminal that is shown.
const COLUMNS: usize = 100;

/// Words set in lines of at most [`COLUMNS`] where they can be; each further line begins with
/// `indent`, each but the last ends with `joint`.
fn set<'a>(words: impl Iterator<Item = &'a str>, indent: &str, joint: &str) -> String {
    let mut text = String::new();
    let mut column = 0;
    for word in words {
        let length = word.chars().count();
        if column > 0 && column + 1 + length + joint.chars().count() > COLUMNS {
            text.push_str(&format!("{joint}\n{indent}{word}"));
            column = indent.len() + length;
        } else {
            if column > 0 {
                text.push(' ');
                column += 1;
            }
            text.push_str(word);
            column += length;
        }
    }
    text.push('\n');
    text
}

/// A command as it may be typed, broken by backslashes where it is long.
fn command_line(command: &str) -> String {
    // What quotes hold together is not broken.
    let mut quoted = false;
    let pieces = command.split(|c: char| {
        quoted ^= c == '"';
        c == ' ' && !quoted
    });
    // An option and its value stay together.
    let mut glued: Vec<String> = vec!["$".to_owned()];
    for piece in pieces {
        match glued.last_mut() {
            Some(last) if is_option(last) && !is_option(piece) => {
                last.push(' ');
                last.push_str(piece);
            }
            _ => glued.push(piece.to_owned()),
        }
    }
    set(glued.iter().map(String::as_str), "    ", " \\")
}

fn is_option(words: &str) -> bool {
    words.starts_with("--") && !words.contains(' ')
}

/// A line of output; a long sentence goes on in the next line, a row of a table does not.
fn folded(line: &str) -> String {
    if line.chars().count() <= COLUMNS || line.trim_start().contains("  ") {
        return format!("{line}\n");
    }
    let indent = &line[..line.len() - line.trim_start().len()];
    format!(
        "{indent}{}",
        set(line.trim_start().split(' '), &format!("{indent}  "), "")
    )
}

/// Runs `cargo jig …` or `cargo lab …` in this process.
fn run(command: &str) -> Result<(ExitCode, String), String> {
    let words = shlex::split(command).ok_or("a quote that is never closed; close it")?;
    let [cargo, verb, ..] = &words[..] else {
        return Err("expected a command such as cargo jig read --device 4.7k".to_owned());
    };
    if cargo != "cargo" {
        return Err(format!(
            "\"{cargo}\": only cargo jig and cargo lab are run here"
        ));
    }
    let arguments = words[1..].iter().map(|word| from_project(word));
    let mut out = Vec::new();
    let mut err = Vec::new();
    let code = match verb.as_str() {
        "jig" => jigwise_jig::run(arguments, &mut out, &mut err),
        "lab" => jigwise_exercises::command::run(arguments, &mut out, &mut err),
        other => {
            return Err(format!(
                "\"{other}\": only cargo jig and cargo lab are run here"
            ));
        }
    };
    out.extend(err);
    String::from_utf8(out)
        .map(|output| (code, without_project(&output)))
        .map_err(|_| "its output is not text".to_owned())
}

/// What names something in the project is found wherever the book is built.
fn from_project(word: &str) -> OsString {
    let path = project().join(word);
    if word.contains('/') && path.exists() {
        path.into()
    } else {
        word.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_hold_together() {
        let (code, output) = run("cargo lab check reflect-impedance \"10 nF\"").unwrap();
        assert_eq!(code, ExitCode::from(2));
        assert!(output.contains("\"10 nF\""), "{output}");
        assert!(run("cargo \"lab").unwrap_err().contains("never closed"));
    }

    #[test]
    fn long_lines_go_on_and_tables_stay() {
        let command = format!(
            "cargo jig reduce --at \"1 MHz\" {}",
            "exercises/x.s2p ".repeat(9)
        );
        let shown = command_line(command.trim());
        assert!(
            shown.lines().all(|line| line.chars().count() <= COLUMNS),
            "{shown}"
        );
        assert!(
            shown.starts_with("$ cargo jig reduce --at \"1 MHz\" "),
            "{shown}"
        );
        let joined = shown.trim_end().replace(" \\\n   ", "");
        assert_eq!(joined, format!("$ {}", command.trim()));
        let sentence = "a word ".repeat(30);
        assert!(folded(sentence.trim()).lines().count() > 1);
        let row = "1 MHz      ".repeat(12);
        assert_eq!(folded(&row).lines().count(), 1);
    }

    #[test]
    fn only_our_own_commands_are_run() {
        assert!(run("cargo publish").is_err());
        assert!(run("ls").is_err());
        let (code, output) = run("cargo jig read --device 4.7k").unwrap();
        assert_eq!(code, ExitCode::SUCCESS);
        assert!(output.contains("Series-through"), "{output}");
    }
}
