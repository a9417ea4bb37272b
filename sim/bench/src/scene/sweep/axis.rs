//! The scale across a plot over frequency.

use jigwise_quantity::engineering;

use super::LABEL;
use crate::scene::{Anchor, Ink, Mark, Stroke, ticks};

/// From this ratio of the ends on, frequencies are spread by their logarithm.
const WIDE: f64 = 5.0;

/// The scale across: frequencies from one end of a sweep to the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepAxis {
    /// The first frequency, Hz.
    pub first_hz: f64,
    /// The last, Hz.
    pub last_hz: f64,
}

impl SweepAxis {
    /// True where frequencies are spread by their logarithm.
    pub fn is_logarithmic(&self) -> bool {
        self.first_hz > 0.0 && self.last_hz / self.first_hz >= WIDE
    }

    /// How far a frequency is across, 0 to 1.
    pub fn share(&self, freq_hz: f64) -> f64 {
        let share = if self.is_logarithmic() {
            (freq_hz / self.first_hz).ln() / (self.last_hz / self.first_hz).ln()
        } else {
            (freq_hz - self.first_hz) / (self.last_hz - self.first_hz)
        };
        // A sweep of one point stands in the middle.
        if share.is_finite() { share } else { 0.5 }
    }

    /// Frequencies to be marked, and which of them get a label.
    fn ticks(&self) -> Vec<(f64, bool)> {
        if !self.is_logarithmic() {
            return ticks::even(self.first_hz, self.last_hz, 6.0)
                .into_iter()
                .map(|hz| (hz, true))
                .collect();
        }
        let decades = (self.last_hz / self.first_hz).log10();
        let labelled: &[u32] = if decades < 1.5 {
            &[1, 2, 3, 5]
        } else if decades < 2.6 {
            &[1, 2, 5]
        } else {
            &[1]
        };
        let from = self.first_hz.log10().floor() as i32;
        let to = self.last_hz.log10().ceil() as i32;
        let inside = self.first_hz * 0.999_999..=self.last_hz * 1.000_001;
        ticks::digits(from..=to)
            .filter(|(hz, _)| inside.contains(hz))
            .map(|(hz, digit)| (hz, labelled.contains(&digit)))
            .collect()
    }

    /// Lines and labels of the frequencies in a plot's area: left, top, right, bottom.
    pub(super) fn grid(&self, [left, top, right, bottom]: [f64; 4]) -> Vec<Mark> {
        let mut marks = Vec::new();
        let mut last_x = f64::NEG_INFINITY;
        for (freq_hz, labelled) in self.ticks() {
            let x = left + self.share(freq_hz).clamp(0.0, 1.0) * (right - left);
            let weight = if labelled { 0.8 } else { 0.4 };
            marks.push(Mark::line(
                [x, top],
                [x, bottom],
                Stroke::solid(Ink::Grid, weight),
            ));
            if !labelled || x - last_x <= 4.6 * LABEL {
                continue;
            }
            last_x = x;
            let text = engineering(freq_hz, "Hz", 3)
                .replace(".00", "")
                .replace(".0\u{202f}", "\u{202f}");
            // The last one stays inside the picture.
            let (at, anchor) = if right - x < 2.0 * LABEL {
                (right, Anchor::End)
            } else {
                (x, Anchor::Middle)
            };
            marks.push(Mark::text(
                [at, bottom + 12.0],
                text,
                LABEL,
                anchor,
                Ink::Faint,
            ));
        }
        marks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = SweepAxis {
            first_hz: 1e6,
            last_hz: 30e6,
        };
        let labelled: Vec<f64> = axis
            .ticks()
            .into_iter()
            .filter(|(_, labelled)| *labelled)
            .map(|(hz, _)| hz)
            .collect();
        assert_eq!(labelled, [1e6, 2e6, 3e6, 5e6, 1e7, 2e7, 3e7]);
    }
}
