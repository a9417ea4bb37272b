//! The rim strip: |Z| on a long logarithmic scale, for the parts that crowd into the last
//! pixels of the reflection chart's edge.

use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};

use super::{Anchor, Ink, Mark, Stroke};
use crate::show::engineering;

/// The strip's place and scale, from a milliohm to a megohm at 50 Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripFrame {
    /// Width and height.
    pub size: [f64; 2],
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
}

const MARGIN: f64 = 24.0;
/// |Z|/Z0 at the ends, in decades.
const LOW: f64 = -4.75;
const HIGH: f64 = 4.35;

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
        let phase_rad = device
            .impedance()
            .filter(|z| z.norm() > 0.0)
            .map_or(0.0, Complex64::arg);
        let ohm = self.reference.ohm() * 10f64.powf(log_ratio);
        Immittance::from_impedance(Complex64::from_polar(ohm, phase_rad)).unwrap_or(device)
    }

    /// The strip's scale.
    pub fn grid(&self) -> Vec<Mark> {
        let [width, height] = self.size;
        let middle = height * 0.42;
        let z0 = self.reference.ohm();
        let mut marks = vec![Mark::line(
            [MARGIN, middle],
            [width - MARGIN, middle],
            Stroke::solid(Ink::Faint, 1.5),
        )];
        let first = (z0.log10() + LOW).ceil() as i32;
        let last = (z0.log10() + HIGH).floor() as i32;
        for power in first..=last {
            for step in 1..10 {
                let ohm = 10f64.powi(power) * f64::from(step);
                let log_ratio = (ohm / z0).log10();
                if log_ratio > HIGH {
                    break;
                }
                let x = self.x_of(log_ratio);
                let length = if step == 1 { 7.0 } else { 3.0 };
                marks.push(Mark::line(
                    [x, middle - length],
                    [x, middle + length],
                    Stroke::solid(Ink::Faint, 1.0),
                ));
            }
            marks.push(Mark::text(
                [self.x_of(f64::from(power) - z0.log10()), middle + 17.0],
                engineering(10f64.powi(power), "Ω", 1),
                12.0,
                Anchor::Middle,
                Ink::Faint,
            ));
        }
        marks
    }

    /// The device's ring on the strip.
    pub fn ring(&self, device: Immittance) -> Vec<Mark> {
        let center = [self.x(device), self.size[1] * 0.42];
        vec![Mark::Circle {
            center,
            radius: 7.0,
            fill: None,
            stroke: Some(Stroke::solid(Ink::Device, 3.0)),
        }]
    }

    /// How many ohms one pixel of the reflection chart stands for where the device is, for a
    /// chart of `radius` pixels. `None` for an open.
    pub fn ohm_per_chart_pixel(&self, device: Immittance, radius: f64) -> Option<f64> {
        let per_unit = Fixture::Reflect.ohm_per_reading(device, self.reference)?;
        Some(per_unit.norm() / radius)
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
