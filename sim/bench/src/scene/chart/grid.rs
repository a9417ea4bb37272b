//! The lines and labels of both charts.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use jigwise_physics::{Complex64, Immittance};
use jigwise_quantity::{engineering, fixed};

use super::{ChartFrame, ChartKind, DECADES, LABEL};
use crate::scene::{Anchor, Ink, Mark, Point, Stroke, arc, ticks};

/// Resistances and reactances with a line on the reflection chart, over Z0.
const RATIOS: [f64; 5] = [0.2, 0.5, 1.0, 2.0, 5.0];
/// From this part of the radius on a label stands beside the rim, not above or below it.
const SIDE: f64 = 0.2;

impl ChartFrame {
    /// The chart's lines and labels, which need not be drawn again while a device is dragged.
    pub fn grid(&self) -> Vec<Mark> {
        match self.kind {
            ChartKind::Reflection => self.reflection_grid(),
            ChartKind::OhmPlane => self.plane_grid(),
        }
    }

    /// The ground of the chart, without a line.
    pub fn ground(&self) -> Mark {
        match self.kind {
            ChartKind::Reflection => Mark::Circle {
                center: self.center(),
                radius: self.radius(),
                fill: Some(Ink::Paper),
                stroke: None,
            },
            ChartKind::OhmPlane => Mark::rectangle(self.plane(), Ink::Paper),
        }
    }

    fn reflection_grid(&self) -> Vec<Mark> {
        let center = self.center();
        let radius = self.radius();
        let fine = Stroke::solid(Ink::Grid, 0.8);
        let mut marks = Vec::new();
        for ratio in RATIOS {
            let share = 1.0 / (1.0 + ratio);
            marks.push(Mark::Circle {
                center: self.of_gamma(Complex64::new(ratio * share, 0.0)),
                radius: radius * share,
                fill: None,
                stroke: Some(fine),
            });
            for sign in [1.0, -1.0] {
                marks.push(Mark::Line {
                    points: self.reactance_arc(sign * ratio),
                    stroke: fine,
                });
            }
        }
        let edge = |gamma: f64| self.of_gamma(Complex64::new(gamma, 0.0));
        marks.push(Mark::line(edge(-1.0), edge(1.0), fine));
        marks.push(Mark::Circle {
            center,
            radius,
            fill: None,
            stroke: Some(Stroke::solid(Ink::Text, 1.8)),
        });
        if !self.is_bare {
            marks.extend(self.reflection_labels());
        }
        marks
    }

    /// From the rim to the innermost line of constant resistance, where the arcs would crowd;
    /// that of Z0 goes on to the open.
    fn reactance_arc(&self, ratio: f64) -> Vec<Point> {
        let [cx, cy] = self.center();
        let z0 = self.reference.ohm();
        let arc_center = [cx + self.radius(), cy - self.radius() / ratio];
        let arc_radius = self.radius() / ratio.abs();
        let angle_at = |resistance_ohm: f64| {
            let z = Complex64::new(resistance_ohm, ratio * z0);
            let device = Immittance::from_impedance(z).unwrap_or(Immittance::OPEN);
            let ([x, y], _) = self.place(device);
            (y - arc_center[1]).atan2(x - arc_center[0])
        };
        let from = angle_at(0.0);
        let to = if ratio.abs() == 1.0 {
            FRAC_PI_2 * ratio.signum()
        } else {
            angle_at(RATIOS[RATIOS.len() - 1] * z0)
        };
        let span = (to - from + PI).rem_euclid(TAU) - PI;
        arc(arc_center, arc_radius, from, from + span)
    }

    /// The resistances of the circles beside that of the reference, for a chart without a map,
    /// whose borders they would lie on. None on a small chart.
    pub fn inner_labels(&self) -> Vec<Mark> {
        const ROOM: f64 = 110.0;
        if self.kind != ChartKind::Reflection || self.is_bare || self.radius() < ROOM {
            return Vec::new();
        }
        let others = RATIOS.into_iter().filter(|ratio| *ratio != 1.0);
        others.map(|ratio| self.resistance_label(ratio)).collect()
    }

    fn resistance_label(&self, ratio: f64) -> Mark {
        let ohm = ratio * self.reference.ohm();
        let device = Immittance::from_impedance(Complex64::new(ohm, 0.0));
        let ([x, y], _) = self.place(device.unwrap_or(Immittance::OPEN));
        let at = [x - 4.0, y + 0.7 * LABEL];
        Mark::text(at, bare_ohm(ohm), LABEL, Anchor::End, Ink::Faint)
    }

    fn reflection_labels(&self) -> Vec<Mark> {
        let z0 = self.reference.ohm();
        let at = |r: f64, x: f64| {
            let device = Immittance::from_impedance(Complex64::new(r * z0, x * z0));
            self.place(device.unwrap_or(Immittance::OPEN)).0
        };
        let [cx, cy] = self.center();
        let mut marks = Vec::new();
        for ratio in RATIOS {
            if ratio == 1.0 {
                marks.push(self.resistance_label(ratio));
            }
            for sign in [1.0, -1.0] {
                let [x, y] = at(0.0, sign * ratio);
                let [dx, dy] = [(x - cx) / self.radius(), (y - cy) / self.radius()];
                let sign = if sign > 0.0 { "+" } else { "−" };
                // Outside the rim, on the side where it lies.
                let anchor = match dx {
                    _ if dx > SIDE => Anchor::Start,
                    _ if dx < -SIDE => Anchor::End,
                    _ => Anchor::Middle,
                };
                let away = if anchor == Anchor::Middle {
                    0.8 * LABEL
                } else {
                    6.0
                };
                marks.push(Mark::text(
                    [x + dx * away, y + dy * 0.8 * LABEL],
                    format!("{sign}j{}", bare_ohm(ratio * z0)),
                    LABEL,
                    anchor,
                    Ink::Faint,
                ));
            }
        }
        let [x, y] = at(0.0, 0.0);
        let end = |x: f64, text: &str, anchor| Mark::text([x, y], text, LABEL, anchor, Ink::Faint);
        marks.push(end(x - 6.0, "0", Anchor::End));
        let ([x, _], _) = self.place(Immittance::OPEN);
        // Beyond the ring of a device that is nearly an open.
        marks.push(end(x + 14.0, "open", Anchor::Start));
        marks
    }

    fn plane_grid(&self) -> Vec<Mark> {
        let [left, top, right, bottom] = self.plane();
        let fine = Stroke::solid(Ink::Grid, 0.8);
        let mut marks = Vec::new();
        let z0 = self.reference.ohm();
        let middle = z0.log10();
        let every = ticks::decades_per_word((right - left) / (2.0 * DECADES), LABEL);
        for power in ticks::decades(middle - DECADES, middle + DECADES) {
            let ohm = 10f64.powi(power);
            let [x, _] = self.of_log_polar((ohm / z0).log10(), 0.0);
            marks.push(Mark::line([x, top], [x, bottom], fine));
            if power.rem_euclid(every) != 0 {
                continue;
            }
            marks.push(Mark::text(
                [x, bottom + 1.15 * LABEL],
                engineering(ohm, "Ω", 1),
                LABEL,
                Anchor::Middle,
                Ink::Faint,
            ));
        }
        let has_room = (bottom - top) / 4.0 > 1.3 * LABEL;
        for degrees in [-90.0_f64, -45.0, 0.0, 45.0, 90.0] {
            let [_, y] = self.of_log_polar(0.0, degrees.to_radians());
            marks.push(Mark::line([left, y], [right, y], fine));
            if !has_room && degrees.abs() == 45.0 {
                continue;
            }
            marks.push(Mark::text(
                [left - 5.0, y],
                format!("{}°", fixed(degrees, 0)),
                LABEL,
                Anchor::End,
                Ink::Faint,
            ));
        }
        let [x, _] = self.of_log_polar(0.0, 0.0);
        marks.push(Mark::line(
            [x, top],
            [x, bottom],
            Stroke::solid(Ink::Faint, 1.5),
        ));
        marks.push(Mark::text(
            [x, top - 0.6 * LABEL],
            engineering(z0, "Ω", 2),
            LABEL,
            Anchor::Middle,
            Ink::Faint,
        ));
        marks
    }
}

/// Ohms without their sign, short: 10, 2.5k.
fn bare_ohm(ohm: f64) -> String {
    let text = engineering(ohm, "", 3);
    let (number, prefix) = text.split_once('\u{202f}').unwrap_or((&text, ""));
    let number = if number.contains('.') {
        number.trim_end_matches('0').trim_end_matches('.')
    } else {
        number
    };
    format!("{number}{prefix}")
}

#[cfg(test)]
mod tests {
    use jigwise_physics::ReferenceImpedance;

    use super::*;

    #[test]
    fn reactance_lines_run_where_the_map_says() {
        let frame = ChartFrame {
            kind: ChartKind::Reflection,
            size: [600.0, 500.0],
            reference: ReferenceImpedance::FIFTY_OHM,
            is_bare: false,
        };
        for ratio in [0.2, -0.5, 1.0, 5.0] {
            for point in frame.reactance_arc(ratio) {
                let Some(z) = frame.device_at(point).impedance() else {
                    continue;
                };
                assert!(
                    z.norm() > 1e6 || (z.im / 50.0 - ratio).abs() < 0.02 * (1.0 + z.norm() / 50.0),
                    "line of {ratio} passes {z}"
                );
            }
        }
    }
}
