//! The digits at the beginning of a text, and what a comma among them means.

use crate::error::Fault;

/// The text with typographic signs and blanks replaced by those of a keyboard. Thin and no-break
/// spaces that group digits go.
///
/// ```
/// use jigwise_quantity::plain_characters;
///
/// assert_eq!(plain_characters("−7\u{202f}100\u{202f}000"), "-7100000");
/// assert_eq!(plain_characters("2.2 µH"), "2.2 uH");
/// ```
pub fn plain_characters(text: &str) -> String {
    text.trim()
        .chars()
        .filter(|c| !matches!(c, '\u{2009}' | '\u{202f}' | '\u{a0}' | '_'))
        .map(|c| match c {
            '\u{2212}' => '-',
            'µ' | 'μ' => 'u',
            other => other,
        })
        .collect()
}

/// Splits text into its number, with a point for the decimal sign, and the rest.
///
/// A comma is a decimal sign where it can be nothing else. Before exactly three digits, and
/// behind one to three that don't begin with a zero, it may part thousands as well: such text is
/// refused with both readings. A prefix or a unit doesn't settle it, since 7,100 kHz is written
/// for 7.1 kHz and for 7.1 MHz. Two commas, or a comma and a point, can only part thousands and
/// are refused too.
pub(crate) fn split_number(text: &str) -> Result<(String, &str), Fault> {
    let (sign, unsigned) = text.split_at(usize::from(text.starts_with(['+', '-'])));
    let end = end_of_digits(unsigned);
    let (digits, rest) = unsigned.split_at(end);
    let (exponent, tail) = split_exponent(rest);
    let written = |digits: &str| format!("{sign}{digits}{exponent}");
    let commas = digits.matches(',').count();
    if commas == 0 {
        // A second point never belongs to a number, but it may part thousands.
        let behind = tail.find(|c: char| !(c.is_ascii_digit() || c == '.'));
        let (more, tail) = tail.split_at(behind.unwrap_or(tail.len()));
        let pointed = format!("{digits}{more}");
        if !more.is_empty() && exponent.is_empty() && are_groups(&pointed, '.') {
            let plain = format!("{}{tail}", written(&pointed.replace('.', "")));
            return Err(Fault::Thousands { plain });
        }
        return Ok((written(digits), &rest[exponent.len()..]));
    }
    if commas > 1 || digits.contains('.') {
        let whole = match (digits.rfind(','), digits.rfind('.')) {
            (Some(comma), Some(point)) => &digits[..comma.max(point)],
            _ => digits,
        };
        if !are_groups(whole, ',') && !are_groups(whole, '.') {
            return Err(Fault::Commas);
        }
        let plain = written(&without_thousands(digits));
        return Err(Fault::Thousands {
            plain: format!("{plain}{tail}"),
        });
    }
    let (whole, decimals) = digits.split_once(',').unwrap_or((digits, ""));
    let may_be_thousands =
        decimals.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if may_be_thousands {
        let decimal = format!("{whole}.{decimals}");
        let decimal = decimal.trim_end_matches('0').trim_end_matches('.');
        return Err(Fault::Comma {
            decimal: format!("{}{tail}", written(decimal)),
            thousands: format!("{}{tail}", written(&format!("{whole}{decimals}"))),
        });
    }
    Ok((written(&format!("{whole}.{decimals}")), tail))
}

/// True for digits parted in groups of three.
fn are_groups(digits: &str, sign: char) -> bool {
    let mut groups = digits.split(sign);
    let is_number = |group: &str| group.bytes().all(|b| b.is_ascii_digit());
    let first = groups.next().unwrap_or_default();
    let mut rest = groups.peekable();
    (1..=3).contains(&first.len())
        && is_number(first)
        && rest.peek().is_some()
        && rest.all(|group| group.len() == 3 && is_number(group))
}

/// Where the digits with their points and commas end. A comma belongs to them before a digit, and
/// only one point does, save where there are commas.
fn end_of_digits(text: &str) -> usize {
    let bytes = text.as_bytes();
    let has_comma = text
        .split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .next()
        .is_some_and(|start| start.contains(','));
    let mut points = 0;
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        let is_before_digit = bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
        match byte {
            b'0'..=b'9' => {}
            b',' if is_before_digit => {}
            b'.' if points == 0 || (has_comma && is_before_digit) => points += 1,
            _ => break,
        }
        at += 1;
    }
    at
}

/// Splits "e-3k" into "e-3" and "k", and leaves what is no exponent alone.
fn split_exponent(text: &str) -> (&str, &str) {
    let Some(after) = text.strip_prefix(['e', 'E']) else {
        return ("", text);
    };
    let unsigned = after.strip_prefix(['+', '-']).unwrap_or(after);
    let digits = unsigned.len()
        - unsigned
            .trim_start_matches(|c: char| c.is_ascii_digit())
            .len();
    if digits == 0 {
        return ("", text);
    }
    text.split_at(text.len() - unsigned.len() + digits)
}

/// "1,234,567" and "1.234,5" with no sign but the decimal one.
fn without_thousands(digits: &str) -> String {
    let both = digits.contains('.') && digits.contains(',');
    match digits.rfind(['.', ',']).filter(|_| both) {
        Some(decimal) => {
            let whole = digits[..decimal].replace(['.', ','], "");
            format!("{whole}.{}", &digits[decimal + 1..])
        }
        None => digits.replace(',', ""),
    }
}
