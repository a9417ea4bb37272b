/// A word of a line with its place, both counted from 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Word<'a> {
    pub text: &'a str,
    pub column: usize,
}

/// A line that holds something besides a comment.
#[derive(Debug)]
pub(crate) struct Line<'a> {
    pub number: usize,
    pub words: Vec<Word<'a>>,
}

/// Non-blank lines without their comments. CR, LF and CRLF end a line.
pub(crate) fn lines(text: &str) -> impl Iterator<Item = Line<'_>> {
    split_lines(text).enumerate().filter_map(|(index, line)| {
        let before_comment = line.split('!').next().unwrap_or_default();
        let words = words(before_comment);
        (!words.is_empty()).then_some(Line {
            number: index + 1,
            words,
        })
    })
}

fn split_lines(text: &str) -> impl Iterator<Item = &str> {
    text.split('\n').flat_map(|line| {
        let line = line.strip_suffix('\r').unwrap_or(line);
        line.split('\r')
    })
}

fn words(line: &str) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut start = None;
    for (at, character) in line.char_indices() {
        if character.is_whitespace() {
            if let Some(from) = start.take() {
                words.push(word(line, from, at));
            }
        } else if start.is_none() {
            start = Some(at);
        }
    }
    if let Some(from) = start {
        words.push(word(line, from, line.len()));
    }
    words
}

fn word(line: &str, from: usize, to: usize) -> Word<'_> {
    Word {
        text: &line[from..to],
        column: line[..from].chars().count() + 1,
    }
}
