//! |Z| and phase over frequency: the part as it is, and what each fixture makes of it.

use jigwise_physics::{Complex64, Fixture};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke};
use crate::readout::Bench;
use crate::scenario::{Scenario, ScenarioError, Spacing, SweepPlan};
use crate::words::fixture_title;
use jigwise_quantity::engineering;

const LABEL: f64 = 11.0;
/// Height of the strip above a panel with its name.
const NAME: f64 = 20.0;
/// Share of the height that the upper panel takes.
const UPPER: f64 = 0.62;
/// Shares of the part's own size by which a fixture's curve must differ to be named.
const DIFFERS: f64 = 0.02;
/// A curve that jumps by more than this share of a turn between two points has wrapped round.
const WRAPPED_DEG: f64 = 180.0;
/// How an extreme is looked for between two points: rounds, each in so many pieces.
const ROUNDS: usize = 5;
const PIECES: usize = 20;

/// The plot's place, and which fixtures are drawn into it.
#[derive(Debug, Clone, PartialEq)]
pub struct SpectrumFrame {
    /// Width and height.
    pub size: [f64; 2],
    /// Whose ohms got back are drawn beside the part; none draws the part alone.
    pub fixtures: Vec<Fixture>,
}

/// One curve's impedances, one for each frequency of the sweep.
struct Curve {
    ink: Ink,
    width: f64,
    dash: Dash,
    z_ohm: Vec<Option<Complex64>>,
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
        let freq_hz = with_extremes(scenario, sweep.freq_hz())?;
        let curves = self.curves(scenario, &freq_hz)?;
        let sizes = curves
            .iter()
            .flat_map(|curve| &curve.z_ohm)
            .filter_map(|z| Some(z.as_ref()?.norm().log10()))
            .filter(|decades| decades.is_finite());
        let (low, high) = sizes.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
            (low.min(at), high.max(at))
        });
        if low > high {
            return Err(ScenarioError::free(
                "nothing to plot: the part has no impedance anywhere in the sweep".to_owned(),
            ));
        }
        let [width, height] = self.size;
        let axes = Axes {
            sweep,
            left: 50.0,
            right: (width - 12.0).max(51.0),
            panels: [
                [NAME, height * UPPER],
                [
                    height * UPPER + NAME,
                    (height - 24.0).max(height * UPPER + NAME + 1.0),
                ],
            ],
            decades: [low.floor(), high.ceil().max(low.floor() + 1.0)],
        };
        let mut marks = axes.grid();
        for curve in &curves {
            for (panel, value) in [(0, size as fn(Complex64) -> f64), (1, degrees)] {
                for points in axes.runs(panel, &freq_hz, curve, value) {
                    marks.push(Mark::Line {
                        points,
                        stroke: Stroke {
                            ink: curve.ink,
                            width: curve.width,
                            dash: curve.dash,
                        },
                    });
                }
            }
        }
        Ok(Scene {
            size: self.size,
            title: "Size and phase of the impedance over frequency".to_owned(),
            description: self.description(scenario, &freq_hz, &curves),
            marks,
        })
    }

    fn curves(&self, scenario: &Scenario, freq_hz: &[f64]) -> Result<Vec<Curve>, ScenarioError> {
        let mut part = Vec::with_capacity(freq_hz.len());
        let mut back = vec![Vec::with_capacity(freq_hz.len()); self.fixtures.len()];
        let mut at = Scenario {
            sweep: None,
            instrument: None,
            ..scenario.clone()
        };
        for hz in freq_hz {
            at.freq_hz = Some(*hz);
            let readout = Bench::new(&at)?.readout();
            part.push(readout.device.impedance());
            for (fixture, column) in self.fixtures.iter().zip(&mut back) {
                let got_back = readout.of(*fixture).got_back;
                column.push(got_back.and_then(jigwise_physics::Immittance::impedance));
            }
        }
        let part = Curve {
            ink: Ink::Device,
            width: 1.4,
            dash: Dash::Solid,
            z_ohm: part,
        };
        let of_fixtures = self
            .fixtures
            .iter()
            .zip(back)
            .map(|(fixture, z_ohm)| Curve {
                ink: Ink::Fixture(*fixture),
                width: 2.6,
                dash: Dash::of(*fixture),
                z_ohm,
            });
        Ok(of_fixtures.chain([part]).collect())
    }

    fn description(&self, scenario: &Scenario, freq_hz: &[f64], curves: &[Curve]) -> String {
        let Some((part, of_fixtures)) = curves.split_last() else {
            return String::new();
        };
        let sizes: Vec<(f64, f64)> = freq_hz
            .iter()
            .zip(&part.z_ohm)
            .filter_map(|(hz, z)| Some((*hz, z.as_ref()?.norm())))
            .collect();
        let place = |sign: f64| {
            let by_size = |a: &&(f64, f64), b: &&(f64, f64)| (sign * a.1).total_cmp(&(sign * b.1));
            sizes.iter().min_by(by_size)
        };
        let mut text = format!(
            "{}, {}.",
            scenario.title.as_deref().unwrap_or("A part"),
            scenario.device
        );
        // A crystal's two resonances differ in the fourth digit.
        let digits = if self.is_narrow(freq_hz) { 5 } else { 3 };
        for (word, extreme) in [("least", place(1.0)), ("most", place(-1.0))] {
            if let Some((hz, ohm)) = extreme {
                text.push_str(&format!(
                    " |Z| is {word}, {}, at {}.",
                    engineering(*ohm, "Ω", 3),
                    engineering(*hz, "Hz", digits)
                ));
            }
        }
        for (fixture, curve) in self.fixtures.iter().zip(of_fixtures) {
            let name = fixture_title(*fixture);
            let differs = freq_hz
                .iter()
                .zip(curve.z_ohm.iter().zip(&part.z_ohm))
                .filter_map(|(hz, (back, z))| Some((*hz, (*back)?, (*z)?)))
                .find(|(_, back, z)| (back - z).norm() > DIFFERS * z.norm());
            text.push_str(&match differs {
                Some((hz, ..)) => format!(
                    " {name} leaves it by more than {} % from {}.",
                    100.0 * DIFFERS,
                    engineering(hz, "Hz", digits)
                ),
                None => format!(" {name} shows it within {} %.", 100.0 * DIFFERS),
            });
        }
        text
    }

    fn is_narrow(&self, freq_hz: &[f64]) -> bool {
        match (freq_hz.first(), freq_hz.last()) {
            (Some(first), Some(last)) => last / first < 1.1,
            _ => false,
        }
    }
}

/// The frequencies with those between them at which |Z| is least and most: a resonance is often
/// sharper than the sweep is fine.
fn with_extremes(scenario: &Scenario, mut freq_hz: Vec<f64>) -> Result<Vec<f64>, ScenarioError> {
    let size = |hz: f64| -> Result<Option<f64>, ScenarioError> {
        let device = scenario.device.immittance(Some(hz));
        let device = device.map_err(|error| ScenarioError::of_device(scenario, error))?;
        Ok(device.impedance().map(|z| z.norm()))
    };
    let sizes = freq_hz
        .iter()
        .map(|hz| Ok(size(*hz)?.map(|ohm| (*hz, ohm))))
        .collect::<Result<Vec<_>, ScenarioError>>()?;
    let mut found = Vec::new();
    for sign in [1.0, -1.0] {
        let least = sizes
            .iter()
            .enumerate()
            .filter_map(|(k, point)| Some((k, (*point)?)))
            .min_by(|a, b| (sign * a.1.1).total_cmp(&(sign * b.1.1)));
        let Some((k, mut best)) = least.filter(|(k, _)| (1..freq_hz.len() - 1).contains(k)) else {
            continue;
        };
        let (before, after) = (freq_hz[k - 1], freq_hz[k + 1]);
        let (mut low, mut step) = (before, (after - before) / PIECES as f64);
        for _ in 0..ROUNDS {
            for piece in 0..=PIECES {
                let hz = (low + step * piece as f64).min(after);
                if let Some(ohm) = size(hz)?
                    && sign * ohm < sign * best.1
                {
                    best = (hz, ohm);
                }
            }
            low = (best.0 - step).max(before);
            step *= 2.0 / PIECES as f64;
        }
        found.push(best.0);
    }
    freq_hz.extend(found);
    freq_hz.sort_by(f64::total_cmp);
    freq_hz.dedup();
    Ok(freq_hz)
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

    /// Points in unbroken runs: none across a point without impedance or a turn of the phase.
    fn runs(
        &self,
        panel: usize,
        freq_hz: &[f64],
        curve: &Curve,
        value: fn(Complex64) -> f64,
    ) -> Vec<Vec<Point>> {
        let mut runs: Vec<Vec<Point>> = vec![Vec::new()];
        let mut before: Option<f64> = None;
        for (hz, z) in freq_hz.iter().zip(&curve.z_ohm) {
            let now = z.map(value).filter(|value| value.is_finite());
            let wraps = panel == 1
                && matches!((before, now), (Some(a), Some(b)) if (a - b).abs() > WRAPPED_DEG);
            if now.is_none() || wraps {
                runs.push(Vec::new());
            }
            if let (Some(now), Some(run)) = (now, runs.last_mut()) {
                run.push([self.x_of(*hz), self.y_of(panel, now)]);
            }
            before = now;
        }
        runs.retain(|run| run.len() > 1);
        runs
    }

    fn grid(&self) -> Vec<Mark> {
        let fine = Stroke::solid(Ink::Grid, 1.0);
        let mut marks = Vec::new();
        for [top, bottom] in self.panels {
            marks.push(Mark::Area {
                points: vec![
                    [self.left, top],
                    [self.right, top],
                    [self.right, bottom],
                    [self.left, bottom],
                ],
                fill: Ink::Paper,
            });
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
            marks.push(name(y, format!("{}°", jigwise_quantity::fixed(deg, 0))));
        }
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

    /// Round frequencies: powers of ten, or four even steps.
    fn ticks(&self) -> Vec<f64> {
        let SweepPlan {
            from_hz,
            to_hz,
            spacing,
            ..
        } = self.sweep;
        match spacing {
            Spacing::Logarithmic => {
                let [first, last] = [from_hz, to_hz].map(f64::log10);
                ((first - 1e-9).ceil() as i32..=(last + 1e-9).floor() as i32)
                    .map(|power| 10f64.powi(power))
                    .collect()
            }
            Spacing::Even => {
                let span = to_hz - from_hz;
                let power = 10f64.powf((span / 4.0).log10().floor());
                let step = [1.0, 2.0, 5.0, 10.0]
                    .into_iter()
                    .map(|k| k * power)
                    .find(|step| span / step <= 5.0)
                    .unwrap_or(span);
                let first = (from_hz / step - 1e-9).ceil() as i64;
                let last = (to_hz / step + 1e-9).floor() as i64;
                (first..=last).map(|k| k as f64 * step).collect()
            }
        }
    }
}

/// With as many digits as the frequency needs, six at most.
fn tick_text(hz: f64) -> String {
    (1..=6)
        .map(|digits| engineering(hz, "Hz", digits))
        .find(|text| {
            let back = jigwise_quantity::parse_value(text, jigwise_quantity::Unit::Hertz);
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
