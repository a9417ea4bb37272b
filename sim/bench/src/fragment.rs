//! A scenario in the fragment of a web address: what stands behind the `#`, which a browser keeps
//! to itself and sends to no server.
//!
//! ```text
//! bench=1.version%20=%201%0Aseed%20=%201%0A%0A%5Bdevice%5D%0A…
//! ```
//!
//! The number is the version of this form; after the dot stands the scenario file, percent-encoded
//! as RFC 3986 §2.1 has it. What follows an `&` belongs to the page.

use std::fmt::{self, Write as _};

use jigwise_quantity::{excerpt, parse_count};

use crate::{Scenario, ScenarioError};

/// The most bytes that a fragment has: well below what browsers and messengers cut.
pub const MAX_FRAGMENT_BYTES: usize = 4096;
/// The most points of a sweep in a fragment: a page computes them while somebody waits.
const MAX_SWEEP_POINTS: u64 = 10_001;

const KEY: &str = "bench=";
const VERSION: &str = "1";
/// What errors call the scenario.
const NAME: &str = "the link";

/// Why a fragment gives no scenario, or a scenario no fragment.
#[derive(Debug, Clone, PartialEq)]
pub enum FragmentError {
    /// It has another key: a link to a heading, for instance.
    NotABench,
    /// Made by another version.
    Version(String),
    /// Longer than [`MAX_FRAGMENT_BYTES`]; how long it is.
    TooLong(usize),
    /// A percent sign without two hexadecimal digits; at which byte.
    Escape(usize),
    /// Not text in UTF-8.
    NotText,
    /// A sweep of more points than a page computes.
    SweepPoints(u64),
    /// The scenario itself.
    Scenario(ScenarioError),
}

impl FragmentError {
    /// True for a fragment that never meant to be a scenario.
    pub fn is_not_a_bench(&self) -> bool {
        matches!(self, Self::NotABench)
    }
}

impl std::error::Error for FragmentError {}

impl fmt::Display for FragmentError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotABench => write!(f, "this link holds no bench; expected #{KEY}{VERSION}.…"),
            Self::Version(version) => write!(
                f,
                "this link was made by version \"{}\" of the form, and this page knows version \
                 {VERSION}; have the link made again, or open a newer page",
                excerpt(version, 16)
            ),
            Self::TooLong(bytes) => write!(
                f,
                "the bench takes {bytes} bytes and a link holds {MAX_FRAGMENT_BYTES}; save it as a \
                 file and send that"
            ),
            Self::Escape(at) => write!(
                f,
                "the link is damaged at letter {at}: a percent sign without two hexadecimal \
                 digits; copy it again, whole"
            ),
            Self::NotText => {
                f.write_str("the link is damaged: it is not text; copy it again, whole")
            }
            Self::SweepPoints(points) => write!(
                f,
                "the link asks for a sweep of {points} points, and a page computes at most \
                 {MAX_SWEEP_POINTS}; take fewer"
            ),
            Self::Scenario(error) => error.fmt(f),
        }
    }
}

impl From<ScenarioError> for FragmentError {
    fn from(error: ScenarioError) -> Self {
        Self::Scenario(error)
    }
}

impl Scenario {
    /// The scenario as a fragment, without the `#`.
    ///
    /// # Errors
    /// [`FragmentError::TooLong`] for a bench that no link holds, such as a table of many
    /// frequencies, and [`FragmentError::SweepPoints`].
    ///
    /// ```
    /// use jigwise_bench::Scenario;
    ///
    /// let scenario = Scenario::default();
    /// let fragment = scenario.to_fragment()?;
    /// assert!(fragment.starts_with("bench=1."));
    /// assert_eq!(Scenario::from_fragment(&fragment)?, scenario);
    /// # Ok::<(), jigwise_bench::FragmentError>(())
    /// ```
    pub fn to_fragment(&self) -> Result<String, FragmentError> {
        if let Some(plan) = self.sweep
            && plan.points as u64 > MAX_SWEEP_POINTS
        {
            return Err(FragmentError::SweepPoints(plan.points as u64));
        }
        let fragment = format!("{KEY}{VERSION}.{}", encoded(&self.to_toml()));
        match fragment.len() {
            bytes if bytes > MAX_FRAGMENT_BYTES => Err(FragmentError::TooLong(bytes)),
            _ => Ok(fragment),
        }
    }

    /// The scenario in a fragment, with or without its `#`. Whatever stands there, this ends soon:
    /// a fragment is never longer when it is read.
    ///
    /// # Errors
    /// [`FragmentError`].
    pub fn from_fragment(fragment: &str) -> Result<Self, FragmentError> {
        let fragment = fragment.strip_prefix('#').unwrap_or(fragment);
        let rest = fragment.strip_prefix(KEY).ok_or(FragmentError::NotABench)?;
        if fragment.len() > MAX_FRAGMENT_BYTES {
            return Err(FragmentError::TooLong(fragment.len()));
        }
        let value = rest.split_once('&').map_or(rest, |(value, _)| value);
        let (version, written) = value.split_once('.').unwrap_or((value, ""));
        if version != VERSION {
            return Err(FragmentError::Version(version.to_owned()));
        }
        let ahead = fragment.len() - rest.len() + version.len() + 1;
        let text = decoded(written, ahead)?;
        bound_sweep(&text)?;
        Ok(Self::from_toml(&text, NAME)?)
    }
}

/// Refuses a long sweep before its frequencies are made. What is wrong otherwise, the reader of
/// scenarios says better.
fn bound_sweep(text: &str) -> Result<(), FragmentError> {
    let Ok(table) = text.parse::<toml::Table>() else {
        return Ok(());
    };
    let points = table.get("sweep").and_then(|sweep| sweep.get("points"));
    let points = match points {
        Some(toml::Value::Integer(points)) => u64::try_from(*points).ok(),
        Some(toml::Value::String(points)) => parse_count(points, 0, u64::MAX).ok(),
        _ => None,
    };
    match points {
        Some(points) if points > MAX_SWEEP_POINTS => Err(FragmentError::SweepPoints(points)),
        _ => Ok(()),
    }
}

/// True for bytes that stand in a fragment as they are: RFC 3986 §2.3, and of §3.5 those that no
/// messenger takes for the end of a link.
fn stands(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || b"-._~=/:".contains(&byte)
}

fn encoded(text: &str) -> String {
    let mut out = String::with_capacity(2 * text.len());
    for byte in text.bytes() {
        if stands(byte) {
            out.push(char::from(byte));
        } else {
            // Writing to a String can't fail.
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

/// `ahead` is how many bytes stand before `text` in its fragment.
fn decoded(text: &str, ahead: usize) -> Result<String, FragmentError> {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while at < bytes.len() {
        if bytes[at] != b'%' {
            out.push(bytes[at]);
            at += 1;
            continue;
        }
        let digit = |at: usize| {
            let byte = bytes.get(at).copied().map(char::from);
            byte.and_then(|letter| letter.to_digit(16))
        };
        let (Some(high), Some(low)) = (digit(at + 1), digit(at + 2)) else {
            return Err(FragmentError::Escape(ahead + at + 1));
        };
        // Two hexadecimal digits fit a byte.
        out.push((16 * high + low) as u8);
        at += 3;
    }
    match String::from_utf8(out) {
        Ok(text) if !text.contains('\0') => Ok(text),
        _ => Err(FragmentError::NotText),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Device, NamedInstrument, Spacing, SweepPlan};

    /// RFC 3986 §2.1 and §2.3: the percent sign and two hexadecimal digits, the digits in either
    /// case; "Ω" is E2 84 A6 in UTF-8.
    #[test]
    fn escapes_are_those_of_the_standard() {
        assert_eq!(encoded("a = \"Ω\"\n~-._"), "a%20=%20%22%CE%A9%22%0A~-._");
        assert_eq!(decoded("%41%6a%6A%25", 0).unwrap(), "Ajj%");
        assert_eq!(decoded("%e2%84%a6", 0).unwrap(), "\u{2126}");
    }

    #[test]
    fn a_bench_survives_its_link() {
        for scenario in [
            Scenario::default(),
            Scenario {
                title: Some("Coil & trap, 50 % \"new\" — Ω\nline two".to_owned()),
                device: Device::inductor(2.2e-6),
                instrument: NamedInstrument::preset("club-bench"),
                connections: 3,
                seed: u64::MAX,
                ..Scenario::default()
            },
        ] {
            let fragment = scenario.to_fragment().unwrap();
            assert!(fragment.bytes().all(|byte| stands(byte) || byte == b'%'));
            assert_eq!(Scenario::from_fragment(&fragment).unwrap(), scenario);
            let with_hash = format!("#{fragment}&of=bias-resistor");
            assert_eq!(Scenario::from_fragment(&with_hash).unwrap(), scenario);
        }
    }

    #[test]
    fn what_no_link_holds_is_said() {
        let plan = SweepPlan {
            from_hz: 1e6,
            to_hz: 2e6,
            points: 20_000,
            spacing: Spacing::Even,
        };
        let scenario = Scenario {
            sweep: Some(plan),
            ..Scenario::default()
        };
        let refused = scenario.to_fragment().unwrap_err();
        assert_eq!(refused, FragmentError::SweepPoints(20_000));
        let scenario = Scenario {
            title: Some("x".repeat(MAX_FRAGMENT_BYTES)),
            ..Scenario::default()
        };
        let refused = scenario.to_fragment().unwrap_err();
        assert!(matches!(refused, FragmentError::TooLong(_)), "{refused}");
        assert!(
            refused.to_string().contains("save it as a file"),
            "{refused}"
        );
    }

    #[test]
    fn what_is_no_bench_is_refused_by_kind() {
        let long = format!("bench=1.{}", "a".repeat(MAX_FRAGMENT_BYTES));
        let sweep = |points: &str| {
            let device = "version = 1\n[device]\nkind = \"open\"\n";
            let sweep = format!("[sweep]\nfrom = 1\nto = 2\npoints = {points}\n");
            format!("bench=1.{}", encoded(&format!("{device}{sweep}")))
        };
        type Expected = fn(&FragmentError) -> bool;
        let cases: [(String, Expected); 13] = [
            (String::new(), FragmentError::is_not_a_bench),
            ("top".into(), FragmentError::is_not_a_bench),
            ("Bench=1.x".into(), FragmentError::is_not_a_bench),
            (long, |e| matches!(e, FragmentError::TooLong(_))),
            ("bench=".into(), |e| matches!(e, FragmentError::Version(_))),
            ("bench=2.x".into(), |e| {
                matches!(e, FragmentError::Version(_))
            }),
            ("bench=1.%4".into(), |e| *e == FragmentError::Escape(9)),
            ("bench=1.a%zz".into(), |e| *e == FragmentError::Escape(10)),
            ("bench=1.%+1".into(), |e| *e == FragmentError::Escape(9)),
            ("bench=1.%ff".into(), |e| *e == FragmentError::NotText),
            ("bench=1.%00".into(), |e| *e == FragmentError::NotText),
            ("bench=1.x".into(), |e| {
                matches!(e, FragmentError::Scenario(_))
            }),
            (sweep("10_000_000"), |e| {
                *e == FragmentError::SweepPoints(10_000_000)
            }),
        ];
        for (fragment, expected) in cases {
            let error = Scenario::from_fragment(&fragment).unwrap_err();
            assert!(expected(&error), "{fragment}: {error:?}");
        }
        let as_text = Scenario::from_fragment(&sweep("\"10 000 000\"")).unwrap_err();
        assert!(as_text.to_string().contains("points"), "{as_text}");
    }
}
