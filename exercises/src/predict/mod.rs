//! Predict first: something of the bench is covered, somebody says what it will be, and it is
//! uncovered with the difference and the slip.

use std::fmt;

use jigwise_bench::words::{
    fixture_title, modulus_interval, short_percent, verdict, verdict_words,
};
use jigwise_bench::{
    Bench, Device, Fixture, ModulusInterval, Scenario, Unit, ValueError, Verdict as Seen, fixed,
    parse_share, parse_value,
};

use crate::area::Area;
use crate::slip::Slip;
use crate::task::{Asks, Task};
use crate::tolerance::Tolerance;
use crate::tray::{Purpose, Seed, Stream};
use crate::{Cover, Verdict};

/// What somebody says that it will be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Guess {
    /// The fixture that knows the part.
    Fixture(Fixture),
    /// The level, dB.
    Level(f64),
    /// The end of the bar on the rule, Ω, on either side of the part.
    BarEnd(f64),
    /// Half the width of the bar, as a share of |Z|.
    BarWidth(f64),
    /// Whether the fixture sees the nudge.
    Sees(bool),
}

/// A prediction that was uncovered.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncovered {
    /// What was predicted.
    pub cover: Cover,
    /// True where the prediction was near.
    pub is_good: bool,
    /// The slip behind it, where it is known.
    pub slip: Option<Slip>,
    /// What it is, by how much it was missed, and the slip.
    pub sentences: Vec<String>,
}

impl fmt::Display for Uncovered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentences.join(" "))
    }
}

/// Why a guess can't be taken.
#[derive(Debug, Clone, PartialEq)]
pub enum GuessError {
    /// The text is no number in this unit.
    Value(ValueError),
    /// What is covered is asked for in another form.
    Form(Cover),
    /// The bench has no such thing: no reading, no interval, no best fixture.
    NotThere(Cover),
}

impl std::error::Error for GuessError {}

impl fmt::Display for GuessError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Value(error) => error.fmt(f),
            Self::Form(cover) => write!(f, "to predict {cover}, {}", how(*cover)),
            Self::NotThere(cover) => write!(
                f,
                "there is nothing to predict here: this part has no such thing as {cover}; choose \
                 another part"
            ),
        }
    }
}

/// How a thing is predicted.
pub fn how(cover: Cover) -> &'static str {
    match cover {
        Cover::BestFixture => "choose a fixture",
        Cover::Reading(_) => "type a level, as in -20 dB",
        Cover::Bar(_) => "tap on the rule where the bar ends, or type its ±, as in 3 %",
        Cover::Verdict(_) => "say whether it sees the nudge",
    }
}

impl Guess {
    /// A guess as typed, for what is predicted by a number.
    ///
    /// # Errors
    /// [`GuessError`] where the text is no number in the unit, or nothing is typed here.
    pub fn read(cover: Cover, text: &str) -> Result<Self, GuessError> {
        match cover {
            Cover::Reading(_) => parse_value(text, Unit::Decibel)
                .map(Self::Level)
                .map_err(GuessError::Value),
            Cover::Bar(_) => {
                let text = text.trim().trim_start_matches(['±', '+']);
                match parse_value(text, Unit::Ohm) {
                    Ok(ohm) if text.ends_with(['Ω', 'm', 'k']) => Ok(Self::BarEnd(ohm)),
                    _ => parse_share(text)
                        .map(Self::BarWidth)
                        .map_err(GuessError::Value),
                }
            }
            Cover::BestFixture | Cover::Verdict(_) => Err(GuessError::Form(cover)),
        }
    }
}

/// Uncovers what was predicted of a bench.
///
/// ```
/// use jigwise_bench::{Fixture, NamedInstrument, Scenario};
/// use jigwise_exercises::predict::{Guess, uncover};
/// use jigwise_exercises::{Cover, Slip};
///
/// let scenario = Scenario { instrument: Some(NamedInstrument::default()), ..Scenario::default() };
/// let level = Cover::Reading(Fixture::SeriesThrough);
/// assert!(uncover(&scenario, level, Guess::Level(-33.0))?.is_good);
/// let missed = uncover(&scenario, level, Guess::Level(-16.8))?;
/// assert_eq!(missed.slip, Some(Slip::TenLog));
/// # Ok::<(), jigwise_exercises::predict::GuessError>(())
/// ```
///
/// # Errors
/// [`GuessError`] where the guess is of another form, or the bench has no such thing.
pub fn uncover(scenario: &Scenario, cover: Cover, guess: Guess) -> Result<Uncovered, GuessError> {
    let not_there = || GuessError::NotThere(cover);
    let bench = Bench::new(scenario).map_err(|_| not_there())?;
    match (cover, guess) {
        (Cover::BestFixture, Guess::Fixture(chosen)) => {
            best_fixture(&bench, chosen).ok_or_else(not_there)
        }
        (Cover::Reading(fixture), Guess::Level(db)) => {
            level(scenario, &bench, fixture, db).ok_or_else(not_there)
        }
        (Cover::Bar(fixture), Guess::BarEnd(ohm)) => {
            let z = bench.device().impedance().ok_or_else(not_there)?.norm();
            let share = if ohm >= z {
                ohm / z - 1.0
            } else {
                z / ohm - 1.0
            };
            bar(&bench, fixture, share).ok_or_else(not_there)
        }
        (Cover::Bar(fixture), Guess::BarWidth(share)) => {
            bar(&bench, fixture, share).ok_or_else(not_there)
        }
        (Cover::Verdict(fixture), Guess::Sees(sees)) => {
            sees_it(&bench, fixture, sees).ok_or_else(not_there)
        }
        _ => Err(GuessError::Form(cover)),
    }
}

/// Another part to predict, by its number: a resistor, and of five parts two with a reactance.
pub fn part(seed: u64, number: u64) -> Device {
    let bits = u128::from(seed) << 64 | u128::from(number);
    let mut stream = Seed::new(bits.to_be_bytes()).stream(Purpose::Round, 1);
    // Two digits, as a label has them.
    const DIGITS: [f64; 12] = [
        10.0, 12.0, 15.0, 18.0, 22.0, 27.0, 33.0, 39.0, 47.0, 56.0, 68.0, 82.0,
    ];
    let digits = DIGITS[stream.below(DIGITS.len())];
    let decade = |from: i32, count: usize, stream: &mut Stream| {
        digits * 10f64.powi(from + stream.below(count) as i32)
    };
    match stream.below(5) {
        0 => Device::inductor(decade(-8, 4, &mut stream)),
        1 => Device::capacitor(decade(-12, 4, &mut stream)),
        _ => Device::resistor(decade(-1, 5, &mut stream)),
    }
}

fn uncovered(cover: Cover, is_good: bool, slip: Option<Slip>, sentences: Vec<String>) -> Uncovered {
    let first = if is_good {
        "Well predicted."
    } else {
        "Not yet."
    };
    let slip_words = slip
        .filter(|_| !is_good)
        .map(|slip| format!("Perhaps: {slip}."));
    Uncovered {
        cover,
        is_good,
        slip: slip.filter(|_| !is_good),
        sentences: [first.to_owned()]
            .into_iter()
            .chain(sentences)
            .chain(slip_words)
            .collect(),
    }
}

/// Half the width of an interval as a share of |Z|, upward or downward, whichever is more.
fn share_of(interval: &ModulusInterval, ohm: f64) -> f64 {
    let up = interval.high_ohm / ohm - 1.0;
    let down = ohm / interval.low_ohm - 1.0;
    up.max(down)
}

fn best_fixture(bench: &Bench, chosen: Fixture) -> Option<Uncovered> {
    let appraisal = bench.readout().appraisal?;
    let best = appraisal.best_for_value?;
    let intervals = bench.modulus_intervals();
    let words = |fixture: Fixture| -> Option<String> {
        Some(modulus_interval(intervals[fixture as usize].as_ref()?))
    };
    let title = fixture_title(best);
    let mut sentences = vec![format!("{title} knows this part best: {}.", words(best)?)];
    if chosen != best {
        sentences.push(format!(
            "{} leaves {}.",
            fixture_title(chosen),
            words(chosen)?
        ));
        if appraisal.best_for_change == Some(chosen) {
            sentences.push(
                "It is the best one here for a change, and that is another question.".to_owned(),
            );
        }
    }
    Some(uncovered(
        Cover::BestFixture,
        chosen == best,
        None,
        sentences,
    ))
}

/// How near a level predicted in the head has to come, dB: a tenth of it, within reason.
fn level_tolerance(db: f64) -> f64 {
    (0.1 * db.abs()).clamp(0.05, 2.0)
}

fn level(scenario: &Scenario, bench: &Bench, fixture: Fixture, db: f64) -> Option<Uncovered> {
    let right = bench.readout().of(fixture).decibels()?;
    let task = Task::unprinted(
        String::new(),
        Area::Reading,
        fixture,
        scenario.clone(),
        Asks::Level,
        Tolerance::Uncertainty(level_tolerance(right)),
    );
    let verdict = task.check(&format!("{db} dB")).ok()?;
    let off = db - right;
    let shown = |db: f64| fixed(db, if db.abs() < 1.0 { 3 } else { 2 });
    let mut sentences = vec![format!("The level is {}\u{202f}dB.", shown(right))];
    if !verdict.is_right() {
        sentences.push(format!(
            "You said {}\u{202f}dB, {}\u{202f}dB {}.",
            shown(db),
            shown(off.abs()),
            if off > 0.0 { "too high" } else { "too low" }
        ));
    }
    let slip = match verdict {
        Verdict::Slipped(slip) => Some(slip),
        _ => None,
    };
    Some(uncovered(
        Cover::Reading(fixture),
        verdict.is_right(),
        slip,
        sentences,
    ))
}

/// A bar predicted within this factor is predicted well.
const BAR_FACTOR: f64 = 1.5;

fn bar(bench: &Bench, fixture: Fixture, said: f64) -> Option<Uncovered> {
    let ohm = bench.device().impedance()?.norm();
    let intervals = bench.modulus_intervals();
    let interval = intervals[fixture as usize].as_ref()?;
    let right = share_of(interval, ohm);
    let words = |share: f64| match share.is_finite() {
        true => format!("±{}", short_percent(share)),
        false => "an open end".to_owned(),
    };
    // Beyond three times the part a bar is as good as endless.
    const ENDLESS: f64 = 3.0;
    let near = |said: f64, right: f64| {
        let [said, right] = [said, right].map(|share| share.clamp(1e-6, ENDLESS));
        (said / right).max(right / said) <= BAR_FACTOR
    };
    let is_good = near(said, right);
    let mut sentences = vec![format!(
        "The bar is {}, {}.",
        words(right),
        modulus_interval(interval)
    )];
    if !is_good {
        let how = if said > right { "wider" } else { "narrower" };
        sentences.push(format!("You said {}, {how} than it is.", words(said)));
    }
    // u alone is half of the interval for 95 %, within the rounding of somebody who taps.
    let is_standard = (said * 1.96 / right - 1.0).abs() < 0.1;
    let others = Fixture::ALL.into_iter().filter(|other| *other != fixture);
    let of_other = others
        .filter_map(|other| {
            let share = share_of(intervals[other as usize].as_ref()?, ohm);
            ((said / share - 1.0).abs() < 0.25).then_some(other)
        })
        .next();
    if let Some(other) = of_other.filter(|_| !is_good && !is_standard) {
        sentences.push(format!(
            "That is about the bar of {}.",
            fixture_title(other).to_lowercase()
        ));
    }
    Some(uncovered(
        Cover::Bar(fixture),
        is_good,
        is_standard.then_some(Slip::StandardGiven),
        sentences,
    ))
}

fn sees_it(bench: &Bench, fixture: Fixture, said: bool) -> Option<Uncovered> {
    let readout = bench.readout();
    let appraisal = readout.appraisal_of(fixture)?;
    let sees = appraisal.verdict == Seen::Sees;
    let mut sentences = vec![format!(
        "{}: {}.",
        fixture_title(fixture),
        verdict(appraisal)
    )];
    if said != sees {
        let words = if said {
            verdict_words(Seen::Sees)
        } else {
            verdict_words(Seen::CantTell)
        };
        sentences.push(format!("You said: {words}."));
        if appraisal.verdict == Seen::HiddenByDisplay {
            sentences.push(
                "The noise would let it through, and the steps of the display are too coarse."
                    .to_owned(),
            );
        }
    }
    Some(uncovered(
        Cover::Verdict(fixture),
        said == sees,
        None,
        sentences,
    ))
}

#[cfg(test)]
mod tests;
