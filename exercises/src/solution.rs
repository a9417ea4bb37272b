//! A task worked out, step by step. Every number is computed from the scenario.

use jigwise_bench::change::{self, level_move};
use jigwise_bench::quotes::Shown;
use jigwise_bench::words::sums::{back, forward, inversion};
use jigwise_bench::words::{fixture_key, limit_key, sigma};
use jigwise_bench::{
    Bench, Complex64, Coverage, Device, Fixture, FixtureReadout, FixtureStrays, Readout,
    SEEN_SIGMA, Scenario, Unit, complex_ohm, engineering, fixed, percent, plain_complex,
    significant, unsigned_percent, without_zeros,
};

use crate::answer::Answer;
use crate::choices::Criterion;
use crate::claim::{Claim, NORMAL_95};
use crate::read_task::measured_reading;
use crate::solve::{Surround, gap};
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
                let mut steps = vec![rule(self)];
                steps.extend(from_reading(self, readout));
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
            Asks::Formula => vec![
                format!(
                    "Begin with {}.",
                    forward(&readout.of(self.fixture()), readout).symbols
                ),
                "Multiply by the denominator and collect everything with Z on one side.".to_owned(),
            ],
            Asks::FixtureThatSees | Asks::Separation => separations(readout),
            Asks::Limit | Asks::Averages | Asks::Change | Asks::DisplayChange => {
                of_change(self, bench, readout)
            }
            Asks::Choice | Asks::Ranking => of_options(self, bench, readout),
            _ => vec![rule(self)],
        }
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
    way_back(
        task,
        readout,
        shown.reading(),
        &format!("The reading {shown}"),
    )
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
    let off = Surround::of(task.scenario())
        .zip(got_back)
        .and_then(|(surround, back)| surround.taken_off(fixture, back)?.impedance());
    if let Some(z) = off {
        steps.push(format!(
            "Without what is known to be around the part that leaves {}.",
            complex_ohm(z, DIGITS)
        ));
    }
    match task.asks().unit() {
        Some(Unit::Farad) => steps.push("C = −1/(2π·f·X).".to_owned()),
        Some(Unit::Henry) => steps.push("L = X/(2π·f).".to_owned()),
        _ => {}
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

fn separations(readout: &Readout) -> Vec<String> {
    let mut steps: Vec<String> = Fixture::ALL
        .into_iter()
        .filter_map(|fixture| {
            let seen = readout.appraisal_of(fixture)?;
            Some(format!(
                "In {} the two readings are {}\u{202f}σ apart: {}.",
                fixture_key(fixture),
                sigma(seen.separation_sigma?),
                jigwise_bench::words::verdict(seen)
            ))
        })
        .collect();
    steps.push(format!(
        "A change is seen from {}\u{202f}σ, if the display moves too.",
        sigma(SEEN_SIGMA)
    ));
    steps
}

fn of_change(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    let mut steps = Vec::new();
    let Some(seen) = readout.appraisal_of(task.fixture()) else {
        return steps;
    };
    if let Some(d) = seen.separation_sigma {
        steps.push(format!(
            "A change of {} takes the readings {}\u{202f}σ apart, and {}\u{202f}σ are needed.",
            percent(bench.nudge().amount()),
            sigma(d),
            sigma(SEEN_SIGMA)
        ));
    }
    if let Some(asked) = change::asked(seen, bench.nudge()) {
        let shows = |share: Option<f64>| share.map_or("never".to_owned(), percent);
        steps.push(format!(
            "Above the noise a change shows from {}, on the display from {}.",
            shows(asked.noise),
            shows(asked.display)
        ));
    }
    if task.asks() == Asks::Averages {
        steps.push("N readings scatter √N times less, so N = (2√2/d)², rounded up.".to_owned());
    }
    steps
}

fn level(fixture: Fixture, readout: &Readout) -> Vec<String> {
    let worked = forward(&readout.of(fixture), readout);
    vec![
        with_numbers(worked.symbols, worked.numbers, &worked.result),
        "A level is 20·log10 of the size of the reading.".to_owned(),
    ]
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

fn of_options(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    let Some(choices) = &task.choices else {
        return Vec::new();
    };
    let mut steps = vec![format!("What decides is {}.", choices.criterion.look_at())];
    let figure = |fixture| {
        let seen = readout.appraisal_of(fixture)?;
        let name = fixture_key(fixture);
        match choices.criterion {
            Criterion::Value => Some(format!(
                "In {name} that is ±{}.",
                unsigned_percent(Coverage::P95.radius_in_rms() * seen.figure_of_merit?)
            )),
            Criterion::SmallestChange => Some(format!(
                "In {name} it is {}.",
                change::asked(seen, bench.nudge())?
                    .value()
                    .map_or("none at all".to_owned(), percent)
            )),
            _ => None,
        }
    };
    steps.extend(Fixture::ALL.into_iter().filter_map(figure));
    steps
}

/// The rule behind a task with one formula.
fn rule(task: &Task) -> String {
    match task.asks() {
        Asks::Length => {
            "The wave goes there and back, so the length is −φ/720° wavelengths in the \
                         line."
        }
        Asks::SelfResonance => "Both reactances are alike at f = 1/(2π·√(L·C)).",
        Asks::Quality => "The loop holds R1 and both ports, so Q = f/Δf·(R1 + 2·Z0)/R1.",
        Asks::Distance => "|Γ| = |Z − Z0|/|Z + Z0|.",
        Asks::Angle => "The angle of Γ is that of Z − Z0 less that of Z + Z0.",
        Asks::Swr => "SWR = (1 + |Γ|)/(1 − |Γ|), with |Γ| = |Z − Z0|/|Z + Z0|.",
        Asks::Opposite => "At −Γ lies Z0²/Z.",
        Asks::Apparent => {
            "The reading of part and surroundings, turned into ohms by the fixture's \
                           formula."
        }
        Asks::Crossover => {
            "Reflect and a through fixture see alike where a resistor makes the SWR \
                            1 + √6: at Z0/(1 + √6) and at Z0·(1 + √6)."
        }
        Asks::Sensitivity => "K = |dZ/dS|/|Z|, and an error of 0.01 becomes K percent.",
        Asks::Expanded => "U = 1.96·u.",
        Asks::Radius => "The radius is √(−2·ln 0.05) = 2.45 standard uncertainties.",
        Asks::Combined => "u = √(a² + b² + c²).",
        Asks::LoadShare => {
            "The analyzer calls the load the reference, so all ohms are off by \
                            Z0/load − 1."
        }
        Asks::PlaneAngle => "An open behind a line of length l shows −720°·l·f/(v·c).",
        Asks::Corner => "f = 1/(2π·R·C).",
        _ => "",
    }
    .to_owned()
}
