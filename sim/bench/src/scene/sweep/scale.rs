//! The scale upwards in a plot over frequency.

use jigwise_quantity::{engineering, fixed};

use super::CurvePoint;
use crate::scene::ticks;

/// How the values are spread upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValueScale {
    /// By their logarithm; what is not above zero is left out.
    Logarithmic,
    /// By their logarithm on both sides of zero, evenly within the size given.
    Signed(f64),
    /// Evenly from one value to another.
    Even(f64, f64),
}

/// One value to be marked.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ValueTick {
    /// Its place on the scale.
    pub(super) coordinate: f64,
    /// What is written beside it, if anything.
    pub(super) label: Option<String>,
}

impl ValueScale {
    /// The place of a value, a number that grows evenly along the scale. `None` for a value
    /// that has no place.
    pub(super) fn coordinate(self, value: f64) -> Option<f64> {
        match self {
            Self::Logarithmic => (value > 0.0).then(|| value.log10()),
            Self::Signed(within) => Some((value / within).asinh()),
            Self::Even(..) => Some(value),
        }
        .filter(|coordinate| coordinate.is_finite())
    }

    /// The value at a place.
    fn value(self, coordinate: f64) -> f64 {
        match self {
            Self::Logarithmic => 10f64.powf(coordinate),
            Self::Signed(within) => coordinate.sinh() * within,
            Self::Even(..) => coordinate,
        }
    }

    /// Lowest and highest place of a plot of `curve`, with the values of a thin line through it.
    pub(super) fn span(self, curve: &[CurvePoint], through: &[(f64, f64)]) -> (f64, f64) {
        if let Self::Even(low, high) = self {
            return (low, high);
        }
        let places = || {
            curve
                .iter()
                .filter_map(|point| self.coordinate(point.value?))
        };
        let low = places().fold(f64::INFINITY, f64::min);
        let high = places().fold(f64::NEG_INFINITY, f64::max);
        if low > high {
            return (0.0, 1.0);
        }
        // The plot grows for a peak of the thin line, at most to twice the curve's own height.
        let limit = high + (high - low);
        let high = through
            .iter()
            .filter_map(|point| Some(self.coordinate(point.1)?.min(limit)))
            .fold(high, f64::max);
        let middle = 0.5 * (low + high);
        // A flat line still gets a scale; the curve keeps clear of the frame.
        let half = (0.5 * (high - low)).max(0.15) * 1.12;
        (middle - half, middle + half)
    }

    /// The values to be marked within a span, those with a label that matter most first.
    pub(super) fn ticks(self, span: (f64, f64), unit: &str) -> Vec<ValueTick> {
        let inside = |value: f64| {
            self.coordinate(value)
                .filter(|place| (span.0..=span.1).contains(place))
        };
        let mut values = self.round_values(span, unit);
        let labels = values
            .iter()
            .filter(|(value, labelled)| *labelled && inside(*value).is_some());
        // Less than two labels are no scale.
        let is_narrow = labels.count() < 2;
        if is_narrow {
            let even = ticks::even(self.value(span.0), self.value(span.1), 6.0);
            values = even.into_iter().map(|value| (value, true)).collect();
        }
        values
            .into_iter()
            .filter_map(|(value, labelled)| {
                Some(ValueTick {
                    coordinate: inside(value)?,
                    label: labelled.then(|| self.label(value, unit, is_narrow)),
                })
            })
            .collect()
    }

    fn label(self, value: f64, unit: &str, is_narrow: bool) -> String {
        if unit == "°" {
            return format!("{}°", fixed(value, 0));
        }
        let digits = match self {
            Self::Even(..) => 3,
            _ if is_narrow => 3,
            _ => 1,
        };
        engineering(value, unit, digits)
    }

    /// Round values about a span, and which of them get a label.
    fn round_values(self, span: (f64, f64), unit: &str) -> Vec<(f64, bool)> {
        match self {
            Self::Even(low, high) => {
                let values = if unit == "°" {
                    let step = if high - low > 200.0 { 45.0 } else { 30.0 };
                    let from = (low / step).ceil() as i32;
                    let to = (high / step).floor() as i32;
                    (from..=to).map(|k| f64::from(k) * step).collect()
                } else {
                    ticks::even(low, high, 6.0)
                };
                values.into_iter().map(|value| (value, true)).collect()
            }
            Self::Logarithmic => {
                let (from, to) = (span.0.floor() as i32, span.1.ceil() as i32);
                let few = span.1 - span.0 < 1.5;
                ticks::digits(from..=to)
                    .map(|(value, digit)| (value, digit == 1 || few && [2, 3, 5].contains(&digit)))
                    .collect()
            }
            Self::Signed(within) => {
                let largest = self.value(span.0.abs().max(span.1.abs()));
                let from = within.log10().ceil() as i32;
                let to = largest.log10().floor() as i32;
                // Zero gets its label first, then the large ones.
                let sizes = (from..=to).rev().map(|exponent| 10f64.powi(exponent));
                [0.0]
                    .into_iter()
                    .chain(sizes.flat_map(|size| [size, -size]))
                    .map(|value| (value, true))
                    .collect()
            }
        }
    }
}
