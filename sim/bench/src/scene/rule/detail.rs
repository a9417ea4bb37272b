//! Bars too short to be seen, drawn again on a scale of percent.

use jigwise_physics::{Fixture, Immittance};

use super::{RuleFrame, Ticks};
use crate::ModulusInterval;
use crate::scene::{Anchor, Ink, Mark, Stroke};
use crate::words::short_percent;

/// Bars shorter than this are drawn in detail too, pixels.
const SHORT_BAR: f64 = 48.0;
/// Full scales of the detail, as shares of |Z|.
const FULL_SCALES: [f64; 4] = [0.01, 0.03, 0.1, 0.3];

impl RuleFrame {
    pub(super) fn detail_y(&self) -> f64 {
        3.0 * self.look.lane + self.look.axis() + 15.0
    }

    /// Short bars again, on a scale of percent around the hairline.
    pub(super) fn details(
        &self,
        device: Immittance,
        intervals: &[Option<ModulusInterval>; 3],
        ticks: &Ticks<'_>,
    ) -> Vec<Mark> {
        let Some(ohm) = device
            .impedance()
            .map(|z| z.norm())
            .filter(|ohm| *ohm > 0.0)
        else {
            return Vec::new();
        };
        let share = |value: f64| value / ohm - 1.0;
        let short: Vec<(Fixture, [f64; 2])> = Fixture::ALL
            .into_iter()
            .filter_map(|fixture| Some((fixture, intervals[fixture as usize].as_ref()?)))
            .filter(|(_, interval)| {
                interval.low_ohm > 0.0
                    && self.x_of(interval.high_ohm) - self.x_of(interval.low_ohm) < SHORT_BAR
            })
            .map(|(fixture, interval)| {
                (fixture, [share(interval.low_ohm), share(interval.high_ohm)])
            })
            .collect();
        if short.is_empty() {
            return Vec::new();
        }
        let widest = short
            .iter()
            .flat_map(|(_, ends)| ends.map(f64::abs))
            .fold(0.0, f64::max);
        let full = FULL_SCALES
            .into_iter()
            .find(|full| *full >= widest)
            .unwrap_or(FULL_SCALES[FULL_SCALES.len() - 1]);
        self.detail_marks(&short, full, share, ticks)
    }

    fn detail_marks(
        &self,
        short: &[(Fixture, [f64; 2])],
        full: f64,
        share: impl Fn(f64) -> f64,
        ticks: &Ticks<'_>,
    ) -> Vec<Mark> {
        const ROW: f64 = 10.0;
        let size = self.look.type_size;
        let [left, right] = self.ends();
        let half = 0.24 * (right - left);
        let center = left + half + 10.0;
        let y = self.detail_y();
        let x_of = |share: f64| center + half * (share / full).clamp(-1.0, 1.0);
        let top = y - 0.5 * ROW * short.len() as f64;
        let bottom = y + 15.0;
        let mut marks = vec![
            Mark::text(
                [0.0, y],
                format!("In detail ±{}", short_percent(full)),
                size,
                Anchor::Start,
                Ink::Faint,
            ),
            Mark::line(
                [center - half, bottom],
                [center + half, bottom],
                Stroke::solid(Ink::Faint, 1.0),
            ),
        ];
        for (part, sign) in [(-1.0, "−"), (-0.5, "−"), (0.5, "+"), (1.0, "+")] {
            let x = center + part * half;
            let line = Stroke::solid(Ink::Faint, 1.0);
            marks.push(Mark::line([x, bottom - 4.0], [x, bottom + 4.0], line));
            let text = format!("{sign}{}", short_percent(full * f64::abs(part)));
            let at = [x, bottom + 5.0 + 0.6 * size];
            marks.push(Mark::text(at, text, size, Anchor::Middle, Ink::Faint));
        }
        for (row, (fixture, ends)) in short.iter().enumerate() {
            let middle = top + (row as f64 + 0.6) * ROW;
            let [from, to] = ends.map(x_of);
            let (from, to) = (from.min(to - 2.0), to.max(from + 2.0));
            let area = [from, middle - 3.0, to, middle + 3.0];
            let fill = Ink::Fixture(*fixture);
            marks.push(Mark::rectangle(area, fill));
            for (is_off, way) in [(ends[0] < -full, -1.0), (ends[1] > full, 1.0)] {
                if is_off {
                    let x = center + way * half;
                    let points = vec![
                        [x, middle - 5.0],
                        [x + way * 8.0, middle],
                        [x, middle + 5.0],
                    ];
                    marks.push(Mark::Area { points, fill });
                }
            }
            let came_out = ticks.shown.iter().filter_map(|out| out[*fixture as usize]);
            let ends = came_out
                .map(|ohm| {
                    [
                        [x_of(share(ohm)), middle - 6.0],
                        [x_of(share(ohm)), middle - 2.0],
                    ]
                })
                .collect();
            marks.push(Mark::Lines {
                ends,
                stroke: Stroke::solid(Ink::Text, 1.0),
            });
        }
        marks.push(Mark::line(
            [center, top - 4.0],
            [center, bottom + 4.0],
            Stroke::solid(Ink::Device, 1.6),
        ));
        marks
    }
}
