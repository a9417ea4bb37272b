//! The answer form: a file, and a page that writes the file.

use std::fmt::Write as _;

use maud::{PreEscaped, html};

use super::group::Group;
use super::make::TraySet;
use super::page::page;

/// The version of the form.
pub(crate) const VERSION: u32 = 1;

/// A text in the quotes of TOML.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                // Writing to a string can't fail.
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// What the form of a group is called: names of their own, so that all forms go into one folder.
pub(super) fn file_name(set: &TraySet, group: u32) -> String {
    format!("answers-{}.toml", set.folder(group))
}

pub(super) fn toml(set: &TraySet, group: &Group) -> String {
    let mut out = format!(
        "# Answers to \"{}\". Write them between the quotes and hand in this file.\n\
         version = {VERSION}\nlab = {}\ntray = {}\ngroup = {}\nnames = \"\"\nhanded_in = \"\"\n\n\
         [answers]\n",
        set.lab.title,
        quoted(&set.lab.key),
        quoted(&set.code()),
        group.number
    );
    for question in &group.questions {
        let prompt = question.task.prompt().replace('\n', " ");
        let _ = writeln!(out, "# {prompt}\n{} = \"\"", question.name);
    }
    out
}

const SCRIPT: &str = include_str!("form.js");

pub(super) fn answer_page(set: &TraySet, group: &Group) -> String {
    let title = format!("Answers: {}, group {}", set.lab.title, group.number);
    let file = file_name(set, group.number);
    let inside = html! {
        header {
            p.from { "Jigwise lab, tray " (set.code()) ", group " (group.number) }
            h1 { "Answers: " (set.lab.title) }
        }
        p { "Nothing is sent anywhere. The button writes a file, and you hand in that file." }
        form id="form" data-version=(VERSION) data-lab=(set.lab.key) data-tray=(set.code())
            data-group=(group.number) data-file=(file) {
            label for="names" { "Names" }
            input id="names" autocomplete="off";
            @for question in &group.questions {
                label for=(question.name) {
                    strong { (question.name) ". " (question.task.title()) "." } " "
                    (question.task.prompt())
                    @for (letter, text) in question.task.options() { br; (letter) ") " (text) }
                    br; span.from { (question.form()) }
                }
                input id=(question.name) data-question=(question.name) autocomplete="off"
                    spellcheck="false";
            }
            button type="button" id="save" { "Save " (file) }
            button type="button" id="show" { "Show the text" }
        }
        p id="said" role="status" {}
        label for="text" {
            "If saving fails, copy this text into a file named " (file) ":"
        }
        textarea id="text" readonly spellcheck="false" {}
        script { (PreEscaped(SCRIPT)) }
    };
    page(&title, &inside)
}
