//! The chart a device is dragged on: the reflection chart, or the ohm plane of log |Z|
//! against phase.

mod grid;

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};

use super::{Anchor, Ink, Mark, Point, Scene, Stroke, arc};
use crate::readout::Readout;
use jigwise_quantity::{angle, complex_ohm, fixed};

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
    /// True for a picture that is read from afar, without labels on its lines.
    pub is_bare: bool,
}

/// |Z|/Z0 at the ends of the ohm plane, as a power of ten to either side.
const DECADES: f64 = 5.0;
const LABEL: f64 = 14.0;

impl ChartFrame {
    /// Room around the ohm plane for its labels.
    const MARGIN: f64 = 34.0;

    /// Room beside and above the reflection chart.
    fn margins(&self) -> [f64; 2] {
        if self.is_bare {
            [14.0, 14.0]
        } else {
            [52.0, 22.0]
        }
    }

    pub(super) fn center(&self) -> Point {
        [self.size[0] / 2.0, self.size[1] / 2.0]
    }

    pub(super) fn radius(&self) -> f64 {
        {
            let [beside, above] = self.margins();
            let [width, height] = self.size;
            (width / 2.0 - beside).min(height / 2.0 - above).max(1.0)
        }
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
        // A place that is not a number has no device and counts as an open.
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
            // Toward the middle, where no scale's letters are.
            let beside = if y < 0.5 * self.size[1] { 19.0 } else { -19.0 };
            return vec![
                Mark::Line {
                    points: arc(center, RADIUS, PI / 4.0, TAU - PI / 4.0),
                    stroke,
                },
                Mark::text(
                    [x, y + beside],
                    "outside",
                    LABEL,
                    Anchor::Middle,
                    Ink::Device,
                ),
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
        is_bare: false,
    };
    let mut marks = vec![frame.ground()];
    marks.extend(frame.grid());
    marks.extend(frame.inner_labels());
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
            "; reflection coefficient {} at {}",
            fixed(gamma.norm(), 4),
            angle(gamma.arg().to_degrees(), 1)
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

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(kind: ChartKind) -> ChartFrame {
        ChartFrame {
            kind,
            size: [600.0, 500.0],
            reference: ReferenceImpedance::FIFTY_OHM,
            is_bare: false,
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
}
