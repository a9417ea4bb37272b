//! Coverage regions of the three fixtures on a chart.

use jigwise_physics::{Complex64, DiscImage, Fixture, Immittance};

use super::{ChartFrame, Dash, Ink, Mark, Stroke, unbroken};
use crate::readout::Readout;

/// Points of one outline.
const STEPS: usize = 120;

impl ChartFrame {
    /// The 95 % region of each fixture's value as an outline in the fixture's own line, cut at
    /// the chart's edge.
    pub fn regions(&self, readout: &Readout) -> Vec<Mark> {
        Fixture::ALL
            .into_iter()
            .filter_map(|fixture| {
                let region = readout.appraisal_of(fixture)?.region?;
                let (DiscImage::Inside { center, radius } | DiscImage::Outside { center, radius }) =
                    region
                else {
                    return None;
                };
                Some(self.outline(fixture, center, radius))
            })
            .flatten()
            .collect()
    }

    fn outline(&self, fixture: Fixture, center: Complex64, radius: f64) -> Vec<Mark> {
        let stroke = Stroke {
            ink: Ink::Fixture(fixture),
            width: 2.0,
            dash: Dash::of(fixture),
        };
        let points = (0..=STEPS).map(|k| {
            let angle = std::f64::consts::TAU * k as f64 / STEPS as f64;
            let z = center + Complex64::from_polar(radius, angle);
            let (point, outside) = self.place(Immittance::from_impedance(z).ok()?);
            (!outside).then_some(point)
        });
        unbroken(points)
            .into_iter()
            .map(|points| Mark::Line { points, stroke })
            .collect()
    }
}
