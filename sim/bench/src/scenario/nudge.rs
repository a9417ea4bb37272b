//! The `[nudge]` table, and a nudge as it is typed.

use jigwise_physics::{Direction, Nudge};

use crate::file::{Keyed, ScenarioError, expected_one_of};
use jigwise_quantity::{Unit, fixed, grouped, parse_share, percent};

const DIRECTIONS: [(&str, Direction); 3] = [
    ("magnitude", Direction::Magnitude),
    ("resistance", Direction::Resistance),
    ("reactance", Direction::Reactance),
];

/// What a scenario file calls a direction.
pub fn direction_key(direction: Direction) -> &'static str {
    DIRECTIONS
        .into_iter()
        .find(|(_, known)| *known == direction)
        .map_or("magnitude", |(key, _)| key)
}

/// The direction of that name.
///
/// # Errors
/// A sentence with the names there are.
pub fn parse_direction(key: &str) -> Result<Direction, String> {
    DIRECTIONS
        .into_iter()
        .find(|(known, _)| *known == key)
        .map(|(_, direction)| direction)
        .ok_or_else(|| expected_one_of(key, &DIRECTIONS.map(|(known, _)| known)))
}

/// The small change of a scenario; the usual one where it says nothing.
pub(super) fn nudge(file: &Keyed<'_>) -> Result<Nudge, ScenarioError> {
    let usual = Nudge::default();
    let Some(keyed) = file.table("nudge", "nudge", &["amount", "along", "swapped"])? else {
        return Ok(usual);
    };
    let direction = keyed.choice("along", &DIRECTIONS)?;
    let share = amount(&keyed)?;
    let swapped = keyed.flag("swapped")?;
    make_nudge(
        share.unwrap_or(usual.amount()),
        direction.unwrap_or(usual.direction()),
        swapped.unwrap_or(usual.is_swapped()),
    )
    .map_err(|message| keyed.error("amount", message))
}

/// A nudge of `share`·|Z|.
///
/// # Errors
/// A sentence with the percentage and what is allowed.
pub fn make_nudge(share: f64, direction: Direction, swapped: bool) -> Result<Nudge, String> {
    Nudge::new(share, direction, swapped).map_err(|_| {
        format!(
            "a nudge of {} is none that can be shown: give a percentage from {} to {}, up or down, and above \u{2212}100\u{202f}% along |Z|",
            percent(share),
            fixed(100.0 * Nudge::MIN_SIZE, 7),
            grouped(100.0 * Nudge::MAX_SIZE).replace('\u{202f}', " "),
        )
    })
}

/// The change relative to |Z| behind the key `amount`. Text is a percentage; a number of TOML is
/// the ratio itself, and refused where it is as likely a percentage.
fn amount(keyed: &Keyed<'_>) -> Result<Option<f64>, ScenarioError> {
    if !keyed.is_number("amount") {
        return keyed.read("amount", parse_share);
    }
    let ratio = keyed.value("amount", Unit::One)?;
    match ratio {
        Some(ratio) if ratio.abs() >= 1.0 => Err(keyed.error(
            "amount",
            format!(
                "amount: {ratio} without a unit may be {ratio} % or {} %; write the one that is \
                 meant, for example amount = \"+10 %\"",
                100.0 * ratio
            ),
        )),
        _ => Ok(ratio),
    }
}

/// A change relative to |Z| as a file has it: a percentage with every digit.
pub(super) fn written_amount(ratio: f64) -> String {
    let scientific = format!("{ratio:+e}");
    match scientific.split_once('e') {
        Some((digits, exponent)) => {
            let exponent = exponent.parse::<i32>().map_or(0, |exponent| exponent + 2);
            format!("{digits}e{exponent} %")
        }
        None => scientific,
    }
}
