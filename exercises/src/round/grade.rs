//! An answer held against what could be known from the readings bought.

use std::fmt;

use jigwise_bench::words::{fixture_title, short_percent};
use jigwise_bench::{Bench, Fixture, Scenario, Unit, engineering};

use super::sort::{KNOWN_OHM, known_device};
use super::{AVERAGES, Bought, Round, RoundError, Subject};
use crate::area::Area;
use crate::claim::{Claim, Judged, Knowable};
use crate::slip::Slip;
use crate::solution::claim_words;
use crate::solve::{knowable, of_impedance};
use crate::task::Task;
use crate::tolerance::Tolerance;

/// An answer with its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Graded {
    /// The claim held against what could be known.
    pub judged: Judged,
    /// The slip behind a wrong value, where it is known.
    pub slip: Option<Slip>,
    /// A fixture that would have known the part much better, and the ± it would have allowed as a
    /// part of the value.
    pub better: Option<(Fixture, f64)>,
    /// What the calibration that was there makes of the known part in ohms, where it was in force
    /// for a reading of the part and is not sound.
    pub known_came_out_ohm: Option<f64>,
    /// The part that was hidden, in words.
    pub part: String,
}

impl Graded {
    /// True where the claim passes.
    pub fn is_right(&self) -> bool {
        self.judged.is_right()
    }

    /// What is said of it, a sentence each.
    pub fn sentences(&self) -> Vec<String> {
        let mut sentences = vec![first_large(&self.judged.to_string())];
        if let Some(slip) = self.slip {
            sentences.push(first_large(&slip.to_string()));
        }
        if let Some(ohm) = self.known_came_out_ohm {
            sentences.push(format!(
                "The calibration that was there is off: it makes {} of the known {}. Read the known \
                 part first, and calibrate again where it comes out wrong",
                engineering(ohm, "Ω", 3),
                engineering(KNOWN_OHM, "Ω", 3)
            ));
        }
        if let Some((fixture, share)) = self.better {
            sentences.push(format!(
                "{} would have allowed ±{}",
                fixture_title(fixture),
                short_percent(share)
            ));
        }
        sentences.push(format!("The part was {}", self.part));
        sentences.iter_mut().for_each(|each| each.push('.'));
        sentences
    }
}

impl fmt::Display for Graded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentences().join(" "))
    }
}

fn first_large(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Readings of the part that differ in nothing but their noise.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Group {
    fixture: Fixture,
    freq_hz: f64,
    calibration: u32,
    averages: u32,
}

/// A ± this many times smaller makes another fixture worth telling of.
const MUCH_BETTER: f64 = 2.0;

impl Round {
    /// Grades an answer, and ends the round.
    ///
    /// # Errors
    /// [`RoundError`] where the answer can't be read, where the part was not read, and after the
    /// answer. The round goes on then.
    pub fn answer(&mut self, text: &str) -> Result<Graded, RoundError> {
        if self.is_over {
            return Err(RoundError::Over);
        }
        let asks = self.code.sort.asks();
        let unit = asks.unit().unwrap_or(Unit::Ohm);
        let claim = Claim::read(text, unit).map_err(RoundError::Claim)?;
        let graded = self.grade(claim)?;
        self.is_over = true;
        Ok(graded)
    }

    fn grade(&self, claim: Claim) -> Result<Graded, RoundError> {
        let groups = self.groups();
        let knowable = self.knowable(&groups).ok_or(RoundError::NotRead {
            asked_hz: self.drawn.asked_hz,
        })?;
        let judged = knowable.judge(claim);
        let is_botched =
            self.drawn.botched.is_some() && groups.iter().all(|group| group.calibration == 0);
        let known_came_out_ohm = (is_botched && !judged.is_right())
            .then(|| self.known_came_out())
            .flatten();
        let needs_slip = !judged.is_right() && !judged.is_value_right() && !judged.is_near();
        let slip = judged
            .value()
            .filter(|_| needs_slip && !self.is_from_botched(&groups, &judged))
            .and_then(|value| self.slip_behind(&groups, &knowable, value));
        let better = self.better(&groups, &knowable);
        Ok(Graded {
            judged,
            slip,
            better,
            known_came_out_ohm,
            part: self.part_words(&knowable),
        })
    }

    fn groups(&self) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        for bought in &self.bought {
            let purchase = bought.purchase;
            let counts = self
                .drawn
                .asked_hz
                .is_none_or(|asked| asked == purchase.freq_hz);
            if purchase.subject != Subject::Part || !counts {
                continue;
            }
            let group = Group {
                fixture: purchase.fixture,
                freq_hz: purchase.freq_hz,
                calibration: bought.calibration,
                averages: purchase.averages,
            };
            let same = groups.iter_mut().find(|known| {
                Group {
                    averages: group.averages,
                    ..**known
                } == group
            });
            match same {
                Some(known) => known.averages += group.averages,
                None => groups.push(group),
            }
        }
        groups
    }

    /// The bench of a group with a sound calibration and the strays taken out.
    fn sound(&self, group: Group) -> Scenario {
        let mut scenario = self.drawn.sound.clone();
        scenario.freq_hz = Some(group.freq_hz);
        scenario.fixtures.removed = self.code.sort.has_strays();
        scenario.instrument = scenario
            .instrument
            .map(|known| known.with_averages(group.averages));
        scenario
    }

    /// What a group alone allows to know.
    fn known_from(&self, group: Group) -> Option<Knowable> {
        knowable(&self.task(group.fixture, self.sound(group)))
    }

    /// What all groups allow to know. Within one calibration the best of them counts, since its
    /// errors are the same for all; calibrations know nothing of each other, so 1/U² adds.
    fn knowable(&self, groups: &[Group]) -> Option<Knowable> {
        let last = groups.iter().map(|group| group.calibration).max()?;
        let mut right = None;
        let mut sum = 0.0;
        for calibration in 0..=last {
            let of = groups.iter().filter(|g| g.calibration == calibration);
            let best = of
                .filter_map(|group| self.known_from(*group))
                .min_by(|a, b| a.possible.total_cmp(&b.possible));
            // A calibration that is off tells nothing beside one that is not.
            let is_off = calibration == 0 && self.drawn.botched.is_some() && last > 0;
            let Some(best) = best.filter(|_| !is_off) else {
                continue;
            };
            right = Some(best.right);
            sum += best.possible.powi(-2);
        }
        Some(Knowable {
            right: right?,
            possible: sum.powf(-0.5),
        })
    }

    fn task(&self, fixture: Fixture, scenario: Scenario) -> Task {
        Task::unprinted(
            self.code.to_string(),
            Area::Sweep,
            fixture,
            scenario,
            self.code.sort.asks(),
            Tolerance::Digits(3),
        )
    }

    /// The bench as it stood for a group: with its strays, and with the calibration that was there.
    fn as_it_stood(&self, group: Group) -> Scenario {
        let mut scenario = self.sound(group);
        scenario.fixtures.removed = false;
        if group.calibration == 0
            && let Some(botched) = &self.drawn.botched
        {
            scenario.calibration = Some(botched.clone());
        }
        scenario
    }

    /// True where the value is what the calibration that was there makes of the part.
    fn is_from_botched(&self, groups: &[Group], judged: &Judged) -> bool {
        const ROUGHLY: f64 = 0.05;
        let Some(value) = judged.value().filter(|_| self.drawn.botched.is_some()) else {
            return false;
        };
        groups.iter().any(|group| {
            let came_out = || {
                let scenario = self.as_it_stood(*group);
                let readout = Bench::new(&scenario).ok()?.readout();
                let z = readout.of(group.fixture).got_back?.impedance()?;
                of_impedance(self.code.sort.asks(), z, Some(group.freq_hz))
            };
            came_out().is_some_and(|came_out| (value / came_out - 1.0).abs() < ROUGHLY)
        })
    }

    /// The fixture whose formula makes this value of a reading taken in another one.
    fn other_formula(&self, value: f64) -> Option<Slip> {
        // The reading itself is at hand, so only its digits are in doubt.
        const BY_DIGITS: f64 = 0.02;
        let made = |bought: &Bought, other: Fixture| {
            let reading = bought.shown.first()?.reading();
            let reference = self.drawn.sound.reference;
            let z = other.immittance(reading, reference).ok()?.impedance()?;
            let freq_hz = Some(bought.purchase.freq_hz);
            of_impedance(self.code.sort.asks(), z, freq_hz)
        };
        let of_part = |bought: &&Bought| bought.purchase.subject == Subject::Part;
        self.bought.iter().filter(of_part).find_map(|bought| {
            let others = Fixture::ALL.into_iter();
            others
                .filter(|other| *other != bought.purchase.fixture)
                .find(|other| {
                    made(bought, *other)
                        .is_some_and(|made| (value - made).abs() <= BY_DIGITS * made.abs())
                })
                .map(Slip::OtherFixture)
        })
    }

    fn slip_behind(&self, groups: &[Group], knowable: &Knowable, value: f64) -> Option<Slip> {
        if let Some(slip) = self.other_formula(value) {
            return Some(slip);
        }
        // What a slip makes of a reading is known as well as the reading, or to a few percent.
        const ROUGHLY: f64 = 0.03;
        let relative = (knowable.possible / knowable.right.abs()).clamp(ROUGHLY, 0.3);
        Slip::ALL.into_iter().find(|slip| {
            groups.iter().any(|group| {
                let task = self.task(group.fixture, self.as_it_stood(*group));
                task.slipped_value(*slip).is_some_and(|slipped| {
                    (value - slipped.re).abs() <= relative * slipped.re.abs()
                })
            })
        })
    }

    /// The fixture that would have known the part much better: at the best of the frequencies, with
    /// the readings that the budget allows.
    fn better(&self, groups: &[Group], knowable: &Knowable) -> Option<(Fixture, f64)> {
        let averages = AVERAGES[AVERAGES.len() - 1];
        let asked = self.drawn.asked_hz;
        let all = self.drawn.freq_hz.iter().copied();
        let (fixture, best) = all
            .filter(|hz| asked.is_none_or(|asked| asked == *hz))
            .flat_map(|freq_hz| Fixture::ALL.map(|fixture| (fixture, freq_hz)))
            .filter_map(|(fixture, freq_hz)| {
                let group = Group {
                    fixture,
                    freq_hz,
                    calibration: 0,
                    averages,
                };
                Some((fixture, self.known_from(group)?))
            })
            .min_by(|a, b| a.1.possible.total_cmp(&b.1.possible))?;
        let is_other = groups.iter().all(|group| group.fixture != fixture);
        let is_much = best.possible * MUCH_BETTER < knowable.possible && best.can_be_told();
        (is_other && is_much).then(|| (fixture, best.possible / best.right.abs()))
    }

    /// What the calibration that was there makes of the known part in reflect, Ω.
    fn known_came_out(&self) -> Option<f64> {
        let scenario = Scenario {
            device: known_device(),
            calibration: self.drawn.botched.clone(),
            fixtures: jigwise_bench::FixtureStrays::NONE,
            ..self.drawn.sound.clone()
        };
        let back = Bench::new(&scenario).ok()?.readout().of(Fixture::Reflect);
        Some(back.got_back?.impedance()?.norm())
    }

    fn part_words(&self, knowable: &Knowable) -> String {
        let unit = self.code.sort.asks().unit();
        claim_words(Claim::Bare(knowable.right), unit)
    }
}
