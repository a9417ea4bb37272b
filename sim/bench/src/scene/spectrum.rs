//! |Z| and phase over frequency: the part as it is, and what each fixture makes of it.

use jigwise_physics::{Complex64, Fixture};
use jigwise_quantity::{Unit, engineering, fixed, parse_value};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke, ticks, unbroken};
use crate::scenario::{Scenario, ScenarioError, Spacing, SweepPlan};
use crate::spectrum::Spectrum;
use crate::words::fixture_title;

const LABEL: f64 = 11.0;
/// Height of the strip above a panel with its name.
const NAME: f64 = 20.0;
/// Height below the panels, with the frequencies and their name.
const FOOT: f64 = 38.0;
/// Share of the height that the upper panel takes.
const UPPER: f64 = 0.62;
/// Share of the part's own |Z| by which a fixture's curve must differ to be named.
const DIFFERS: f64 = 0.02;
/// A phase that jumps by more than this between two points has wrapped round.
const WRAPPED_DEG: f64 = 180.0;

/// The plot's place, and which fixtures are drawn into it.
#[derive(Debug, Clone, PartialEq)]
pub struct SpectrumFrame {
    /// Width and height.
    pub size: [f64; 2],
    /// Whose ohms got back are drawn beside the part; none draws the part alone.
    pub fixtures: Vec<Fixture>,
}

/// Scales of both panels.
struct Axes {
    sweep: SweepPlan,
    left: f64,
    right: f64,
    /// Top and bottom of |Z| and of the phase.
    panels: [[f64; 2]; 2],
    /// log10 of |Z| in ohms at bottom and top.
    decades: [f64; 2],
}

impl SpectrumFrame {
    /// The scene for a scenario with a sweep.
    ///
    /// # Errors
    /// [`ScenarioError`] where there is no sweep, or a point of it can't be computed.
    pub fn scene(&self, scenario: &Scenario) -> Result<Scene, ScenarioError> {
        let sweep = scenario.sweep.ok_or_else(|| {
            ScenarioError::free(
                "a plot over frequency needs a [sweep]; give it from, to and points".to_owned(),
            )
        })?;
        let spectrum = Spectrum::of(scenario, &sweep, &self.fixtures)?;
        let rows = spectrum.got_back_ohm.iter().map(|(_, row)| row);
        let decades = rows
            .chain([&spectrum.part_ohm])
            .flatten()
            .filter_map(|z| z.map(size))
            .filter(|decades| decades.is_finite());
        let (low, high) = decades.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
            (low.min(at), high.max(at))
        });
        if low > high {
            return Err(ScenarioError::free(
                "nothing to plot: the part has no impedance anywhere in the sweep".to_owned(),
            ));
        }
        let axes = self.axes(sweep, low, high);
        let mut marks = axes.grid();
        for (fixture, row) in &spectrum.got_back_ohm {
            let stroke = Stroke {
                ink: Ink::Fixture(*fixture),
                width: 2.6,
                dash: Dash::of(*fixture),
            };
            marks.extend(axes.curve(&spectrum.freq_hz, row, stroke));
        }
        let stroke = Stroke::solid(Ink::Device, 1.4);
        marks.extend(axes.curve(&spectrum.freq_hz, &spectrum.part_ohm, stroke));
        Ok(Scene {
            size: self.size,
            title: "Size and phase of the impedance over frequency".to_owned(),
            description: description(scenario, &spectrum),
            marks,
        })
    }

    fn axes(&self, sweep: SweepPlan, low: f64, high: f64) -> Axes {
        let [width, height] = self.size;
        Axes {
            sweep,
            left: 50.0,
            right: (width - 12.0).max(51.0),
            panels: [
                [NAME, height * UPPER],
                [
                    height * UPPER + NAME,
                    (height - FOOT).max(height * UPPER + NAME + 1.0),
                ],
            ],
            decades: [low.floor(), high.ceil().max(low.floor() + 1.0)],
        }
    }
}

fn description(scenario: &Scenario, spectrum: &Spectrum) -> String {
    let mut text = format!(
        "{}, {}.",
        scenario.title.as_deref().unwrap_or("A part"),
        scenario.device
    );
    let is_narrow = match (spectrum.freq_hz.first(), spectrum.freq_hz.last()) {
        (Some(first), Some(last)) => last / first < 1.1,
        _ => false,
    };
    // A crystal's two resonances differ in the fourth digit.
    let digits = if is_narrow { 5 } else { 3 };
    let extremes = spectrum.extremes().into_iter().flatten();
    for (word, (hz, ohm)) in ["least", "most"].into_iter().zip(extremes) {
        text.push_str(&format!(
            " |Z| is {word}, {}, at {}.",
            engineering(ohm, "Ω", 3),
            engineering(hz, "Hz", digits)
        ));
    }
    for (fixture, row) in &spectrum.got_back_ohm {
        let name = fixture_title(*fixture);
        text.push_str(&match spectrum.leaves_at_hz(row, DIFFERS) {
            Some(hz) => format!(
                " {name} leaves it by more than {} % from {}.",
                100.0 * DIFFERS,
                engineering(hz, "Hz", digits)
            ),
            None => format!(" {name} shows it within {} %.", 100.0 * DIFFERS),
        });
    }
    text
}

fn size(z: Complex64) -> f64 {
    z.norm().log10()
}

fn degrees(z: Complex64) -> f64 {
    z.arg().to_degrees()
}

impl Axes {
    fn x_of(&self, hz: f64) -> f64 {
        let SweepPlan {
            from_hz,
            to_hz,
            spacing,
            ..
        } = self.sweep;
        let share = match spacing {
            Spacing::Even => (hz - from_hz) / (to_hz - from_hz),
            Spacing::Logarithmic => (hz / from_hz).ln() / (to_hz / from_hz).ln(),
        };
        self.left + share * (self.right - self.left)
    }

    /// Of log10 |Z| in the upper panel, of degrees in the lower.
    fn y_of(&self, panel: usize, value: f64) -> f64 {
        let [top, bottom] = self.panels[panel];
        let [low, high] = [self.decades, [-180.0, 180.0]][panel];
        let share = (value.clamp(low, high) - low) / (high - low);
        bottom - share * (bottom - top)
    }

    /// The size in the upper panel and the phase in the lower. The line breaks at a point without
    /// impedance and where the phase turns over.
    fn curve(&self, freq_hz: &[f64], row: &[Option<Complex64>], stroke: Stroke) -> Vec<Mark> {
        let mut marks = Vec::new();
        for (panel, value) in [(0, size as fn(Complex64) -> f64), (1, degrees)] {
            let mut before: Option<f64> = None;
            let points = freq_hz.iter().zip(row).flat_map(|(hz, z)| {
                let now = z.map(value).filter(|value| value.is_finite());
                let wraps = panel == 1
                    && matches!((before, now), (Some(a), Some(b)) if (a - b).abs() > WRAPPED_DEG);
                before = now;
                let point = now.map(|now| [self.x_of(*hz), self.y_of(panel, now)]);
                let gap: Option<Option<Point>> = wraps.then_some(None);
                gap.into_iter().chain([point])
            });
            let runs = unbroken(points).into_iter();
            marks.extend(runs.map(|points| Mark::Line { points, stroke }));
        }
        marks
    }

    fn grid(&self) -> Vec<Mark> {
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = Vec::new();
        for [top, bottom] in self.panels {
            marks.push(Mark::rectangle(
                [self.left, top, self.right, bottom],
                Ink::Paper,
            ));
        }
        for (name, [top, _]) in ["|Z|", "phase of Z"].into_iter().zip(self.panels) {
            let at = [self.left, top - NAME / 2.0];
            marks.push(Mark::text(at, name, LABEL, Anchor::Start, Ink::Text));
        }
        let name = |y: f64, text: String| {
            Mark::text([self.left - 4.0, y], text, LABEL, Anchor::End, Ink::Faint)
        };
        let [low, high] = self.decades;
        let every = if high - low > 6.0 { 2 } else { 1 };
        for power in (low as i32)..=(high as i32) {
            let y = self.y_of(0, f64::from(power));
            marks.push(Mark::line([self.left, y], [self.right, y], fine));
            if (power - low as i32) % every == 0 {
                marks.push(name(y, engineering(10f64.powi(power), "Ω", 1)));
            }
            // Lines at 2 and 5 where one or two decades fill the panel.
            if high - low <= 2.0 && f64::from(power) < high {
                for digit in [2.0, 5.0] {
                    let ohm = digit * 10f64.powi(power);
                    let y = self.y_of(0, ohm.log10());
                    marks.push(Mark::line([self.left, y], [self.right, y], fine));
                    marks.push(name(y, engineering(ohm, "Ω", 1)));
                }
            }
        }
        for deg in [-90.0, 0.0, 90.0] {
            let y = self.y_of(1, deg);
            marks.push(Mark::line([self.left, y], [self.right, y], fine));
            marks.push(name(y, format!("{}°", fixed(deg, 0))));
        }
        marks.extend(self.frequency_grid());
        let at = [self.right, self.panels[1][1] + 27.0];
        marks.push(Mark::text(at, "frequency", LABEL, Anchor::End, Ink::Text));
        marks
    }

    fn frequency_grid(&self) -> Vec<Mark> {
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = Vec::new();
        let below = self.panels[1][1] + 12.0;
        for hz in self.ticks() {
            let x = self.x_of(hz);
            for [top, bottom] in self.panels {
                marks.push(Mark::line([x, top], [x, bottom], fine));
            }
            let anchor = if x > self.right - 20.0 {
                Anchor::End
            } else if x < self.left + 20.0 {
                Anchor::Start
            } else {
                Anchor::Middle
            };
            marks.push(Mark::text(
                [x, below],
                tick_text(hz),
                LABEL,
                anchor,
                Ink::Faint,
            ));
        }
        marks
    }

    /// Round frequencies: powers of ten, or up to five even steps.
    fn ticks(&self) -> Vec<f64> {
        let SweepPlan {
            from_hz,
            to_hz,
            spacing,
            ..
        } = self.sweep;
        match spacing {
            Spacing::Logarithmic => ticks::decades(from_hz.log10(), to_hz.log10())
                .map(|exponent| 10f64.powi(exponent))
                .collect(),
            Spacing::Even => ticks::even(from_hz, to_hz, 5.0),
        }
    }
}

/// With as many digits as the frequency needs, six at most.
fn tick_text(hz: f64) -> String {
    (1..=6)
        .map(|digits| engineering(hz, "Hz", digits))
        .find(|text| {
            let back = parse_value(text, Unit::Hertz);
            back.is_ok_and(|back| (back / hz - 1.0).abs() < 1e-9)
        })
        .unwrap_or_else(|| engineering(hz, "Hz", 6))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene(text: &str, fixtures: &[Fixture]) -> Scene {
        let frame = SpectrumFrame {
            size: [420.0, 300.0],
            fixtures: fixtures.to_vec(),
        };
        frame
            .scene(&Scenario::from_toml(text, "t").unwrap())
            .unwrap()
    }

    const CAPACITOR: &str = "version = 1\n[device]\nkind = \"capacitor\"\ncapacitance = \
        \"100 nF\"\nesl = \"1 nH\"\nesr = \"50 mohm\"\n[strays]\nground = \"1 nH\"\n[sweep]\nfrom = \
        \"1 MHz\"\nto = \"100 MHz\"\npoints = 401\nspacing = \"logarithmic\"\n";

    /// 1/(2π√(LC)) of 1 nH and 100 nF is 15.9155 MHz, where the ESR alone is left.
    #[test]
    fn the_description_names_the_resonance() {
        let text = scene(CAPACITOR, &[]).description;
        assert!(text.contains("least, 50.0\u{202f}mΩ, at 15.9"), "{text}");
    }

    #[test]
    fn a_fixture_that_leaves_the_part_is_named_and_drawn() {
        let fixtures = [Fixture::ShuntThrough, Fixture::SeriesThrough];
        let scene = scene(CAPACITOR, &fixtures);
        let text = &scene.description;
        assert!(
            text.contains("Shunt-through leaves it by more than 2 % from"),
            "{text}"
        );
        assert!(
            text.contains("Series-through shows it within 2 %"),
            "{text}"
        );
        for fixture in fixtures {
            let lines = scene.marks.iter().filter(
                |mark| matches!(mark, Mark::Line { stroke, .. } if stroke.ink == Ink::Fixture(fixture)),
            );
            assert_eq!(lines.count(), 2, "{fixture:?}");
        }
    }

    #[test]
    fn every_point_lies_inside_the_picture() {
        let scene = scene(CAPACITOR, &Fixture::ALL);
        for mark in &scene.marks {
            if let Mark::Line { points, .. } = mark {
                for [x, y] in points {
                    assert!((0.0..=420.0).contains(x) && (0.0..=300.0).contains(y));
                }
            }
        }
    }

    #[test]
    fn without_a_sweep_it_says_what_to_add() {
        let frame = SpectrumFrame {
            size: [420.0, 300.0],
            fixtures: Vec::new(),
        };
        let error = frame.scene(&Scenario::default()).unwrap_err().to_string();
        assert!(error.contains("[sweep]"), "{error}");
    }
}
