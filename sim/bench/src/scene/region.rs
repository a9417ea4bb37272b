//! Coverage regions of the three fixtures on a chart.

use jigwise_physics::{Complex64, DiscImage, Fixture, Immittance};

use super::{ChartFrame, Dash, Ink, Mark, Point, Stroke};
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
        let mut runs: Vec<Vec<Point>> = vec![Vec::new()];
        for k in 0..=STEPS {
            let angle = std::f64::consts::TAU * k as f64 / STEPS as f64;
            let z = center + Complex64::from_polar(radius, angle);
            let place = Immittance::from_impedance(z).map(|part| self.place(part));
            match (place, runs.last_mut()) {
                (Ok((point, false)), Some(run)) => run.push(point),
                _ => runs.push(Vec::new()),
            }
        }
        runs.retain(|run| run.len() > 1);
        runs.into_iter()
            .map(|points| Mark::Line { points, stroke })
            .collect()
    }
}
