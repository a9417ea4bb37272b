//! The prefixes of the SI brochure from femto to tera.

/// Power of ten and sign of each prefix, without one in the middle.
const PREFIXES: [(i32, &str); 10] = [
    (-15, "f"),
    (-12, "p"),
    (-9, "n"),
    (-6, "µ"),
    (-3, "m"),
    (0, ""),
    (3, "k"),
    (6, "M"),
    (9, "G"),
    (12, "T"),
];

/// The prefixes that can be typed, for messages.
pub(crate) const TYPED: &str = "f p n µ m k M G T";

/// The power of ten of a typed prefix. µ is typed as u, and K counts as k.
pub(crate) fn exponent_of(letter: char) -> Option<i32> {
    let sign = match letter {
        'u' => 'µ',
        'K' => 'k',
        other => other,
    };
    PREFIXES
        .into_iter()
        .find(|(_, known)| known.chars().eq([sign]))
        .map(|(exponent, _)| exponent)
}

/// The prefix that leaves one to three digits before the point of a number with this power of
/// ten.
pub(crate) fn prefix_for(exponent: i32) -> Option<(i32, &'static str)> {
    let power = exponent.div_euclid(3) * 3;
    PREFIXES.into_iter().find(|(known, _)| *known == power)
}
