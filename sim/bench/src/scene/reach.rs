//! Reach: the uncertainty of each fixture's value and the change it resolves, over |Z|.

use jigwise_physics::{
    Budget, Complex64, Coverage, Crossover, Fixture, Immittance, Merits, ReferenceImpedance,
    WantedChange,
};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, sign, ticks, unbroken};
use crate::readout::Bench;
use crate::steer::{FARTHEST_DECADES as HIGH, NEAREST_DECADES as LOW, phase_rad, with_polar};
use crate::words::fixture_title;
use jigwise_quantity::{engineering, fixed};

const LABEL: f64 = 11.0;
/// Height above the plot, for what its lines mean.
const HEAD: f64 = 36.0;
/// Percent at bottom and top, decades.
const BOTTOM: f64 = -1.0;
const TOP: f64 = 3.0;
/// Points of a curve.
const STEPS: usize = 160;

/// The plot's place and scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReachFrame {
    /// Width and height.
    pub size: [f64; 2],
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// The wanted uncertainty at 95 %, as a share of |Z|.
    pub wanted: f64,
}

impl ReachFrame {
    fn area(&self) -> [f64; 4] {
        [
            44.0,
            HEAD,
            (self.size[0] - 10.0).max(45.0),
            (self.size[1] - 36.0).max(HEAD + 1.0),
        ]
    }

    fn x_of(&self, ohm: f64) -> f64 {
        let [left, _, right, _] = self.area();
        let decades = (ohm / self.reference.ohm()).log10().clamp(LOW, HIGH);
        left + (decades - LOW) / (HIGH - LOW) * (right - left)
    }

    fn y_of(&self, share: f64) -> f64 {
        let [_, top, _, bottom] = self.area();
        let decades = (100.0 * share).max(1e-30).log10().clamp(BOTTOM, TOP);
        bottom - (decades - BOTTOM) / (TOP - BOTTOM) * (bottom - top)
    }

    fn ohm_at(&self, x: f64) -> f64 {
        let [left, _, right, _] = self.area();
        let part = ((x - left) / (right - left)).clamp(0.0, 1.0);
        self.reference.ohm() * 10f64.powf(LOW + part * (HIGH - LOW))
    }

    /// True where `y` is on the line of the wanted percentage, or as near as a finger comes.
    pub fn is_at_wanted(&self, y: f64) -> bool {
        const NEAR: f64 = 7.0;
        (y - self.y_of(self.wanted)).abs() <= NEAR
    }

    /// The share of |Z| at `y`, within the plot.
    pub fn share_at(&self, y: f64) -> f64 {
        let [_, top, _, bottom] = self.area();
        let part = ((bottom - y) / (bottom - top)).clamp(0.0, 1.0);
        10f64.powf(BOTTOM + part * (TOP - BOTTOM)) / 100.0
    }

    /// `device` with the |Z| at `x`, its phase kept; an open or short becomes resistive.
    pub fn device_at(&self, x: f64, device: Immittance) -> Immittance {
        with_polar(self.ohm_at(x), phase_rad(device).unwrap_or(0.0)).unwrap_or(device)
    }

    /// The scene for a bench. `None` without an instrument.
    pub fn scene(&self, bench: &Bench) -> Option<Scene> {
        let mut scene = self.backdrop(bench)?;
        scene.marks.extend(self.device_line(bench.device()));
        Some(scene)
    }

    /// The line at the device's |Z|; `None` for an open.
    pub fn device_line(&self, device: Immittance) -> Option<Mark> {
        let [_, top, _, bottom] = self.area();
        let x = self.x_of(device.impedance()?.norm());
        Some(Mark::line(
            [x, top],
            [x, bottom],
            Stroke::solid(Ink::Device, 2.0),
        ))
    }

    /// The scene without the device: grid, curves and crossovers, which depend on the device by
    /// its phase alone. `None` without an instrument.
    pub fn backdrop(&self, bench: &Bench) -> Option<Scene> {
        let budget = bench.budget()?;
        let phase_rad = phase_rad(bench.device()).unwrap_or(0.0);
        let crossovers: Vec<Crossover> = Merits::of(budget)
            .crossovers(phase_rad)
            .into_iter()
            .filter(|crossover| crossover.best)
            .collect();
        let mut marks = self.grid();
        for crossover in &crossovers {
            marks.extend(self.crossover(crossover));
        }
        for fixture in Fixture::ALL {
            marks.extend(self.curves(budget, fixture, phase_rad));
        }
        let named: Vec<String> = crossovers
            .iter()
            .map(|crossover| {
                format!(
                    "{} and {} at {}",
                    fixture_title(crossover.between[0]),
                    fixture_title(crossover.between[1]).to_lowercase(),
                    engineering(crossover.ohm, "Ω", 3)
                )
            })
            .collect();
        Some(Scene {
            size: self.size,
            title: "Reach: uncertainty of the value, and the change that shows, over |Z|"
                .to_owned(),
            description: if named.is_empty() {
                "One fixture is best for the value at every |Z|.".to_owned()
            } else {
                format!("The best for the value changes: {}.", named.join("; "))
            },
            marks,
        })
    }

    /// The phase that the curves are for, radians; 0 for an open and a short.
    pub fn phase_of(bench: &Bench) -> f64 {
        phase_rad(bench.device()).unwrap_or(0.0)
    }

    fn grid(&self) -> Vec<Mark> {
        let [left, top, right, bottom] = self.area();
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = vec![Mark::rectangle([left, top, right, bottom], Ink::Paper)];
        let middle = self.reference.ohm().log10();
        for power in ticks::decades(middle + LOW, middle + HIGH) {
            let ohm = 10f64.powi(power);
            let x = self.x_of(ohm);
            marks.push(Mark::line([x, top], [x, bottom], fine));
            if power.rem_euclid(2) == 0 {
                marks.push(Mark::text(
                    [x, bottom + 11.0],
                    engineering(ohm, "Ω", 1),
                    LABEL,
                    Anchor::Middle,
                    Ink::Faint,
                ));
            }
        }
        for power in -1..=3 {
            let percent = 10f64.powi(power);
            let y = self.y_of(percent / 100.0);
            marks.push(Mark::line([left, y], [right, y], fine));
            marks.push(Mark::text(
                [left - 4.0, y],
                format!("{percent} %"),
                LABEL,
                Anchor::End,
                Ink::Faint,
            ));
        }
        // Beside the plot, where no curve runs through them.
        for (at, text, anchor) in [
            (
                [right, 8.0],
                "thick: ± of the value at 95 %; thin: increase that shows".to_owned(),
                Anchor::End,
            ),
            ([2.0, 22.0], "share of |Z|".to_owned(), Anchor::Start),
            (
                [right, 22.0],
                format!("level line: wanted {} %", fixed(100.0 * self.wanted, 1)),
                Anchor::End,
            ),
            ([right, bottom + 25.0], "|Z|".to_owned(), Anchor::End),
        ] {
            marks.push(Mark::text(at, text, LABEL, anchor, Ink::Text));
        }
        let y = self.y_of(self.wanted);
        marks.push(Mark::line(
            [left, y],
            [right, y],
            Stroke::solid(Ink::Text, 1.5),
        ));
        marks
    }

    fn crossover(&self, crossover: &Crossover) -> Vec<Mark> {
        let [_, top, _, bottom] = self.area();
        let x = self.x_of(crossover.ohm);
        let [first, second] = crossover.between;
        vec![
            Mark::line([x, top], [x, bottom], Stroke::solid(Ink::Faint, 1.0)),
            sign(first, [x - 8.0, top + 8.0], 11.0),
            sign(second, [x + 8.0, top + 8.0], 11.0),
            Mark::text(
                [x, top + 21.0],
                engineering(crossover.ohm, "Ω", 3),
                LABEL,
                Anchor::Middle,
                Ink::Text,
            ),
        ]
    }

    /// The value's uncertainty at 95 % as the thick line, the resolvable increase as the thin.
    fn curves(&self, budget: &Budget, fixture: Fixture, phase_rad: f64) -> Vec<Mark> {
        let radius = Coverage::P95.radius_in_rms();
        let device = |k: usize| {
            let decades = LOW + (HIGH - LOW) * k as f64 / STEPS as f64;
            let ohm = self.reference.ohm() * 10f64.powf(decades);
            let z = Complex64::from_polar(ohm, phase_rad);
            (
                ohm,
                Immittance::from_impedance(z).unwrap_or(Immittance::OPEN),
            )
        };
        let wanted = WantedChange::default();
        let value = (0..=STEPS).map(|k| {
            let (ohm, part) = device(k);
            (
                ohm,
                budget.figure_of_merit(fixture, part).map(|e| radius * e),
            )
        });
        let change = (0..=STEPS).map(|k| {
            let (ohm, part) = device(k);
            let both = budget.resolvable(fixture, part, wanted.direction, wanted.swapped);
            (ohm, both.and_then(|both| both.increase.value()))
        });
        let mut marks = Vec::new();
        for (width, points) in [(2.4, self.runs(value)), (1.1, self.runs(change))] {
            for points in points {
                marks.push(Mark::Line {
                    points,
                    stroke: Stroke {
                        ink: Ink::Fixture(fixture),
                        width,
                        dash: Dash::of(fixture),
                    },
                });
            }
        }
        marks
    }

    /// Points inside the plot, in unbroken runs.
    fn runs(&self, values: impl Iterator<Item = (f64, Option<f64>)>) -> Vec<Vec<Point>> {
        unbroken(values.map(|(ohm, share)| {
            let share = share?;
            let is_inside = (BOTTOM..=TOP).contains(&(100.0 * share).log10());
            is_inside.then(|| [self.x_of(ohm), self.y_of(share)])
        }))
    }
}
