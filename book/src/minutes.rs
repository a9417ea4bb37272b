//! The minutes a page takes: computed from what it holds, shown under its title, summed for the
//! book. The rule is this file's, and the page on how to use the book states it.

use std::collections::HashMap;
use std::path::PathBuf;

use jigwise_exercises::catalogue;
use jigwise_exercises::talk::talk;
use mdbook_preprocessor::book::Book;

use crate::page::{Page, PageError};
use crate::{first_path, objectives};

/// Replaced by the minutes in which all pages are read.
const TOTAL: &str = "{{minutes}}";
/// Replaced by the minutes that all tasks take.
const TOTAL_TASKS: &str = "{{minutes-tasks}}";
/// Replaced by the rule in words.
const RULE: &str = "{{minutes-rule}}";

/// Running text, read slowly because each sentence carries a step: common practice, no source.
const WORDS_PER_MINUTE: f64 = 150.0;
/// Minutes for each formula that has a line of its own.
const FORMULA: f64 = 0.5;
/// Minutes for each picture, table, command, piece of code or question of a task.
const LOOK: f64 = 1.0;
/// Minutes for each example that is worked step by step.
const WORKED: f64 = 3.0;

/// Labels of blocks that are worked step by step.
const WORKED_LABELS: [&str; 4] = ["worked", "resolves", "blank", "plane"];
const TASK_LABEL: &str = "task";
const TALK_LABEL: &str = "talk";
/// Labels of fences that hold nothing but words.
const WORDS_LABELS: [&str; 2] = ["objectives", "path"];
/// What a page may take, so that a reader gets through it in one go.
const LONGEST: u32 = 12;

/// The rule in words, from the numbers that are counted with.
fn rule() -> String {
    format!(
        "{WORDS_PER_MINUTE} words take one minute. Add {FORMULA} minutes for each formula on a line \
         of its own, {LOOK} for each picture, table, command, piece of code or question of a task, \
         and {WORKED} for each worked example. A page is rounded to whole minutes, at least one. \
         Solving a task comes on top: each task says its own minutes, and a page gives their sum"
    )
}

/// How long a page takes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Minutes {
    /// To read it.
    pub(crate) reading: u32,
    /// To solve its tasks, as they say themselves.
    pub(crate) tasks: u32,
    /// To speak its talk.
    pub(crate) spoken: u32,
}

impl Minutes {
    /// As it stands below the title.
    fn words(self) -> String {
        let reading = match self.reading {
            1 => "About 1 minute".to_owned(),
            minutes => format!("About {minutes} minutes"),
        };
        match (self.tasks, self.spoken) {
            (0, 0) => reading,
            (0, spoken) => format!("{reading} to read, and {spoken} to speak"),
            (tasks, _) => format!("{reading} to read, and {tasks} to solve its tasks"),
        }
    }
}

/// The minutes of pages by their path.
pub(crate) type Counted = HashMap<PathBuf, Minutes>;

/// Shows each page's minutes below its title, those of a chapter beside its objectives, and those
/// of the first path.
///
/// # Errors
/// [`PageError`] for a page that does not begin with its title and a blank line or that takes too
/// long, and for wrong objectives and paths.
pub(crate) fn show(book: &mut Book) -> Result<(), PageError> {
    let mut counted = Counted::new();
    for chapter in book.chapters() {
        let page = Page::of(chapter);
        let minutes = of(&page);
        if minutes.reading > LONGEST {
            let message = format!(
                "the page takes {} minutes to read, and a page may take {LONGEST}; split it",
                minutes.reading
            );
            return Err(PageError::new(page.file(), 1, message));
        }
        if let Some(path) = &chapter.source_path {
            counted.insert(path.clone(), minutes);
        }
    }
    objectives::set(book, &counted)?;
    first_path::set(book, &counted)?;
    let total: u32 = counted.values().map(|minutes| minutes.reading).sum();
    let tasks: u32 = counted.values().map(|minutes| minutes.tasks).sum();
    let mut first_error = None;
    book.for_each_chapter_mut(|chapter| {
        let minutes = chapter
            .source_path
            .as_ref()
            .and_then(|path| counted.get(path));
        let Some(minutes) = minutes else {
            return;
        };
        match shown(&Page::of(chapter), *minutes) {
            Ok(content) => {
                chapter.content = content
                    .replace(TOTAL, &total.to_string())
                    .replace(TOTAL_TASKS, &tasks.to_string())
                    .replace(RULE, &rule());
            }
            Err(error) => {
                first_error.get_or_insert(error);
            }
        }
    });
    first_error.map_or(Ok(()), Err)
}

fn shown(page: &Page<'_>, minutes: Minutes) -> Result<String, PageError> {
    let misplaced = |line, message: &str| {
        PageError::new(
            page.file(),
            line,
            format!("{message}; begin the page with \"# Title\" and a blank line"),
        )
    };
    let text = page.text();
    let (title, rest) = text.split_once('\n').unwrap_or((text, ""));
    if !title.starts_with("# ") {
        return Err(misplaced(1, "no title"));
    }
    let below = match rest.split_once('\n') {
        None if rest.is_empty() => "",
        Some(("", below)) => below,
        _ => return Err(misplaced(2, "no blank line below the title")),
    };
    let words = minutes.words();
    // In Markdown a comment ends its block in its own line, so the lines below stay.
    Ok(format!(
        "{title}\n<!-- --><p class=\"minutes\">{words}</p>\n{below}"
    ))
}

/// The minutes of a page as it is written. A task or a talk that there is not takes none: its block
/// is refused later, with its line.
pub(crate) fn of(page: &Page<'_>) -> Minutes {
    let is_words = |info: &str| WORDS_LABELS.contains(&info);
    let mut fences = page.fences();
    fences.retain(|fence| !is_words(&fence.info));
    let mut of_blocks = 0.0;
    let mut tasks = 0;
    let mut spoken = 0;
    for fence in &fences {
        let mut words = fence.info.split([' ', ',']);
        of_blocks += match (words.next(), words.next()) {
            (Some(TASK_LABEL), Some(key)) => {
                tasks += catalogue().task(key).map_or(0, |task| task.minutes());
                LOOK
            }
            (Some(TALK_LABEL), Some(key)) => {
                spoken += talk(key).map_or(0, |talk| talk.minutes());
                in_minutes(talk(key).map_or(0, |talk| talk.words()))
            }
            (Some(label), _) if WORKED_LABELS.contains(&label) => WORKED,
            _ => LOOK,
        };
    }
    let without = fences.into_iter().map(|fence| (fence.range, String::new()));
    let text = page.edited(without.collect());
    let mut words = 0;
    let mut formulas = 0;
    // Every other piece stands between the signs of a displayed formula.
    for (index, piece) in text.split("$$").enumerate() {
        if index % 2 == 0 {
            words += piece
                .split_whitespace()
                .filter(|word| is_word(word))
                .count();
        } else {
            formulas += 1;
        }
    }
    let all = in_minutes(words) + f64::from(formulas) * FORMULA + of_blocks;
    Minutes {
        // A page has far fewer than 2³² words.
        reading: all.round().max(1.0) as u32,
        tasks,
        spoken,
    }
}

fn in_minutes(words: usize) -> f64 {
    words as f64 / WORDS_PER_MINUTE
}

/// True for what is read; signs of Markdown are not.
fn is_word(word: &str) -> bool {
    word.chars().any(char::is_alphanumeric)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(minutes: u32) -> Minutes {
        Minutes {
            reading: minutes,
            ..Minutes::default()
        }
    }

    #[test]
    fn lines_below_the_title_stay() {
        let text = "# Title\n\nText\n";
        let shown = shown(&Page::new("p.md", text), reading(1)).unwrap();
        let line = |text: &str| text.lines().position(|line| line == "Text");
        assert_eq!(line(&shown), line(text));
        assert!(shown.contains("About 1 minute<"), "{shown}");
    }

    /// Counted by hand with the rule: 300 words are two minutes, and so on.
    #[test]
    fn minutes_follow_the_rule() {
        let words = "word ".repeat(300);
        for (body, expected) in [
            (words.clone(), 2),
            (format!("{words}{}", "more ".repeat(74)), 2),
            (format!("{words}{}", "more ".repeat(75)), 3),
            (format!("{words}\n\n$$ x $$\n\n$$ y $$\n"), 3),
            (format!("{words}\n\n```chart match\n```\n"), 3),
            (format!("{words}\n\n```worked reflect match\n```\n"), 5),
            (format!("{words}\n\n```task a\n```\n\n```task b\n```\n"), 4),
            ("- \n- \n".to_owned(), 1),
        ] {
            // A title of no word, so that the sums are round.
            let text = format!("# –\n\n{body}");
            assert_eq!(of(&Page::new("p.md", &text)), reading(expected), "{text}");
        }
    }

    /// The tasks' own minutes, and those of the talk's stops, are told apart from the reading.
    #[test]
    fn tasks_and_talks_are_counted_apart() {
        let key = "reflect-level";
        let own = catalogue().task(key).unwrap().minutes();
        let text = format!("# –\n\n```task {key}\n```\n\n```task {key}\n```\n");
        let found = of(&Page::new("p.md", &text));
        assert_eq!(found.tasks, 2 * own);
        assert_eq!(
            found.words(),
            format!(
                "About 2 minutes to read, and {} to solve its tasks",
                2 * own
            )
        );
        let found = of(&Page::new("p.md", "# –\n\n```talk club\n```\n"));
        assert_eq!(found.spoken, talk("club").unwrap().minutes());
        assert!(found.reading > 1, "{found:?}");
    }

    #[test]
    fn the_rule_in_words_names_its_numbers() {
        let rule = rule();
        for number in ["150 words", "0.5 minutes", "1 for", "3 for"] {
            assert!(rule.contains(number), "{rule}");
        }
    }

    #[test]
    fn a_page_without_its_title_is_refused() {
        for (text, line, reason) in [
            ("Text\n", 1, "no title"),
            ("\n# Title\n", 1, "no title"),
            ("# Title\nText\n", 2, "no blank line"),
        ] {
            let error = shown(&Page::new("p.md", text), reading(1)).unwrap_err();
            assert_eq!(error.line(), line, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
