//! What to write instead of a word that is not known.

/// What to write instead of an unknown word, to end a sentence with: the nearest of the known
/// ones, or all of them where none is near.
///
/// ```
/// use jigwise_bench::hint;
///
/// let known = ["resistance", "inductance"];
/// assert_eq!(hint("resistence", &known), "; did you mean \"resistance\"?");
/// assert_eq!(hint("mass", &known), "; known here: resistance, inductance");
/// assert_eq!(hint("foo", &["from", "to"]), "; known here: from, to");
/// ```
pub fn hint(word: &str, known: &[&str]) -> String {
    match nearest(word, known) {
        Some(near) => format!("; did you mean \"{near}\"?"),
        None => format!("; known here: {}", known.join(", ")),
    }
}

/// What a choice allows, and which of it was meant where one is near.
///
/// ```
/// use jigwise_bench::expected_one_of;
///
/// assert_eq!(
///     expected_one_of("opne", &["raw", "open"]),
///     "expected one of raw, open; did you mean \"open\"?"
/// );
/// assert_eq!(expected_one_of("xyz", &["raw", "open"]), "expected one of raw, open");
/// ```
pub fn expected_one_of(word: &str, known: &[&str]) -> String {
    let near =
        nearest(word, known).map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
    format!("expected one of {}{near}", known.join(", "))
}

/// The known word most like `word`, where one is near enough to be meant. One that differs in
/// capitals alone is nearest.
fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    const MIN_LIKENESS: f64 = 0.8;
    let likeness = |known: &str| {
        if known.eq_ignore_ascii_case(word) {
            1.0
        } else {
            strsim::jaro_winkler(word, known)
        }
    };
    known
        .iter()
        .map(|known| (*known, likeness(known)))
        .filter(|(_, likeness)| *likeness >= MIN_LIKENESS)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(known, _)| known)
}
