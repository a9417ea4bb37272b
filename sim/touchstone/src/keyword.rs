use crate::Mode;
use crate::error::Located;
use crate::problem::Problem;
use crate::text::{Word, before_comment, is_blank, shown, words};

/// The keywords of version 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Keyword {
    Version,
    Ports,
    TwoPortOrder,
    Frequencies,
    NoiseFrequencies,
    Reference,
    MatrixFormat,
    MixedModeOrder,
    BeginInformation,
    EndInformation,
    NetworkData,
    NoiseData,
    End,
}

const ALL: [Keyword; 13] = [
    Keyword::Version,
    Keyword::Ports,
    Keyword::TwoPortOrder,
    Keyword::Frequencies,
    Keyword::NoiseFrequencies,
    Keyword::Reference,
    Keyword::MatrixFormat,
    Keyword::MixedModeOrder,
    Keyword::BeginInformation,
    Keyword::EndInformation,
    Keyword::NetworkData,
    Keyword::NoiseData,
    Keyword::End,
];

impl Keyword {
    pub fn name(self) -> &'static str {
        match self {
            Self::Version => "[Version]",
            Self::Ports => "[Number of Ports]",
            Self::TwoPortOrder => "[Two-Port Data Order]",
            Self::Frequencies => "[Number of Frequencies]",
            Self::NoiseFrequencies => "[Number of Noise Frequencies]",
            Self::Reference => "[Reference]",
            Self::MatrixFormat => "[Matrix Format]",
            Self::MixedModeOrder => "[Mixed-Mode Order]",
            Self::BeginInformation => "[Begin Information]",
            Self::EndInformation => "[End Information]",
            Self::NetworkData => "[Network Data]",
            Self::NoiseData => "[Noise Data]",
            Self::End => "[End]",
        }
    }

    fn takes_arguments(self) -> bool {
        !matches!(
            self,
            Self::BeginInformation
                | Self::EndInformation
                | Self::NetworkData
                | Self::NoiseData
                | Self::End
        )
    }
}

/// A line that begins with a keyword.
#[derive(Debug)]
pub(crate) struct KeywordLine {
    pub keyword: Keyword,
    /// The byte of the opening bracket.
    pub at: usize,
    /// Where the arguments begin.
    rest: usize,
}

impl KeywordLine {
    pub fn parse(line: &[u8]) -> Result<Self, Located> {
        let text = before_comment(line);
        let at = text
            .iter()
            .position(|byte| !is_blank(*byte))
            .unwrap_or_default();
        let unknown = || {
            Located::at(
                line,
                at,
                Problem::Keyword {
                    found: shown(text[at..].trim_ascii_end()),
                },
            )
        };
        let close = text
            .iter()
            .position(|byte| *byte == b']')
            .ok_or_else(unknown)?;
        let inside: Vec<&[u8]> = text[at + 1..close]
            .split(|byte| is_blank(*byte))
            .filter(|word| !word.is_empty())
            .collect();
        let inside = inside.join(&b' ');
        let keyword = ALL.into_iter().find(|keyword| {
            let name = keyword.name().as_bytes();
            name[1..name.len() - 1].eq_ignore_ascii_case(&inside)
        });
        let keyword = keyword.ok_or_else(unknown)?;
        let rest = close + 1;
        if text.get(rest).is_some_and(|byte| !is_blank(*byte)) {
            return Err(unknown());
        }
        let found = Self { keyword, at, rest };
        if !keyword.takes_arguments()
            && let Some(word) = found.arguments(line).next()
        {
            return Err(found.refuse(line, word, "nothing"));
        }
        Ok(found)
    }

    pub fn arguments<'b>(&self, line: &'b [u8]) -> impl Iterator<Item = Word<'b>> + use<'b> {
        let rest = self.rest;
        words(&line[rest..]).map(move |word| Word {
            bytes: word.bytes,
            at: word.at + rest,
        })
    }

    pub fn refuse(&self, line: &[u8], word: Word<'_>, expected: &'static str) -> Located {
        Located::at(
            line,
            word.at,
            Problem::Argument {
                keyword: self.keyword.name(),
                found: word.text(),
                expected,
            },
        )
    }
}

/// The one argument of a keyword.
pub(crate) fn argument<'b>(line: &'b [u8], found: &KeywordLine) -> Result<Word<'b>, Located> {
    let mut arguments = found.arguments(line);
    let nothing = Word {
        bytes: b"",
        at: found.rest,
    };
    let first = arguments.next();
    match (first, arguments.next()) {
        (Some(word), None) => Ok(word),
        (None, _) => Err(found.refuse(line, nothing, "an argument")),
        (_, Some(more)) => Err(found.refuse(line, more, "one argument")),
    }
}

/// A whole number above zero.
pub(crate) fn positive_count(line: &[u8], found: &KeywordLine) -> Result<usize, Located> {
    let word = argument(line, found)?;
    let count = std::str::from_utf8(word.bytes)
        .ok()
        .filter(|text| text.bytes().all(|byte| byte.is_ascii_digit()))
        .and_then(|text| text.parse::<usize>().ok())
        .filter(|count| *count > 0);
    count.ok_or_else(|| found.refuse(line, word, "a whole number above zero"))
}

/// One token for each port; differential and common come in pairs.
pub(crate) fn mixed_modes(
    line: &[u8],
    found: &KeywordLine,
    ports: usize,
) -> Result<Vec<Mode>, Located> {
    const EXPECTED: &str = "a token for each port such as S1, D2,3 or C2,3, each port once alone or once in a pair \
         of D and C";
    let mut modes = Vec::new();
    for word in found.arguments(line) {
        let mode = mode(word.bytes, ports).filter(|mode| !modes.contains(mode));
        modes.push(mode.ok_or_else(|| found.refuse(line, word, EXPECTED))?);
    }
    let mut seen = vec![0_usize; ports];
    let paired = modes.iter().all(|mode| match *mode {
        Mode::Single(port) => {
            seen[port - 1] += 2;
            true
        }
        Mode::Differential(a, b) => {
            seen[a - 1] += 1;
            seen[b - 1] += 1;
            modes.contains(&Mode::Common(a, b))
        }
        Mode::Common(a, b) => {
            seen[a - 1] += 1;
            seen[b - 1] += 1;
            modes.contains(&Mode::Differential(a, b))
        }
    });
    if !paired || modes.len() != ports || seen.iter().any(|count| *count != 2) {
        let text = &before_comment(line)[found.rest..];
        let all = Word {
            bytes: text.trim_ascii(),
            at: found.rest,
        };
        return Err(found.refuse(line, all, EXPECTED));
    }
    Ok(modes)
}

fn mode(token: &[u8], ports: usize) -> Option<Mode> {
    let text = std::str::from_utf8(token).ok()?;
    let port = |text: &str| {
        let plain = text.bytes().all(|byte| byte.is_ascii_digit());
        let port: usize = text.parse().ok().filter(|_| plain)?;
        (1..=ports).contains(&port).then_some(port)
    };
    let rest = text.get(1..)?;
    match token.first()?.to_ascii_uppercase() {
        b'S' => Some(Mode::Single(port(rest)?)),
        letter @ (b'D' | b'C') => {
            let (a, b) = rest.split_once(',')?;
            let (a, b) = (port(a)?, port(b)?);
            if a == b {
                return None;
            }
            Some(match letter {
                b'D' => Mode::Differential(a, b),
                _ => Mode::Common(a, b),
            })
        }
        _ => None,
    }
}
