//! Reach: the uncertainty of each fixture's value and the change it resolves, over |Z|.

use jigwise_physics::{
    Budget, Complex64, Coverage, Crossover, Fixture, Immittance, Merits, ReferenceImpedance,
    WantedChange,
};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, sign, ticks, unbroken};
use crate::readout::Bench;
use crate::steer::{FARTHEST_DECADES as HIGH, NEAREST_DECADES as LOW, phase_rad, with_polar};
use crate::words::{fixture_title, short_percent};
use jigwise_quantity::engineering;

/// Height of a row of text, as a part of that of its letters.
const ROW: f64 = 1.3;
/// Width of a letter, the same.
const LETTER: f64 = 0.52;
/// A plot lower than this, in heights of letters, goes without words above it.
const LEAST_HEIGHT: f64 = 8.0;
const THICK: &str = "thick: ± of the value at 95 %";
const THIN: &str = "thin: increase that shows";
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
    /// Height of the letters.
    pub type_size: f64,
}

impl ReachFrame {
    /// Left, top, right and bottom of where the curves run. Every word stands beside it.
    fn area(&self) -> [f64; 4] {
        let letters = self.type_size;
        let [width, height] = self.size;
        let left = 4.0 * letters;
        let top = self.row(self.legend_rows() + 1);
        [
            left,
            top,
            (width - 1.6 * letters).max(left + 1.0),
            (height - 3.2 * letters - 2.0).max(top + 1.0),
        ]
    }

    /// Rows of words above that of the crossovers.
    fn legend_rows(&self) -> usize {
        let letters = self.type_size;
        let rows = if self.fits_in_width(THICK.len() + THIN.len()) {
            2
        } else {
            3
        };
        let without_words = (rows + 3) as f64 * ROW * letters;
        if self.size[1] - without_words < LEAST_HEIGHT * letters {
            0
        } else {
            rows
        }
    }

    fn fits_in_width(&self, letters: usize) -> bool {
        letters as f64 * LETTER * self.type_size <= self.size[0]
    }

    /// Where a row above the plot begins.
    fn row(&self, number: usize) -> f64 {
        number as f64 * ROW * self.type_size
    }

    fn words(&self, at: Point, text: impl Into<String>, anchor: Anchor, ink: Ink) -> Mark {
        Mark::text(at, text, self.type_size, anchor, ink)
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

    /// Where the line of a device may be taken hold of: at its foot. An open stands at the far end.
    pub fn grip(&self, device: Immittance) -> Point {
        let [_, _, _, bottom] = self.area();
        let ohm = device.impedance().map_or(f64::INFINITY, |z| z.norm());
        [self.x_of(ohm), bottom]
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
        marks.extend(self.crossovers(&crossovers));
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
        let letters = self.type_size;
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = vec![Mark::rectangle([left, top, right, bottom], Ink::Paper)];
        let middle = self.reference.ohm().log10();
        let decade = (right - left) / (HIGH - LOW);
        let every = ticks::decades_per_word(decade, letters);
        for power in ticks::decades(middle + LOW, middle + HIGH) {
            let ohm = 10f64.powi(power);
            let x = self.x_of(ohm);
            marks.push(Mark::line([x, top], [x, bottom], fine));
            if power.rem_euclid(every) == 0 {
                let at = [x, bottom + 1.25 * letters];
                let text = engineering(ohm, "Ω", 1);
                marks.push(self.words(at, text, Anchor::Middle, Ink::Faint));
            }
        }
        let has_room = (bottom - top) / (TOP - BOTTOM) > ROW * letters;
        for power in -1..=3 {
            let percent = 10f64.powi(power);
            let y = self.y_of(percent / 100.0);
            marks.push(Mark::line([left, y], [right, y], fine));
            if has_room || power % 2 != 0 {
                let at = [left - 0.36 * letters, y];
                let text = format!("{percent} %");
                marks.push(self.words(at, text, Anchor::End, Ink::Faint));
            }
        }
        marks.extend(self.legend());
        let y = self.y_of(self.wanted);
        marks.push(Mark::line(
            [left, y],
            [right, y],
            Stroke::solid(Ink::Text, 1.5),
        ));
        marks
    }

    /// What the lines mean and what the axes are, beside the plot, where no curve runs.
    fn legend(&self) -> Vec<Mark> {
        let [left, _, right, bottom] = self.area();
        let rows = self.legend_rows();
        let y = |number: usize| self.row(number) + 0.5 * ROW * self.type_size;
        let wanted = format!("level line: wanted {}", short_percent(self.wanted));
        let said = match rows {
            0 => Vec::new(),
            2 => vec![format!("{THICK}; {THIN}"), wanted],
            _ => vec![THICK.to_owned(), THIN.to_owned(), wanted],
        };
        let mut marks: Vec<Mark> = said
            .into_iter()
            .enumerate()
            .map(|(number, text)| self.words([right, y(number)], text, Anchor::End, Ink::Text))
            .collect();
        if rows > 0 {
            let at = [2.0, y(rows - 1)];
            marks.push(self.words(at, "share of |Z|", Anchor::Start, Ink::Text));
        }
        let at = [0.5 * (left + right), bottom + 2.55 * self.type_size];
        marks.push(self.words(at, "|Z|", Anchor::Middle, Ink::Text));
        marks
    }

    /// Where another fixture becomes the best for the value. Ohms give way to those before
    /// them, and are left out where they would lose their line, as signs are where there is no
    /// room; the description says them all.
    fn crossovers(&self, crossovers: &[Crossover]) -> Vec<Mark> {
        let [left, top, right, bottom] = self.area();
        let letters = self.type_size;
        let size = letters.min(14.0);
        let mut free_from = left;
        let mut signs_from = left;
        let mut marks = Vec::new();
        for crossover in crossovers {
            let x = self.x_of(crossover.ohm);
            let [first, second] = crossover.between;
            let line = Stroke::solid(Ink::Faint, 1.0);
            marks.push(Mark::line([x, top], [x, bottom], line));
            if x - 1.5 * size >= signs_from {
                signs_from = x + 1.5 * size;
                let at = |side: f64| [x + side * 0.75 * size, top + 0.75 * size];
                marks.extend([sign(first, at(-1.0), size), sign(second, at(1.0), size)]);
            }
            let text = engineering(crossover.ohm, "Ω", 3);
            let half = 0.5 * LETTER * letters * text.chars().count() as f64;
            let from = free_from.max(x - half);
            if from <= x && from + 2.0 * half <= right + 1.6 * letters {
                free_from = from + 2.0 * half + 0.5 * letters;
                let at = [from + half, top - 0.6 * letters];
                marks.push(self.words(at, text, Anchor::Middle, Ink::Text));
            }
        }
        marks
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
