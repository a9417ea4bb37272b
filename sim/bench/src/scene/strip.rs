//! The rim strip: |Z| on a long logarithmic scale, for the parts that crowd into the last
//! pixels of the reflection chart's edge; and the phase strip below it.

use std::f64::consts::{FRAC_PI_2, PI};

use jigwise_physics::{Complex64, Immittance, ReferenceImpedance};

use super::{Anchor, Ink, Mark, Point, Stroke, ticks};
use crate::steer::{FARTHEST_DECADES as HIGH, NEAREST_DECADES as LOW, phase_rad, with_polar};
use jigwise_quantity::{engineering, fixed};

/// The strip's place and scale, from a milliohm to a megohm at 50 Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripFrame {
    /// Width and height.
    pub size: [f64; 2],
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
}

const MARGIN: f64 = 24.0;
/// Height of the line in the strip.
const LINE: f64 = 0.42;
const LABEL: f64 = 12.0;
const LABEL_DROP: f64 = 17.0;

impl StripFrame {
    fn x_of(&self, log_ratio: f64) -> f64 {
        MARGIN + (log_ratio - LOW) / (HIGH - LOW) * (self.size[0] - 2.0 * MARGIN)
    }

    /// Where |Z| of a device is on the strip, moved to its end where it lies beyond.
    pub fn x(&self, device: Immittance) -> f64 {
        let log_ratio = match device.impedance() {
            None => HIGH,
            Some(z) => (z.norm() / self.reference.ohm()).log10(),
        };
        self.x_of(log_ratio.clamp(LOW, HIGH))
    }

    /// `device` with the |Z| at `x`, its phase kept; an open or short becomes resistive.
    pub fn device_at(&self, x: f64, device: Immittance) -> Immittance {
        let across = (x - MARGIN) / (self.size[0] - 2.0 * MARGIN);
        let log_ratio = LOW + across.clamp(0.0, 1.0) * (HIGH - LOW);
        self.with_magnitude(self.reference.ohm() * 10f64.powf(log_ratio), device)
    }

    /// `device` with |Z| = `ohm`, its phase kept; an open or short becomes resistive.
    pub fn with_magnitude(&self, ohm: f64, device: Immittance) -> Immittance {
        with_polar(ohm, phase_rad(device).unwrap_or(0.0)).unwrap_or(device)
    }

    /// The strip's scale.
    pub fn grid(&self) -> Vec<Mark> {
        let [width, height] = self.size;
        let middle = height * LINE;
        let z0 = self.reference.ohm();
        let mut marks = vec![Mark::line(
            [MARGIN, middle],
            [width - MARGIN, middle],
            Stroke::solid(Ink::Faint, 1.5),
        )];
        for power in ticks::decades(z0.log10() + LOW, z0.log10() + HIGH) {
            for (ohm, digit) in ticks::digits(power..=power) {
                let log_ratio = (ohm / z0).log10();
                if log_ratio > HIGH {
                    break;
                }
                let x = self.x_of(log_ratio);
                let length = if digit == 1 { 7.0 } else { 3.0 };
                marks.push(Mark::line(
                    [x, middle - length],
                    [x, middle + length],
                    Stroke::solid(Ink::Faint, 1.0),
                ));
            }
            if !ticks::has_room_for_decades(width) && power.rem_euclid(2) != 0 {
                continue;
            }
            marks.push(Mark::text(
                [
                    self.x_of(f64::from(power) - z0.log10()),
                    middle + LABEL_DROP,
                ],
                engineering(10f64.powi(power), "Ω", 1),
                LABEL,
                Anchor::Middle,
                Ink::Faint,
            ));
        }
        marks
    }

    /// The device's ring on the strip.
    pub fn ring(&self, device: Immittance) -> Vec<Mark> {
        vec![ring([self.x(device), self.size[1] * LINE])]
    }
}

/// The phase strip: the phase of Z from −90° to 90°.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhaseFrame {
    /// Width and height.
    pub size: [f64; 2],
}

impl PhaseFrame {
    fn x_of(&self, phase_rad: f64) -> f64 {
        MARGIN + (phase_rad / PI + 0.5) * (self.size[0] - 2.0 * MARGIN)
    }

    /// The phase of Z; `None` for an open or a short, which have none.
    pub fn phase_rad(&self, device: Immittance) -> Option<f64> {
        phase_rad(device)
    }

    /// `device` with the phase at `x`, its |Z| kept; an open or short stays as it is.
    pub fn device_at(&self, x: f64, device: Immittance) -> Immittance {
        let across = ((x - MARGIN) / (self.size[0] - 2.0 * MARGIN)).clamp(0.0, 1.0);
        device
            .impedance()
            .filter(|z| *z != Complex64::ZERO)
            .and_then(|z| with_polar(z.norm(), (across - 0.5) * PI))
            .unwrap_or(device)
    }

    /// The strip's scale.
    pub fn grid(&self) -> Vec<Mark> {
        let middle = self.size[1] * LINE;
        let line = Stroke::solid(Ink::Faint, 1.0);
        let mut marks = vec![Mark::line(
            [MARGIN, middle],
            [self.size[0] - MARGIN, middle],
            Stroke::solid(Ink::Faint, 1.5),
        )];
        for degrees in (-90..=90).step_by(15) {
            let x = self.x_of(f64::from(degrees).to_radians());
            let labelled = degrees % 45 == 0;
            let length = if labelled { 7.0 } else { 3.0 };
            marks.push(Mark::line([x, middle - length], [x, middle + length], line));
            if labelled {
                marks.push(Mark::text(
                    [x, middle + LABEL_DROP],
                    format!("{}°", fixed(f64::from(degrees), 0)),
                    LABEL,
                    Anchor::Middle,
                    Ink::Faint,
                ));
            }
        }
        marks
    }

    /// The device's ring on the strip; none where it has no phase.
    pub fn ring(&self, device: Immittance) -> Vec<Mark> {
        phase_rad(device).map_or(Vec::new(), |phase_rad| {
            let x = self.x_of(phase_rad.clamp(-FRAC_PI_2, FRAC_PI_2));
            vec![ring([x, self.size[1] * LINE])]
        })
    }
}

fn ring(center: Point) -> Mark {
    Mark::Circle {
        center,
        radius: 7.0,
        fill: None,
        stroke: Some(Stroke::solid(Ink::Device, 3.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_strip_reaches_where_the_chart_crowds() {
        let strip = StripFrame {
            size: [600.0, 60.0],
            reference: ReferenceImpedance::FIFTY_OHM,
        };
        for ohm in [0.001, 0.5, 50.0, 4_700.0, 1e6] {
            let z = Complex64::from_polar(ohm, 0.3);
            let device = Immittance::from_impedance(z).unwrap();
            let back = strip
                .device_at(strip.x(device), device)
                .impedance()
                .unwrap();
            assert!((back / z - 1.0).norm() < 1e-9, "{z} became {back}");
        }
    }
}
