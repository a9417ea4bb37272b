use jigwise_physics::{Direction, Nudge};
use serde::Deserialize;
use toml::Spanned;

use super::error::{Place, ScenarioError, nearest};
use super::typed::Typed;
use jigwise_quantity::percent;
use jigwise_quantity::{Quantity, Unit, parse_quantity};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NudgeTable {
    amount: Option<Spanned<Typed>>,
    along: Option<Spanned<String>>,
    swapped: Option<bool>,
}

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
pub fn parse_direction(key: &str) -> Option<Direction> {
    DIRECTIONS
        .into_iter()
        .find(|(known, _)| *known == key)
        .map(|(_, direction)| direction)
}

pub(super) fn nudge(
    place: &Place<'_>,
    table: &Spanned<NudgeTable>,
) -> Result<Nudge, ScenarioError> {
    let standard = Nudge::default();
    let NudgeTable {
        amount,
        along,
        swapped,
    } = table.get_ref();
    let direction = match along {
        None => standard.direction(),
        Some(along) => parse_direction(along.get_ref()).ok_or_else(|| {
            let keys = DIRECTIONS.map(|(key, _)| key);
            let hint = nearest(along.get_ref(), &keys)
                .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
            ScenarioError::at(
                place,
                Some(along.span().start),
                format!(
                    "along is \"{}\", expected one of {}{hint}",
                    along.get_ref(),
                    keys.join(", ")
                ),
            )
        })?,
    };
    let (share, offset) = match amount {
        None => (standard.amount(), table.span().start),
        Some(amount) => {
            let offset = amount.span().start;
            let share = parse_share(&amount.get_ref().0)
                .map_err(|message| ScenarioError::at(place, Some(offset), message))?;
            (share, offset)
        }
    };
    make_nudge(share, direction, swapped.unwrap_or(false))
        .map_err(|message| ScenarioError::at(place, Some(offset), message))
}

/// A nudge of `share`·|Z|.
///
/// # Errors
/// A sentence with the percentage and what is allowed.
pub fn make_nudge(share: f64, direction: Direction, swapped: bool) -> Result<Nudge, String> {
    Nudge::new(share, direction, swapped).map_err(|_| {
        format!(
            "a nudge of {} is none that can be shown: give a percentage from 0.0000001 to \
             100 000 000, up or down, and above \u{2212}100\u{202f}% along |Z|",
            percent(share)
        )
    })
}

/// A part of |Z| from "10 %" or "0.1".
///
/// # Errors
/// A sentence with the text and an example.
pub fn parse_share(text: &str) -> Result<f64, String> {
    match parse_quantity(text) {
        Ok(Quantity {
            value,
            unit: Some(Unit::Percent),
            ..
        }) => Ok(value / 100.0),
        Ok(Quantity {
            value, unit: None, ..
        }) => Ok(value),
        _ => Err(format!(
            "amount is \"{text}\", expected a percentage of |Z| such as \"+10 %\""
        )),
    }
}
