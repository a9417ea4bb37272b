//! Text from outside as a message quotes it.

/// The most characters of a value that a message repeats.
pub const MAX_QUOTED: usize = 80;

/// The beginning of a text, at most `most` characters, as a message can quote it: control
/// characters stand as the sign U+FFFD, so that a terminal or a log takes no orders from it.
///
/// ```
/// use jigwise_quantity::excerpt;
///
/// assert_eq!(excerpt("4.7k", 80), "4.7k");
/// assert_eq!(excerpt("4.7\u{1b}[31mk", 80), "4.7\u{fffd}[31mk");
/// assert_eq!(excerpt("123456789", 5), "12345…");
/// ```
pub fn excerpt(text: &str, most: usize) -> String {
    let mut characters = text.chars();
    let mut shown: String = characters
        .by_ref()
        .take(most)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if characters.next().is_some() {
        shown.push('…');
    }
    shown
}
