//! Words that several blocks use.

use jigwise_bench::{Device, Scenario, engineering};

/// What stands where there is no number.
pub(crate) const NONE: &str = "–";

/// The scenario's title, or words for a part without one.
pub(crate) fn title(scenario: &Scenario) -> &str {
    scenario.title.as_deref().unwrap_or("A part")
}

/// The device; a resistance without its zero reactance.
pub(crate) fn part(device: &Device) -> String {
    match device.fixed_ohm() {
        Some(z) if z.im == 0.0 => engineering(z.re, "Ω", 2),
        _ => device.to_string(),
    }
}

/// No line ends between a number and its σ.
pub(crate) fn tied(text: &str) -> String {
    text.replace(" σ", "\u{202f}σ")
}

/// The words with a capital at their beginning.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

pub(crate) fn or_none(text: Option<String>) -> String {
    text.unwrap_or_else(|| NONE.to_owned())
}
