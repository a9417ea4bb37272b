//! A task worked out, step by step. Every number is computed from the scenario.

mod apparent;
mod changes;
mod options;
mod rules;
mod taken_off;

use jigwise_bench::change::level_move;
use jigwise_bench::quotes::Shown;
use jigwise_bench::words::sums::{back, forward, inversion};
use jigwise_bench::words::{fixture_key, limit_key};
use jigwise_bench::{
    Bench, Complex64, Device, Fixture, FixtureReadout, FixtureStrays, Readout, Scenario, Unit,
    complex_ohm, engineering, fixed, percent, plain_complex, significant, unsigned_percent,
    without_zeros,
};

use crate::answer::Answer;
use crate::claim::{Claim, NORMAL_95};
use crate::read_task::measured_reading;
use crate::solve::{gap, of_impedance};
use crate::task::{Asks, Task};

/// Digits of a step between.
const DIGITS: usize = 4;

impl Task {
    /// The task worked out: one step in each sentence, the answer last.
    pub fn solution(&self) -> Vec<String> {
        let Ok(bench) = Bench::new(self.scenario()) else {
            return Vec::new();
        };
        let readout = bench.readout();
        let mut steps = self.steps(&bench, &readout);
        steps.push(format!("The answer is {}.", self.answer_words()));
        steps
    }

    /// The right answer as it is written down.
    pub fn answer_words(&self) -> String {
        let unit = self.asks().unit();
        match self.right_answer() {
            None => inversion(self.fixture()).to_owned(),
            Some(Answer::Fixture(fixture)) => fixture_key(fixture).to_owned(),
            Some(Answer::Limit(limit)) => limit_key(limit).to_owned(),
            Some(Answer::Formula(formula)) => formula.to_string(),
            Some(Answer::Option(at)) => self.option_words(at),
            Some(Answer::Order(order)) => order
                .into_iter()
                .map(|at| self.option_words(at))
                .collect::<Vec<_>>()
                .join(", "),
            Some(Answer::Claim(claim)) => claim_words(claim, unit),
            Some(Answer::Value(z)) if self.asks().is_complex() => complex_ohm(z, DIGITS),
            Some(Answer::Value(value)) => value_words(value.re, unit, DIGITS),
        }
    }

    fn option_words(&self, at: usize) -> String {
        let options = self.options();
        options
            .get(at)
            .map_or(String::new(), |(letter, text)| format!("{letter} ({text})"))
    }

    fn steps(&self, bench: &Bench, readout: &Readout) -> Vec<String> {
        match self.asks() {
            Asks::Impedance | Asks::Resistance | Asks::Capacitance | Asks::Inductance => {
                from_reading(self, readout)
            }
            asks if asks.is_claim() => claim_steps(self, bench, readout),
            Asks::Level => level(self.fixture(), readout),
            Asks::BlankLevel => of_gap(self),
            Asks::Apparent => {
                let mut steps = vec![rules::rule(self).to_owned()];
                steps.extend(apparent::steps(self, bench, readout));
                steps
            }
            Asks::Fixture => Fixture::ALL
                .into_iter()
                .filter_map(|fixture| {
                    let db = level_move(readout, fixture)?;
                    Some(format!(
                        "In {} a tenth more moves the level by {}\u{202f}dB.",
                        fixture_key(fixture),
                        fixed(db, 3)
                    ))
                })
                .collect(),
            Asks::Formula => derivation(self.fixture()),
            Asks::FixtureThatSees
            | Asks::Separation
            | Asks::Limit
            | Asks::Averages
            | Asks::Change
            | Asks::DisplayChange => changes::steps(self, bench, readout),
            Asks::Choice | Asks::Ranking => options::steps(self, bench, readout),
            _ => rules::steps(self, bench, readout),
        }
    }
}

/// From the formula of the circuit to its inverse, line by line.
fn derivation(fixture: Fixture) -> Vec<String> {
    match fixture {
        Fixture::Reflect => [
            "Begin with S = (Z − Z0)/(Z + Z0).",
            "Multiply both sides by Z + Z0: S·Z + S·Z0 = Z − Z0.",
            "Bring everything with Z to the right: Z0 + S·Z0 = Z − S·Z.",
            "Take out the factors: Z0·(1 + S) = Z·(1 − S).",
            "Divide by 1 − S.",
        ],
        Fixture::ShuntThrough => [
            "Begin with S = 2·Z/(2·Z + Z0).",
            "Multiply both sides by 2·Z + Z0: 2·Z·S + Z0·S = 2·Z.",
            "Bring everything with Z to the right: Z0·S = 2·Z − 2·Z·S.",
            "Take out the factor: Z0·S = 2·Z·(1 − S).",
            "Divide by 2·(1 − S).",
        ],
        Fixture::SeriesThrough => [
            "Begin with S = 2·Z0/(Z + 2·Z0).",
            "Multiply both sides by Z + 2·Z0: S·Z + 2·Z0·S = 2·Z0.",
            "Leave only the term with Z at the left: S·Z = 2·Z0 − 2·Z0·S.",
            "Take out the factor: S·Z = 2·Z0·(1 − S).",
            "Divide by S.",
        ],
    }
    .map(str::to_owned)
    .to_vec()
}

/// A resistance without its zero reactance, anything else as R + jX.
fn ohms(z: Complex64) -> String {
    match z.im == 0.0 {
        true => engineering(z.re, "Ω", DIGITS),
        false => complex_ohm(z, DIGITS),
    }
}

fn with_numbers(symbols: &str, numbers: Option<String>, result: &str) -> String {
    match numbers {
        Some(numbers) => format!("{symbols} = {numbers} = {result}."),
        None => format!("{symbols} = {result}."),
    }
}

/// A value with its unit and at most so many digits.
pub(crate) fn value_words(value: f64, unit: Option<Unit>, digits: usize) -> String {
    match unit {
        None | Some(Unit::One) => without_zeros(&significant(value, digits)),
        Some(Unit::Percent) => percent(value / 100.0),
        Some(Unit::Decibel) => format!("{}\u{202f}dB", fixed(value, 2)),
        Some(Unit::Degree) => format!("{}°", fixed(value, 1)),
        Some(unit) => engineering(value, unit.sign(), digits),
    }
}

/// A claim as it is written down.
pub(crate) fn claim_words(claim: Claim, unit: Option<Unit>) -> String {
    let sign = unit.map_or("", Unit::sign);
    match claim {
        Claim::Within { value, half_width } => jigwise_bench::plus_minus(value, half_width, sign),
        Claim::Bare(value) => engineering(value, sign, DIGITS),
        Claim::CantBeTold => "can't be told".to_owned(),
    }
}

fn from_reading(task: &Task, readout: &Readout) -> Vec<String> {
    let entry = readout.of(task.fixture());
    let Some(shown) = Shown::of(&entry) else {
        return Vec::new();
    };
    let mut steps = vec![format!(
        "The reading is {shown}. Its size is 10^({}/20) = {}.",
        fixed(shown.level_db, Shown::LEVEL_DECIMALS),
        significant(shown.magnitude(), DIGITS)
    )];
    steps.extend(way_back(
        task,
        readout,
        shown.reading(),
        "The size times (cos θ + j·sin θ)",
    ));
    steps
}

fn way_back(task: &Task, readout: &Readout, reading: Complex64, what: &str) -> Vec<String> {
    let fixture = task.fixture();
    let got_back = fixture.immittance(reading, readout.reference).ok();
    let entry = FixtureReadout {
        fixture,
        reading: Some(reading),
        got_back,
    };
    let worked = back(&entry, readout.reference);
    let mut steps = vec![
        format!(
            "{what} is S = {} as a plain number.",
            plain_complex(reading, DIGITS)
        ),
        with_numbers(worked.symbols, worked.numbers, &worked.result),
    ];
    let z = got_back.and_then(|device| device.impedance());
    let off = z.and_then(|z| taken_off::steps(task, z));
    let left = off.as_ref().map(|(_, left)| *left).or(z);
    steps.extend(off.into_iter().flat_map(|(steps, _)| steps));
    if let (Some(z), Some(freq_hz)) = (left, readout.freq_hz) {
        let found = of_impedance(task.asks(), z, Some(freq_hz));
        let numbers = format!(
            "with f = {} and X = {} that is {}",
            engineering(freq_hz, "Hz", DIGITS),
            engineering(z.im, "Ω", DIGITS),
            found.map_or(String::new(), |found| value_words(
                found,
                task.asks().unit(),
                DIGITS
            ))
        );
        match task.asks().unit() {
            Some(Unit::Farad) => steps.push(format!("C = −1/(2π·f·X); {numbers}.")),
            Some(Unit::Henry) => steps.push(format!("L = X/(2π·f); {numbers}.")),
            _ => {}
        }
    }
    steps
}

fn claim_steps(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    let mut steps = Vec::new();
    if let Some(reading) = measured_reading(task.scenario(), task.fixture())
        && matches!(
            task.asks(),
            Asks::ResistanceClaim | Asks::CapacitanceClaim | Asks::InductanceClaim
        )
    {
        steps.extend(way_back(task, readout, reading, "The measured reading"));
    }
    let Some(knowable) = task.knowable() else {
        return steps;
    };
    let appraisal = bench.readout();
    if let Some(ohms) = appraisal
        .appraisal_of(task.fixture())
        .and_then(|seen| seen.ohms)
    {
        steps.push(format!(
            "What the instrument leaves is u(R) = {} and u(X) = {}.",
            engineering(ohms.u_r_ohm, "Ω", 2),
            engineering(ohms.u_x_ohm, "Ω", 2)
        ));
        let reactance = readout.device.impedance().map(|z| z.im.abs());
        if let (Some(Unit::Farad | Unit::Henry), Some(ohm)) = (task.asks().unit(), reactance) {
            steps.push(format!(
                "The value is known to the same share as X, u(X)/|X| = {}.",
                unsigned_percent(ohms.u_x_ohm / ohm)
            ));
        }
    }
    steps.push(match knowable.can_be_told() {
        true => format!(
            "The 95 % interval is {} times that, so ±{} was possible.",
            fixed(NORMAL_95, 2),
            value_words(knowable.possible, task.asks().unit(), 2)
        ),
        false => {
            "The 95 % interval is wider than half of the value, so no value can be told.".to_owned()
        }
    });
    steps.push(
        "The part that was connected counts as right. Your reading differs from it by what the \
         instrument left."
            .to_owned(),
    );
    steps
}

fn level(fixture: Fixture, readout: &Readout) -> Vec<String> {
    let worked = forward(&readout.of(fixture), readout);
    let mut steps = vec![with_numbers(worked.symbols, worked.numbers, &worked.result)];
    let size = readout.of(fixture).reading.map_or(0.0, |s| s.norm());
    steps.push(format!(
        "The size of that is {}, and the level is 20·log10 of it.",
        significant(size, DIGITS)
    ));
    steps
}

/// The empty gap is the part.
fn of_gap(task: &Task) -> Vec<String> {
    let Some(gap) = gap(task.scenario()) else {
        return Vec::new();
    };
    let alone = Scenario {
        device: Device::Fixed(gap),
        fixtures: FixtureStrays::default(),
        ..task.scenario().clone()
    };
    let mut steps = vec![format!(
        "The empty gap is the part: Z = {}.",
        complex_ohm(gap, DIGITS)
    )];
    if let Ok(bench) = Bench::new(&alone) {
        steps.extend(level(task.fixture(), &bench.readout()));
    }
    steps
}
