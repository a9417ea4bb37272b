//! The rule: one logarithmic scale of ohms with a lane for each fixture and a hairline through
//! all of them, the part.
//!
//! In a lane lie the fixture's reach as a pale track, the 95 % interval of |Z| for this part as a
//! solid bar, and a tick for each calibration where its |Z| came out. Bars too short to be seen
//! are drawn again below, on a scale of percent.

mod detail;
mod look;

use jigwise_physics::{Coverage, Fixture, Immittance, Merits, ReferenceImpedance};
use jigwise_quantity::{engineering, range};

use super::pattern::{PatternLook, pattern};
use super::{Anchor, Ink, Mark, Point, Scene, Stroke, sign, ticks};
use crate::ModulusInterval;
use crate::readout::Bench;
use crate::steer::{FARTHEST_DECADES as HIGH, NEAREST_DECADES as LOW, phase_rad, with_polar};
use crate::words::{fixture_title, modulus_interval, short_percent};

pub use self::look::RuleLook;

/// Calibrations made with the part in place, one reading each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ticks<'a> {
    /// |Z| that came out, ohms, in the order of [`Fixture::ALL`]: the last ones.
    pub shown: &'a [[Option<f64>; 3]],
    /// How many there were in all.
    pub count: u32,
    /// How many of all lay in the fixture's interval.
    pub inside: [u32; 3],
}

impl Ticks<'_> {
    /// No calibration yet.
    pub const NONE: Self = Ticks {
        shown: &[],
        count: 0,
        inside: [0; 3],
    };
}

/// The rule's place and scale, from a milliohm to a megohm at 50 Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleFrame {
    /// Width of the picture.
    pub width: f64,
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// The uncertainty at 95 % that reach means, as a share of |Z|.
    pub wanted: f64,
    /// Sizes of its pieces.
    pub look: RuleLook,
}

impl RuleFrame {
    fn ends(&self) -> [f64; 2] {
        let left = self.look.left;
        [left, (self.width - self.look.right).max(left + 1.0)]
    }

    fn x_of(&self, ohm: f64) -> f64 {
        let [left, right] = self.ends();
        let decades = (ohm / self.reference.ohm()).log10().clamp(LOW, HIGH);
        left + (decades - LOW) / (HIGH - LOW) * (right - left)
    }

    fn axis_y(&self) -> f64 {
        3.0 * self.look.lane + 2.0
    }

    fn lane_y(&self, fixture: Fixture) -> f64 {
        (fixture as usize as f64 + 0.5) * self.look.lane
    }

    /// Where the hairline of a device is; at an end of the scale for what lies beyond.
    pub fn x(&self, device: Immittance) -> f64 {
        self.x_of(device.impedance().map_or(f64::INFINITY, |z| z.norm()))
    }

    /// Where the knob of the hairline of a device is.
    pub fn grip(&self, device: Immittance) -> Point {
        [self.x(device), self.axis_y()]
    }

    /// `device` with the |Z| at `x`, its phase kept; an open or short becomes resistive.
    pub fn device_at(&self, x: f64, device: Immittance) -> Immittance {
        let [left, right] = self.ends();
        let part = ((x - left) / (right - left)).clamp(0.0, 1.0);
        let ohm = self.reference.ohm() * 10f64.powf(LOW + part * (HIGH - LOW));
        self.with_modulus(ohm, device)
    }

    /// `device` with |Z| = `ohm`, its phase kept; an open or short becomes resistive.
    pub fn with_modulus(&self, ohm: f64, device: Immittance) -> Immittance {
        with_polar(ohm, phase_rad(device).unwrap_or(0.0)).unwrap_or(device)
    }

    /// The rule of a bench.
    pub fn scene(&self, bench: &Bench, ticks: &Ticks<'_>) -> Scene {
        let intervals = bench.modulus_intervals();
        let mut marks = self.still();
        marks.extend(self.moving(bench, &intervals, ticks));
        Scene {
            size: [self.width, self.look.height()],
            title: "The rule of ohms".to_owned(),
            description: self.description(bench, &intervals, ticks),
            marks,
        }
    }

    /// What does not depend on the bench: lanes, names, scale and legend.
    pub fn still(&self) -> Vec<Mark> {
        let mut marks = Vec::new();
        let [left, right] = self.ends();
        for fixture in Fixture::ALL {
            let y = self.lane_y(fixture);
            marks.push(Mark::line(
                [left, y],
                [right, y],
                Stroke::solid(Ink::Hair, 1.0),
            ));
            marks.extend(self.name(fixture, y));
        }
        marks.extend(self.scale());
        if self.look.has_legend {
            marks.extend(self.legend());
        }
        marks
    }

    fn name(&self, fixture: Fixture, y: f64) -> Vec<Mark> {
        let size = self.look.type_size;
        let mut marks = vec![sign(fixture, [0.62 * size, y], 1.1 * size)];
        if self.look.has_names {
            let title = fixture_title(fixture);
            let short = title.split_once('-').map_or(title, |(first, _)| first);
            let at = [1.7 * size, y];
            marks.push(Mark::text(
                at,
                short,
                size,
                Anchor::Start,
                Ink::Fixture(fixture),
            ));
        }
        marks
    }

    fn scale(&self) -> Vec<Mark> {
        let [left, right] = self.ends();
        let (y, size) = (self.axis_y(), self.look.type_size);
        let line = Stroke::solid(Ink::Text, 1.2);
        let mut marks = vec![Mark::line([left, y], [right, y], line)];
        let middle = self.reference.ohm().log10();
        let label_room = (right - left) / (HIGH - LOW) / (4.3 * size);
        let every = [1, 3]
            .into_iter()
            .find(|every| label_room * f64::from(*every) >= 1.0);
        for power in ticks::decades(middle + LOW, middle + HIGH) {
            for (ohm, digit) in ticks::digits(power..=power) {
                if ohm > self.reference.ohm() * 10f64.powf(HIGH) {
                    break;
                }
                let length = match digit {
                    1 => 8.0,
                    5 => 5.0,
                    _ => 3.0,
                };
                let x = self.x_of(ohm);
                marks.push(Mark::line([x, y], [x, y + length], line));
            }
            if power.rem_euclid(every.unwrap_or(6)) == 0 {
                let ohm = 10f64.powi(power);
                let at = [
                    self.x_of(ohm),
                    y + self.look.grip.max(8.0) + 4.0 + 0.6 * size,
                ];
                let text = engineering(ohm, "Ω", 1);
                marks.push(Mark::text(at, text, size, Anchor::Middle, Ink::Faint));
            }
        }
        marks
    }

    /// What each kind of mark means, at the right of the last row.
    fn legend(&self) -> Vec<Mark> {
        let size = self.look.type_size;
        let y = self.detail_y();
        let fixture = Fixture::SeriesThrough;
        let [left, right] = self.ends();
        let mut x = left + 0.56 * (right - left);
        let mut marks = self.track(fixture, [x, y - 7.0, x + 26.0, y + 7.0], [true, true]);
        let mut word = |x: &mut f64, text: String, letters: f64| {
            marks.push(Mark::text([*x, y], text, size, Anchor::Start, Ink::Faint));
            *x += letters * 0.5 * size + 22.0;
        };
        x += 33.0;
        word(
            &mut x,
            format!("good to {}", short_percent(self.wanted)),
            13.0,
        );
        let bar = [x, y - 4.0, x + 26.0, y + 4.0];
        x += 33.0;
        word(&mut x, "95 of 100 readings".to_owned(), 18.0);
        let tick = [[x, y - 6.0], [x, y + 6.0]];
        x += 9.0;
        word(&mut x, "a calibration".to_owned(), 13.0);
        marks.push(Mark::rectangle(bar, Ink::Fixture(fixture)));
        marks.push(Mark::line(tick[0], tick[1], Stroke::solid(Ink::Text, 1.4)));
        marks
    }

    /// Reach, bars, ticks, counts and the hairline. The intervals are those of
    /// [`Bench::modulus_intervals`].
    pub fn moving(
        &self,
        bench: &Bench,
        intervals: &[Option<ModulusInterval>; 3],
        ticks: &Ticks<'_>,
    ) -> Vec<Mark> {
        let mut marks = Vec::new();
        let with_reading = || {
            Fixture::ALL
                .into_iter()
                .filter(|f| bench.reading(*f).is_some())
        };
        for fixture in with_reading() {
            marks.extend(self.tracks(bench, fixture));
        }
        for fixture in with_reading() {
            if let Some(interval) = &intervals[fixture as usize] {
                marks.extend(self.bar(fixture, interval));
            }
            marks.extend(self.ticks(fixture, ticks));
        }
        let without = Fixture::ALL
            .into_iter()
            .filter(|f| bench.reading(*f).is_none());
        marks.extend(without.map(|fixture| self.no_reading(fixture)));
        if self.look.has_detail {
            marks.extend(self.details(bench.device(), intervals, ticks));
        }
        marks.extend(self.hairline(bench.device()));
        marks
    }

    /// The ranges of |Z| in which the fixture meets the wanted percentage at the part's phase.
    fn reach(&self, bench: &Bench, fixture: Fixture) -> Vec<[f64; 2]> {
        let phase = phase_rad(bench.device()).unwrap_or(0.0);
        let wanted = self.wanted.min(1.0);
        bench
            .budget()
            .and_then(|budget| {
                Merits::of(budget)
                    .reach(fixture, wanted, Coverage::P95, phase)
                    .ok()
            })
            .unwrap_or_default()
            .into_iter()
            .map(|reach| [reach.from_ohm, reach.to_ohm])
            .collect()
    }

    fn tracks(&self, bench: &Bench, fixture: Fixture) -> Vec<Mark> {
        let (y, half) = (self.lane_y(fixture), 0.4 * self.look.lane);
        let [left, right] = self.ends();
        self.reach(bench, fixture)
            .into_iter()
            .map(|ends| ends.map(|ohm| self.x_of(ohm)))
            .filter(|[from, to]| to > from)
            .flat_map(|[from, to]| {
                let is_end = [from > left, to < right];
                self.track(fixture, [from, y - half, to, y + half], is_end)
            })
            .collect()
    }

    fn track(&self, fixture: Fixture, area: [f64; 4], is_end: [bool; 2]) -> Vec<Mark> {
        let [from, top, to, bottom] = area;
        let edge = Stroke::solid(Ink::Fixture(fixture), 1.2);
        let mut marks = Vec::new();
        if !self.look.is_bare {
            marks.push(Mark::rectangle(area, Ink::Tint(fixture, 0)));
        }
        let look = PatternLook {
            reflect_is_hatched: true,
            is_dark: self.look.is_bare,
        };
        let inner = [from + 1.0, top + 1.0, to - 1.0, bottom - 1.0];
        let has = |[x, y]: Point| {
            (inner[0]..=inner[2]).contains(&x) && (inner[1]..=inner[3]).contains(&y)
        };
        marks.extend(pattern(fixture, inner, look, has));
        if self.look.is_bare {
            marks.push(Mark::line([from, top], [to, top], edge));
            marks.push(Mark::line([from, bottom], [to, bottom], edge));
        }
        for (x, _) in [from, to]
            .into_iter()
            .zip(is_end)
            .filter(|(_, is_end)| *is_end)
        {
            marks.push(Mark::line([x, top], [x, bottom], edge));
        }
        marks
    }

    fn bar(&self, fixture: Fixture, interval: &ModulusInterval) -> Vec<Mark> {
        /// The least width of a bar, pixels.
        const LEAST: f64 = 3.0;
        let [left, right] = self.ends();
        let (y, half) = (self.lane_y(fixture), 0.19 * self.look.lane);
        let [low, high] = [interval.low_ohm, interval.high_ohm].map(|ohm| self.x_of(ohm));
        let middle = f64::midpoint(low, high);
        let (from, to) = (
            low.min(middle - LEAST / 2.0),
            high.max(middle + LEAST / 2.0),
        );
        let fill = Ink::Fixture(fixture);
        let mut marks = vec![Mark::rectangle([from, y - half, to, y + half], fill)];
        for (is_off, x, way) in [(low <= left, left, -1.0), (high >= right, right, 1.0)] {
            if is_off {
                marks.push(Mark::Area {
                    points: vec![
                        [x, y - 2.0 * half],
                        [x + way * 2.4 * half, y],
                        [x, y + 2.0 * half],
                    ],
                    fill,
                });
            }
        }
        marks
    }

    fn ticks(&self, fixture: Fixture, ticks: &Ticks<'_>) -> Vec<Mark> {
        if ticks.count == 0 {
            return Vec::new();
        }
        let lane = self.look.lane;
        let y = self.lane_y(fixture);
        let ends = ticks
            .shown
            .iter()
            .filter_map(|came_out| came_out[fixture as usize])
            .map(|ohm| {
                let x = self.x_of(ohm);
                [[x, y - 0.47 * lane], [x, y - 0.22 * lane]]
            })
            .collect();
        vec![
            Mark::Lines {
                ends,
                stroke: Stroke::solid(Ink::Text, 1.2),
            },
            Mark::text(
                [self.width - 2.0, y],
                format!("{} of {}", ticks.inside[fixture as usize], ticks.count),
                self.look.type_size,
                Anchor::End,
                Ink::Faint,
            ),
        ]
    }

    /// Said in the lane of a fixture in which the part would oscillate.
    fn no_reading(&self, fixture: Fixture) -> Mark {
        let [left, right] = self.ends();
        let size = self.look.type_size;
        // Left of a hairline in the middle, where such parts are.
        let words = if right - left > 42.0 * size {
            "no reading: it would oscillate"
        } else {
            "no reading"
        };
        // Above the lane's line.
        let at = [left + 0.5 * size, self.lane_y(fixture) - 0.6 * size];
        Mark::text(at, words, size, Anchor::Start, Ink::Faint)
    }

    fn hairline(&self, device: Immittance) -> Vec<Mark> {
        let x = self.x(device);
        let (y, grip) = (self.axis_y(), self.look.grip);
        vec![
            Mark::line([x, 0.0], [x, y], Stroke::solid(Ink::Device, 2.0)),
            Mark::Circle {
                center: [x, y],
                radius: grip,
                fill: Some(Ink::Paper),
                stroke: Some(Stroke::solid(Ink::Device, 2.6)),
            },
        ]
    }

    /// Each lane in words: reach, interval, and how many readings lay inside.
    pub fn description(
        &self,
        bench: &Bench,
        intervals: &[Option<ModulusInterval>; 3],
        ticks: &Ticks<'_>,
    ) -> String {
        let lanes = Fixture::ALL.map(|fixture| {
            let k = fixture as usize;
            if bench.reading(fixture).is_none() {
                return format!("{}: no reading of this part", fixture_title(fixture));
            }
            let reach = self.reach_words(&self.reach(bench, fixture));
            let interval = intervals[k]
                .as_ref()
                .map_or("no reading".to_owned(), modulus_interval);
            let counted = if ticks.count > 0 {
                format!("; {} of {} readings inside", ticks.inside[k], ticks.count)
            } else {
                String::new()
            };
            format!(
                "{}: {reach}; this part {interval}{counted}",
                fixture_title(fixture)
            )
        });
        format!("{}.", lanes.join(". "))
    }

    fn reach_words(&self, reach: &[[f64; 2]]) -> String {
        let wanted = short_percent(self.wanted);
        let pieces: Vec<String> = reach
            .iter()
            .map(|[from, to]| match (*from > 0.0, to.is_finite()) {
                (true, true) => range(*from, *to, "Ω"),
                (false, true) => format!("up to {}", engineering(*to, "Ω", 2)),
                _ => format!("from {}", engineering(*from, "Ω", 2)),
            })
            .collect();
        match pieces.as_slice() {
            [] => format!("nowhere good to {wanted}"),
            [one] => format!("good to {wanted} at {one}"),
            several => format!(
                "good to {wanted} in {} pieces, at {}",
                several.len(),
                several.join(" and at ")
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{NamedInstrument, Scenario};
    use jigwise_physics::Complex64;

    fn frame() -> RuleFrame {
        RuleFrame {
            width: 1_248.0,
            reference: ReferenceImpedance::FIFTY_OHM,
            wanted: 0.1,
            look: RuleLook::WINDOW,
        }
    }

    fn bench(device: &str, instrument: &str) -> Bench {
        let scenario = Scenario {
            device: device.parse().unwrap(),
            instrument: NamedInstrument::preset(instrument),
            ..Scenario::default()
        };
        Bench::new(&scenario).unwrap()
    }

    #[test]
    fn a_place_and_its_device_belong_together() {
        for ohm in [0.001, 0.5, 50.0, 4_700.0, 1e6] {
            let z = Complex64::from_polar(ohm, 0.3);
            let device = Immittance::from_impedance(z).unwrap();
            let back = frame().device_at(frame().x(device), device);
            assert!((back.impedance().unwrap() / z - 1.0).norm() < 1e-9, "{z}");
        }
        assert!(frame().x(Immittance::OPEN) > frame().x(Immittance::SHORT));
    }

    #[test]
    fn every_bar_holds_the_hairline() {
        let rule = frame();
        for (device, instrument) in [
            ("4.7k", "handheld"),
            ("0.02", "laboratory"),
            ("1M", "club bench"),
        ] {
            let bench = bench(device, instrument);
            let x = rule.x(bench.device());
            for (fixture, interval) in Fixture::ALL.into_iter().zip(bench.modulus_intervals()) {
                let marks = rule.bar(fixture, &interval.unwrap());
                let Mark::Area { points, .. } = &marks[0] else {
                    panic!("no bar");
                };
                assert!(
                    points[0][0] <= x && x <= points[1][0],
                    "{device} {fixture:?}"
                );
            }
        }
    }

    /// At the ends of a track 1.731·e is the wanted percentage, by the budget's own figure of
    /// merit.
    #[test]
    fn at_the_ends_of_a_track_the_wanted_percentage_is_met() {
        let rule = frame();
        for (device, instrument) in [("4.7k", "handheld"), ("30 - j90", "club bench")] {
            let bench = bench(device, instrument);
            let phase = phase_rad(bench.device()).unwrap();
            for fixture in Fixture::ALL {
                let pieces = rule.reach(&bench, fixture);
                assert!(!pieces.is_empty());
                for ohm in pieces.into_iter().flatten() {
                    let end = with_polar(ohm, phase).unwrap();
                    let e = bench
                        .budget()
                        .unwrap()
                        .figure_of_merit(fixture, end)
                        .unwrap();
                    let share = Coverage::P95.radius_in_rms() * e;
                    assert!(
                        (share / rule.wanted - 1.0).abs() < 1e-6,
                        "{fixture:?} {ohm}: {share}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_bar_that_runs_off_the_scale_has_an_arrowhead() {
        let interval = ModulusInterval {
            low_ohm: 0.0,
            high_ohm: 4.0,
        };
        assert_eq!(frame().bar(Fixture::Reflect, &interval).len(), 2);
        let interval = ModulusInterval {
            low_ohm: 1.0,
            high_ohm: 4.0,
        };
        assert_eq!(frame().bar(Fixture::Reflect, &interval).len(), 1);
    }

    #[test]
    fn where_the_part_would_oscillate_a_lane_says_so_and_nothing_else() {
        let ticks = Ticks {
            shown: &[[Some(51.0), None, Some(49.0)]],
            count: 1,
            inside: [1, 0, 1],
        };
        for (device, silent) in [("-50", 0), ("-25", 1), ("-100", 2)] {
            let bench = bench(device, "handheld");
            let silent = Fixture::ALL[silent];
            let marks = frame().moving(&bench, &bench.modulus_intervals(), &ticks);
            let y = frame().lane_y(silent);
            let said: Vec<&str> = marks
                .iter()
                .filter_map(|mark| match mark {
                    Mark::Text { text, at, .. } if (at[1] - y).abs() < 15.0 => Some(text.as_str()),
                    _ => None,
                })
                .collect();
            assert_eq!(said, ["no reading: it would oscillate"], "{device}");
            let is_filled = |mark: &Mark| matches!(mark, Mark::Area { points, .. } if points.iter().any(|p| (p[1] - y).abs() < 15.0));
            assert!(!marks.iter().any(is_filled), "{device}");
            let words = frame().description(&bench, &bench.modulus_intervals(), &ticks);
            let title = fixture_title(silent);
            assert!(words.contains(&format!("{title}: no reading")), "{words}");
        }
    }

    #[test]
    fn what_runs_off_the_detail_has_an_arrowhead() {
        let count = |device: &str, instrument: &str| {
            let bench = bench(device, instrument);
            let intervals = bench.modulus_intervals();
            let marks = frame().details(bench.device(), &intervals, &Ticks::NONE);
            let is_head =
                |mark: &&Mark| matches!(mark, Mark::Area { points, .. } if points.len() == 3);
            marks.iter().filter(is_head).count()
        };
        assert_eq!(count("50", "laboratory"), 0);
        // Shorter than 48 pixels and wider than 30 %.
        assert!(count("350", "handheld") + count("6", "handheld") > 0);
    }

    #[test]
    fn only_short_bars_are_drawn_in_detail() {
        let rule = frame();
        let named = |device: &str, instrument: &str| {
            let bench = bench(device, instrument);
            let marks = rule.moving(&bench, &bench.modulus_intervals(), &Ticks::NONE);
            marks.into_iter().find_map(|mark| match mark {
                Mark::Text { text, .. } if text.starts_with("In detail") => Some(text),
                _ => None,
            })
        };
        assert_eq!(named("4.7k", "handheld").unwrap(), "In detail ±10\u{202f}%");
        assert_eq!(named("open", "handheld"), None);
        assert_eq!(named("50", "laboratory").unwrap(), "In detail ±1\u{202f}%");
    }
}
