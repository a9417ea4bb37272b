//! The answer line: which fixture knows the part, and why.

use jigwise_physics::{Complex64, Direction, Fixture, Verdict};
use jigwise_quantity::{fixed, percent, significant, unsigned_percent};

use super::{beside_an_end, fixture_key, fixture_title, modulus_interval, nothing_resolves};
use crate::ModulusInterval;
use crate::change::asked;
use crate::readout::{Bench, Readout};
use crate::scenario::NamedInstrument;

/// The relative uncertainty at 95 % from which a fixture is said to know a part: 10 %.
pub const USUAL_WANTED: f64 = 0.1;

/// Which fixture knows the part, in two sentences or three.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The fixture of which the line speaks; `None` where none tells anything.
    pub best: Option<Fixture>,
    /// True where that fixture's interval of |Z| is narrow enough.
    pub knows: bool,
    /// Which fixture knows the part, and its interval of |Z| at 95 %.
    pub line: String,
    /// Why: how far the nudge moves its reading and that of another fixture, or the nearest way
    /// out where no fixture shows the nudge.
    pub why: String,
}

/// The answer for a bench. A fixture knows the part where half the width of its interval of |Z|
/// at 95 % is at most `wanted`, as a share of |Z|.
///
/// `None` where the bench has no instrument.
///
/// ```
/// use jigwise_bench::words::{USUAL_WANTED, answer};
/// use jigwise_bench::{Bench, Fixture, NamedInstrument, Scenario};
///
/// let handheld = NamedInstrument::default();
/// let scenario = Scenario { instrument: Some(handheld.clone()), ..Scenario::default() };
/// let answer = answer(&Bench::new(&scenario)?, &handheld, USUAL_WANTED).unwrap();
/// assert_eq!(answer.best, Some(Fixture::SeriesThrough));
/// assert!(answer.line.starts_with("Series-through knows this part: 4."));
/// # Ok::<(), jigwise_bench::ScenarioError>(())
/// ```
pub fn answer(bench: &Bench, instrument: &NamedInstrument, wanted: f64) -> Option<Answer> {
    let readout = bench.readout();
    let appraisal = readout.appraisal.as_ref()?;
    let intervals = bench.modulus_intervals();
    let is_end = readout.device.is_open() || readout.device.is_short();
    let best = if is_end {
        narrowest_at_end(&readout, &intervals)
    } else {
        appraisal.best_for_value
    };
    let told = best.and_then(|fixture| Some((fixture, intervals[fixture as usize]?)));
    let told = told.filter(|(_, interval)| interval.low_ohm > 0.0 || interval.high_ohm.is_finite());
    let knows = told.is_some_and(|(_, interval)| is_end || half_width(&interval) <= wanted);
    let line = told.map_or_else(
        || "No fixture knows this part.".to_owned(),
        |(fixture, interval)| line(&readout, fixture, &interval, knows, wanted),
    );
    let why = beside_best(&readout, bench, best)
        .or_else(|| nothing_resolves(&readout, bench))
        .or_else(|| best.and_then(|best| why(bench, &readout, instrument, best)))
        .unwrap_or_default();
    Some(Answer {
        best: told.map(|(fixture, _)| fixture),
        knows,
        line,
        why,
    })
}

/// From which resistance the best fixture tells a part from the open or the short. `None` for any
/// other device, which a nudge changes.
fn beside_best(readout: &Readout, bench: &Bench, best: Option<Fixture>) -> Option<String> {
    let told = beside_an_end(readout, bench);
    let of_best = told.into_iter().nth(best? as usize)?;
    Some(format!("{of_best}."))
}

/// Half the width of an interval as a share of its middle, both on a logarithmic scale.
fn half_width(interval: &ModulusInterval) -> f64 {
    (interval.high_ohm / interval.low_ohm).sqrt() - 1.0
}

/// The fixture that sets an open or a short apart from most parts.
fn narrowest_at_end(
    readout: &Readout,
    intervals: &[Option<ModulusInterval>; 3],
) -> Option<Fixture> {
    let ratio = |interval: &ModulusInterval| {
        if readout.device.is_open() {
            1.0 / interval.low_ohm
        } else {
            interval.high_ohm
        }
    };
    Fixture::ALL
        .into_iter()
        .filter_map(|fixture| Some((fixture, ratio(intervals[fixture as usize].as_ref()?))))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(fixture, _)| fixture)
}

fn line(
    readout: &Readout,
    fixture: Fixture,
    interval: &ModulusInterval,
    knows: bool,
    wanted: f64,
) -> String {
    let (part, symbol) = match readout.device.impedance() {
        None => ("this open", ""),
        Some(z) if z == Complex64::ZERO => ("this short", ""),
        Some(z) if is_plain_resistance(z) => ("this part", ""),
        Some(_) => ("this part", "|Z| "),
    };
    let words = modulus_interval(interval);
    if knows {
        format!("{} knows {part}: {symbol}{words}.", fixture_title(fixture))
    } else {
        format!(
            "No fixture knows {part} to {}: {} comes nearest, {symbol}{words}.",
            short_percent(wanted),
            fixture_key(fixture)
        )
    }
}

/// True where |Z| and R are the same to the eye.
fn is_plain_resistance(z: Complex64) -> bool {
    const SMALL_RAD: f64 = 0.05;
    z.arg().abs() < SMALL_RAD
}

/// How a fixture's reading moves with the nudge.
#[derive(Debug, Clone, Copy)]
enum Move {
    Level { db: f64, steps: f64 },
    Angle { deg: f64, steps: f64 },
    FromNothing { db: f64 },
}

impl Move {
    /// `None` where the nudge leaves no reading.
    fn of(bench: &Bench, instrument: &NamedInstrument, fixture: Fixture) -> Option<Self> {
        let before = bench.reading(fixture)?;
        let nudged = bench.nudge().applied_to(bench.device());
        let after = bench.with_device(nudged).reading(fixture)?;
        let db = |s: Complex64| 20.0 * s.norm().log10();
        if before.norm() < 1e-12 {
            return Some(Self::FromNothing { db: db(after) });
        }
        let ratio = after / before;
        let figures = instrument
            .figures_at(bench.readout().freq_hz)
            .unwrap_or(instrument.figures);
        // Of level and angle the one that moves more: a neper is a radian.
        if ratio.norm().ln().abs() >= ratio.arg().abs() {
            let step_db = figures.display_magnitude * 20.0 / std::f64::consts::LN_10;
            let db = db(ratio).abs();
            let steps = db / step_db;
            Some(Self::Level { db, steps })
        } else {
            let rad = ratio.arg().abs();
            let steps = rad / figures.display_phase_rad;
            Some(Self::Angle {
                deg: rad.to_degrees(),
                steps,
            })
        }
    }

    fn words(self) -> String {
        match self {
            Self::Level { db, .. } => format!("{}\u{202f}dB", significant(db, 2)),
            Self::Angle { deg, .. } => format!("{}°", significant(deg, 2)),
            Self::FromNothing { db } => format!("from nothing to {}\u{202f}dB", fixed(db, 1)),
        }
    }

    /// What of a display step it is; `None` where the display shows it.
    fn share_of_step(self) -> Option<&'static str> {
        const SHARES: [(f64, &str); 9] = [
            (0.07, "less than a tenth"),
            (0.15, "a tenth"),
            (0.22, "a fifth"),
            (0.29, "a quarter"),
            (0.41, "a third"),
            (0.58, "half"),
            (0.70, "two thirds"),
            (0.85, "three quarters"),
            (1.0, "nine tenths"),
        ];
        let (Self::Level { steps, .. } | Self::Angle { steps, .. }) = self else {
            return None;
        };
        SHARES
            .into_iter()
            .find_map(|(below, words)| (steps < below).then_some(words))
    }
}

fn why(
    bench: &Bench,
    readout: &Readout,
    instrument: &NamedInstrument,
    best: Fixture,
) -> Option<String> {
    let moved = Move::of(bench, instrument, best)?;
    let first = match moved {
        Move::FromNothing { .. } => {
            format!(
                "{} takes its reading {}.",
                nudge_words(bench),
                moved.words()
            )
        }
        _ => format!(
            "{} moves its reading by {}.",
            nudge_words(bench),
            moved.words()
        ),
    };
    let second = better_for_change(readout, best).or_else(|| {
        let other = contrast(readout, best)?;
        contrast_words(bench, readout, instrument, other)
    });
    Some(match second {
        Some(second) => format!("{first} {second}"),
        None => first,
    })
}

fn nudge_words(bench: &Bench) -> String {
    let nudge = bench.nudge();
    let is_tenth = (nudge.amount().abs() - 0.1).abs() < 1e-12;
    match (nudge.direction(), is_tenth) {
        (Direction::Magnitude, true) if nudge.amount() > 0.0 => "A tenth more".to_owned(),
        (Direction::Magnitude, true) => "A tenth less".to_owned(),
        (Direction::Magnitude, false) => format!("A nudge of {}", percent(nudge.amount())),
        (Direction::Resistance, _) => format!("{} in R", percent(nudge.amount())),
        (Direction::Reactance, _) => format!("{} in X", percent(nudge.amount())),
    }
}

fn better_for_change(readout: &Readout, best: Fixture) -> Option<String> {
    let appraisal = readout.appraisal.as_ref()?;
    let for_change = appraisal.best_for_change.filter(|other| *other != best)?;
    let share = asked(appraisal.of(for_change), readout.nudge)?.value()?;
    Some(format!(
        "For a change {} is better: it shows {}.",
        fixture_key(for_change),
        short_percent(share)
    ))
}

/// The fixture to set against the best: reflect, which needs the least to be built, or else the
/// one that sees less.
fn contrast(readout: &Readout, best: Fixture) -> Option<Fixture> {
    if best != Fixture::Reflect {
        return Some(Fixture::Reflect);
    }
    let seen = |fixture: Fixture| readout.appraisal_of(fixture)?.separation_sigma;
    [Fixture::ShuntThrough, Fixture::SeriesThrough]
        .into_iter()
        .filter_map(|fixture| Some((fixture, seen(fixture)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(fixture, _)| fixture)
}

fn contrast_words(
    bench: &Bench,
    readout: &Readout,
    instrument: &NamedInstrument,
    other: Fixture,
) -> Option<String> {
    let moved = Move::of(bench, instrument, other)?;
    let end = match (moved.share_of_step(), readout.appraisal_of(other)?.verdict) {
        (Some(share), _) => format!(", {share} of one display step"),
        (None, Verdict::CantTell) => ", less than its noise".to_owned(),
        (None, Verdict::Hint) => ", little above its noise".to_owned(),
        _ => String::new(),
    };
    Some(format!(
        "In {} it is {}{end}.",
        fixture_key(other),
        moved.words()
    ))
}

/// A percentage of two digits without its sign: "10 %", "0.3 %".
pub fn short_percent(share: f64) -> String {
    let size = 100.0 * share.abs();
    if size >= 1_000.0 {
        return unsigned_percent(share);
    }
    let text = significant(size, 2);
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    format!("{text}\u{202f}%")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Scenario;

    fn said(device: &str, instrument: &str) -> Answer {
        let instrument = NamedInstrument::preset(instrument).unwrap();
        let scenario = Scenario {
            device: device.parse().unwrap(),
            instrument: Some(instrument.clone()),
            ..Scenario::default()
        };
        let bench = Bench::new(&scenario).unwrap();
        answer(&bench, &instrument, USUAL_WANTED).unwrap()
    }

    #[test]
    fn the_why_names_what_the_display_shows() {
        let said = said("4.7k", "handheld");
        let why = said.why.replace('\u{202f}', " ");
        assert_eq!(
            why,
            "A tenth more moves its reading by 0.81 dB. In reflect it is 0.017 dB, a third of one \
             display step."
        );
    }

    #[test]
    fn a_fixture_that_is_better_for_a_change_is_named() {
        let said = said("220", "handheld");
        assert_eq!(said.best, Some(Fixture::Reflect));
        assert!(
            said.why.contains("For a change series-through is better"),
            "{}",
            said.why
        );
    }

    #[test]
    fn where_nothing_resolves_the_way_out_is_named() {
        let said = said("20k", "handheld");
        assert!(!said.knows);
        assert!(
            said.line.starts_with("No fixture knows this part to 10"),
            "{}",
            said.line
        );
        assert!(
            said.why.starts_with("No fixture shows +10.0"),
            "{}",
            said.why
        );
    }

    #[test]
    fn ends_and_phases_have_words_of_their_own() {
        for (device, begin) in [
            ("open", "Series-through knows this open: above"),
            ("short", "Shunt-through knows this short: below"),
            ("30 - j40", "Reflect knows this part: |Z| "),
        ] {
            let said = said(device, "handheld");
            assert!(said.line.starts_with(begin), "{}", said.line);
            assert!(
                !said.line.contains("NaN") && !said.why.contains("– dB"),
                "{said:?}"
            );
            let is_end = ["open", "short"].contains(&device);
            assert_eq!(said.why.contains("can't be told from"), is_end, "{said:?}");
        }
        let matched = said("50", "handheld");
        assert!(
            matched.why.contains("from nothing to −26"),
            "{}",
            matched.why
        );
    }
}
