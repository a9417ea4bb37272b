//! The chart a device is dragged on: the reflection chart, or the ohm plane of log |Z|
//! against phase.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use jigwise_physics::{Complex64, Fixture, Immittance, OhmArea, ReferenceImpedance};

use super::{Anchor, Ink, Mark, Point, Scene, Stroke, arc};
use crate::readout::Readout;
use jigwise_quantity::{complex_ohm, engineering, fixed};

/// Which chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChartKind {
    /// Γ in its disc, with lines of constant resistance and reactance in ohms.
    Reflection,
    /// log |Z| to the right, the phase of Z upward.
    OhmPlane,
}

/// A chart's place and scale: where a device is, and which device is at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartFrame {
    /// Which chart.
    pub kind: ChartKind,
    /// Width and height of the picture.
    pub size: [f64; 2],
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
}

/// |Z|/Z0 at the ends of the ohm plane, as a power of ten to either side.
const DECADES: f64 = 5.0;
const LABEL: f64 = 12.0;
/// Resistances and reactances with a line on the reflection chart, over Z0.
const RATIOS: [f64; 5] = [0.2, 0.5, 1.0, 2.0, 5.0];

impl ChartFrame {
    /// Room around the chart for its labels.
    const MARGIN: f64 = 34.0;

    fn center(&self) -> Point {
        [self.size[0] / 2.0, self.size[1] / 2.0]
    }

    fn radius(&self) -> f64 {
        (self.size[0].min(self.size[1]) / 2.0 - Self::MARGIN).max(1.0)
    }

    /// Left, top, right, bottom of the ohm plane.
    fn plane(&self) -> [f64; 4] {
        [
            Self::MARGIN + 14.0,
            Self::MARGIN / 2.0,
            (self.size[0] - Self::MARGIN / 2.0).max(Self::MARGIN + 15.0),
            (self.size[1] - Self::MARGIN).max(Self::MARGIN / 2.0 + 1.0),
        ]
    }

    /// Left, top, right, bottom of what a map fills.
    pub fn map_rect(&self) -> [f64; 4] {
        match self.kind {
            ChartKind::Reflection => {
                let ([x, y], r) = (self.center(), self.radius());
                [x - r, y - r, x + r, y + r]
            }
            ChartKind::OhmPlane => self.plane(),
        }
    }

    /// The ohm plane as an area of `side`² pixels.
    pub(super) fn ohm_area(reference: ReferenceImpedance, side: usize) -> OhmArea {
        OhmArea {
            from_ohm: reference.ohm() * 10f64.powf(-DECADES),
            to_ohm: reference.ohm() * 10f64.powf(DECADES),
            from_rad: -FRAC_PI_2,
            to_rad: FRAC_PI_2,
            columns: side,
            rows: side,
        }
    }

    /// Where a device is, moved to the chart's edge where it lies outside. The second value
    /// is true if it had to be moved: an active part, or one beyond the ohm plane's ends.
    pub fn place(&self, device: Immittance) -> (Point, bool) {
        match self.kind {
            ChartKind::Reflection => {
                let reading = Fixture::Reflect.reading(device, self.reference);
                let gamma = reading.value().unwrap_or(Complex64::new(1e9, 0.0));
                let outside = gamma.norm() > 1.0 + 1e-9;
                let gamma = gamma / gamma.norm().max(1.0);
                (self.of_gamma(gamma), outside)
            }
            ChartKind::OhmPlane => {
                let (log_ratio, phase_rad) = self.log_polar(device);
                let across = log_ratio.clamp(-DECADES, DECADES);
                let up = phase_rad.clamp(-FRAC_PI_2, FRAC_PI_2);
                let outside = across != log_ratio || (up - phase_rad).abs() > 1e-9;
                (self.of_log_polar(across, up), outside)
            }
        }
    }

    /// The device at a place; places outside the chart stand for the nearest on its edge.
    pub fn device_at(&self, [x, y]: Point) -> Immittance {
        let found = match self.kind {
            ChartKind::Reflection => {
                let [cx, cy] = self.center();
                let gamma = Complex64::new(x - cx, cy - y) / self.radius();
                let gamma = gamma / gamma.norm().max(1.0);
                Fixture::Reflect.immittance(gamma, self.reference).ok()
            }
            ChartKind::OhmPlane => {
                let [left, top, right, bottom] = self.plane();
                let across = ((x - left) / (right - left) * 2.0 - 1.0).clamp(-1.0, 1.0) * DECADES;
                let up = (1.0 - (y - top) / (bottom - top) * 2.0).clamp(-1.0, 1.0) * FRAC_PI_2;
                let ohm = self.reference.ohm() * 10f64.powf(across);
                Immittance::from_impedance(Complex64::from_polar(ohm, up)).ok()
            }
        };
        // Only a place that is no number has no device; then nothing has been connected.
        found.unwrap_or(Immittance::OPEN)
    }

    fn of_gamma(&self, gamma: Complex64) -> Point {
        let [cx, cy] = self.center();
        [cx + gamma.re * self.radius(), cy - gamma.im * self.radius()]
    }

    fn of_log_polar(&self, log_ratio: f64, phase_rad: f64) -> Point {
        let [left, top, right, bottom] = self.plane();
        [
            left + (log_ratio / DECADES + 1.0) / 2.0 * (right - left),
            bottom - (phase_rad / FRAC_PI_2 + 1.0) / 2.0 * (bottom - top),
        ]
    }

    fn log_polar(&self, device: Immittance) -> (f64, f64) {
        match device.impedance() {
            None => (f64::INFINITY, 0.0),
            Some(z) if z == Complex64::ZERO => (f64::NEG_INFINITY, 0.0),
            Some(z) => ((z.norm() / self.reference.ohm()).log10(), z.arg()),
        }
    }

    /// The chart without a device: what need not be drawn again while one is dragged.
    pub fn grid(&self) -> Vec<Mark> {
        match self.kind {
            ChartKind::Reflection => self.reflection_grid(),
            ChartKind::OhmPlane => self.plane_grid(),
        }
    }

    fn reflection_grid(&self) -> Vec<Mark> {
        let center = self.center();
        let radius = self.radius();
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = vec![Mark::Circle {
            center,
            radius,
            fill: Some(Ink::Paper),
            stroke: None,
        }];
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
            stroke: Some(Stroke::solid(Ink::Faint, 1.5)),
        });
        marks.extend(self.reflection_labels());
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

    fn reflection_labels(&self) -> Vec<Mark> {
        let z0 = self.reference.ohm();
        let at = |r: f64, x: f64| {
            let device = Immittance::from_impedance(Complex64::new(r * z0, x * z0));
            self.place(device.unwrap_or(Immittance::OPEN)).0
        };
        let mut marks = Vec::new();
        // A small chart has room for every other label only.
        const ROOM: f64 = 150.0;
        for (k, ratio) in RATIOS.into_iter().enumerate() {
            let [x, y] = at(ratio, 0.0);
            if self.radius() >= ROOM || k % 2 == 0 {
                marks.push(Mark::text(
                    [x - 3.0, y + 9.0],
                    bare_ohm(ratio * z0),
                    LABEL,
                    Anchor::End,
                    Ink::Faint,
                ));
            }
            for sign in [1.0, -1.0] {
                let [x, y] = at(0.0, sign * ratio);
                let [cx, cy] = self.center();
                let out = 1.0 + 18.0 / self.radius();
                let sign = if sign > 0.0 { "+" } else { "−" };
                marks.push(Mark::text(
                    [cx + (x - cx) * out, cy + (y - cy) * out],
                    format!("{sign}j{}", bare_ohm(ratio * z0)),
                    LABEL,
                    Anchor::Middle,
                    Ink::Faint,
                ));
            }
        }
        let [x, y] = at(0.0, 0.0);
        marks.push(Mark::text(
            [x - 5.0, y],
            "0",
            LABEL,
            Anchor::End,
            Ink::Faint,
        ));
        let ([x, y], _) = self.place(Immittance::OPEN);
        marks.push(Mark::text(
            [x + 5.0, y],
            "open",
            LABEL,
            Anchor::Start,
            Ink::Faint,
        ));
        marks.push(Mark::text(
            [8.0, LABEL],
            "ohms",
            LABEL,
            Anchor::Start,
            Ink::Faint,
        ));
        marks
    }

    fn plane_grid(&self) -> Vec<Mark> {
        let [left, top, right, bottom] = self.plane();
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = vec![Mark::Area {
            points: vec![[left, top], [right, top], [right, bottom], [left, bottom]],
            fill: Ink::Paper,
        }];
        let z0 = self.reference.ohm();
        for power in decades(z0) {
            let ohm = 10f64.powi(power);
            let [x, _] = self.of_log_polar((ohm / z0).log10(), 0.0);
            marks.push(Mark::line([x, top], [x, bottom], fine));
            if !has_room_for_decades(self.size[0]) && power.rem_euclid(2) != 0 {
                continue;
            }
            marks.push(Mark::text(
                [x, bottom + 11.0],
                engineering(ohm, "Ω", 1),
                LABEL,
                Anchor::Middle,
                Ink::Faint,
            ));
        }
        for degrees in [-90.0_f64, -45.0, 0.0, 45.0, 90.0] {
            let [_, y] = self.of_log_polar(0.0, degrees.to_radians());
            marks.push(Mark::line([left, y], [right, y], fine));
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
            [x + 4.0, top + 9.0],
            engineering(z0, "Ω", 2),
            LABEL,
            Anchor::Start,
            Ink::Faint,
        ));
        marks
    }

    /// The ring of a kept copy: thinner, dashed and without its centre.
    pub fn kept_ring(&self, device: Immittance) -> Vec<Mark> {
        let (center, _) = self.place(device);
        vec![Mark::Line {
            points: arc(center, 9.0, 0.0, TAU),
            stroke: Stroke {
                ink: Ink::Device,
                width: 1.5,
                dash: super::Dash::Long,
            },
        }]
    }

    /// The ring that is the device; broken open where the device lies outside the chart.
    pub fn ring(&self, device: Immittance) -> Vec<Mark> {
        const RADIUS: f64 = 9.0;
        let (center, outside) = self.place(device);
        let stroke = Stroke::solid(Ink::Device, 3.0);
        if outside {
            let [x, y] = center;
            return vec![
                Mark::Line {
                    points: arc(center, RADIUS, PI / 4.0, TAU - PI / 4.0),
                    stroke,
                },
                Mark::text([x, y - 18.0], "outside", LABEL, Anchor::Middle, Ink::Device),
            ];
        }
        vec![
            Mark::Circle {
                center,
                radius: RADIUS,
                fill: None,
                stroke: Some(stroke),
            },
            Mark::Circle {
                center,
                radius: 1.5,
                fill: Some(Ink::Device),
                stroke: None,
            },
        ]
    }
}

/// A chart with its device, for the book.
pub fn chart(readout: &Readout, kind: ChartKind, size: [f64; 2]) -> Scene {
    let frame = ChartFrame {
        kind,
        size,
        reference: readout.reference,
    };
    let mut marks = frame.grid();
    marks.extend(frame.ring(readout.device));
    let device = match readout.device.impedance() {
        Some(z) => complex_ohm(z, 4),
        None => "an open".to_owned(),
    };
    let title = match kind {
        ChartKind::Reflection => "The device on the reflection chart",
        ChartKind::OhmPlane => "The device on the ohm plane",
    };
    let where_to = match Fixture::Reflect
        .reading(readout.device, readout.reference)
        .value()
    {
        Some(gamma) => format!(
            "; reflection coefficient {} at {}°",
            fixed(gamma.norm(), 4),
            fixed(gamma.arg().to_degrees(), 1)
        ),
        None => String::new(),
    };
    Scene {
        size,
        title: title.to_owned(),
        description: format!("A ring marks {device}{where_to}."),
        marks,
    }
}

/// The whole powers of ten within the ohm plane.
pub(super) fn decades(z0_ohm: f64) -> std::ops::RangeInclusive<i32> {
    let middle = z0_ohm.log10();
    ((middle - DECADES).ceil() as i32)..=((middle + DECADES).floor() as i32)
}

/// True where a label at every decade of ohms does not run into the next.
pub(super) fn has_room_for_decades(width: f64) -> bool {
    width >= 430.0
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
    use super::*;

    fn frame(kind: ChartKind) -> ChartFrame {
        ChartFrame {
            kind,
            size: [600.0, 500.0],
            reference: ReferenceImpedance::FIFTY_OHM,
        }
    }

    #[test]
    fn a_place_and_its_device_belong_together() {
        for kind in [ChartKind::Reflection, ChartKind::OhmPlane] {
            let frame = frame(kind);
            for z in [
                Complex64::new(50.0, 0.0),
                Complex64::new(4_700.0, 0.0),
                Complex64::new(3.0, -40.0),
                Complex64::new(0.02, 1.0),
            ] {
                let device = Immittance::from_impedance(z).unwrap();
                let (place, outside) = frame.place(device);
                assert!(!outside);
                let back = frame.device_at(place);
                let distance = back.chordal_distance(device, frame.reference);
                assert!(distance < 1e-12, "{kind:?} {z}: {distance:e}");
            }
        }
    }

    #[test]
    fn what_lies_outside_is_shown_at_the_edge() {
        let active = Immittance::from_impedance(Complex64::new(-30.0, 20.0)).unwrap();
        for kind in [ChartKind::Reflection, ChartKind::OhmPlane] {
            assert!(frame(kind).place(active).1);
        }
        assert!(frame(ChartKind::OhmPlane).place(Immittance::OPEN).1);
        assert!(!frame(ChartKind::Reflection).place(Immittance::OPEN).1);
    }

    #[test]
    fn reactance_lines_run_where_the_map_says() {
        let frame = frame(ChartKind::Reflection);
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
