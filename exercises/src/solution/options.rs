//! Tasks with options: what decides, and its number for each option.

use jigwise_bench::change;
use jigwise_bench::words::{causes_by_share, fixture_key};
use jigwise_bench::{
    Bench, Cause, Coverage, Fixture, Measurement, Readout, Scenario, complex_ohm, engineering,
    fixed, percent, plain_complex, significant, trials, unsigned_percent,
};

use super::{DIGITS, ohms};
use crate::choices::{Choices, Criterion};
use crate::task::Task;

pub(super) fn steps(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    let Some(choices) = &task.choices else {
        return Vec::new();
    };
    let mut steps = vec![format!("What decides is {}.", choices.criterion.look_at())];
    steps.extend(match choices.criterion {
        Criterion::Value | Criterion::SmallestChange => of_fixtures(choices, bench, readout),
        Criterion::NearestCentre | Criterion::BestPart | Criterion::SameReading => {
            of_scenarios(task, choices)
        }
        Criterion::Half => half(bench).into_iter().collect(),
        Criterion::Causes | Criterion::Averaged => of_causes(task, choices, bench),
        Criterion::Holds => of_formula(task),
        Criterion::Kind => of_sweep(task).unwrap_or_default(),
    });
    steps
}

fn of_fixtures(choices: &Choices, bench: &Bench, readout: &Readout) -> Vec<String> {
    let figure = |fixture| {
        let seen = readout.appraisal_of(fixture)?;
        let name = fixture_key(fixture);
        match choices.criterion {
            Criterion::Value => Some(format!(
                "In {name} that is ±{}.",
                unsigned_percent(Coverage::P95.radius_in_rms() * seen.figure_of_merit?)
            )),
            _ => Some(format!(
                "In {name} it is {}.",
                change::asked(seen, bench.nudge())?
                    .value()
                    .map_or("none at all".to_owned(), percent)
            )),
        }
    };
    Fixture::ALL.into_iter().filter_map(figure).collect()
}

fn of_scenarios(task: &Task, choices: &Choices) -> Vec<String> {
    let of = |(letter, text): (char, &str), scenario: &Scenario| {
        let scenario = match choices.criterion {
            Criterion::SameReading => Scenario {
                device: task.scenario().device.clone(),
                ..scenario.clone()
            },
            _ => scenario.clone(),
        };
        let bench = Bench::new(&scenario).ok()?;
        let readout = bench.readout();
        Some(match choices.criterion {
            Criterion::NearestCentre => {
                let reading = readout.of(Fixture::Reflect).reading?;
                format!("{letter} ({text}): {}.", fixed(reading.norm(), 4))
            }
            Criterion::BestPart => format!(
                "{letter} ({text}): |Z| is {}, and {} is the best fixture for its value.",
                engineering(bench.device().impedance()?.norm(), "Ω", 3),
                fixture_key(readout.appraisal?.best_for_value?)
            ),
            _ => {
                let back = |fixture| {
                    let z = readout.of(fixture).got_back?.impedance()?;
                    Some(format!("{} in {}", complex_ohm(z, 3), fixture_key(fixture)))
                };
                let all: Vec<String> = Fixture::ALL.into_iter().filter_map(back).collect();
                format!("{letter} ({text}) gives {}.", all.join(", "))
            }
        })
    };
    let first = (choices.criterion == Criterion::SameReading)
        .then(|| "Turn the three readings into ohms, and compare them with these.".to_owned());
    let each = choices.options().zip(&choices.scenarios);
    first
        .into_iter()
        .chain(each.filter_map(|(option, scenario)| of(option, scenario)))
        .collect()
}

fn half(bench: &Bench) -> Option<String> {
    let z = bench.device().impedance()?;
    Some(format!(
        "The part has 2π·f·L − 1/(2π·f·C) = {} here, which is {} zero.",
        engineering(z.im, "Ω", 3),
        if z.im > 0.0 { "above" } else { "below" }
    ))
}

fn of_causes(task: &Task, choices: &Choices, bench: &Bench) -> Vec<String> {
    let shares = causes_by_share(bench, task.fixture());
    let of = |(letter, name): (char, &str)| {
        let cause = Cause::ALL.into_iter().find(|cause| cause.name() == name)?;
        if choices.criterion == Criterion::Averaged {
            let words = match cause.is_random() {
                true => "is drawn anew for every reading",
                false => "is the same in all readings",
            };
            return Some(format!("{letter} ({name}) {words}."));
        }
        let (_, share) = shares.iter().find(|(other, _)| *other == cause)?;
        Some(format!(
            "{letter} ({name}) makes {} of the square of the uncertainty.",
            unsigned_percent(*share)
        ))
    };
    choices.options().filter_map(of).collect()
}

/// The formula on a resistor and on a reactance that a person can check by head.
fn of_formula(task: &Task) -> Vec<String> {
    let Some(formula) = task.formula() else {
        return Vec::new();
    };
    let tried = trials(formula, task.fixture(), task.scenario().reference);
    let resistor = tried.iter().find(|trial| trial.ohm.im == 0.0);
    let reactance = tried.iter().find(|trial| trial.ohm.re == 0.0);
    resistor
        .into_iter()
        .chain(reactance)
        .map(|trial| {
            let found = match trial.found {
                Some(found) => ohms(found),
                None => "no number".to_owned(),
            };
            let verdict = match trial.error() <= jigwise_bench::EXACT {
                true => "That is right",
                false => "That is wrong",
            };
            format!(
                "A part of {} reads S = {} there. The formula makes {found} of it. {verdict}.",
                ohms(trial.ohm),
                plain_complex(trial.reading, DIGITS)
            )
        })
        .collect()
}

fn of_sweep(task: &Task) -> Option<Vec<String>> {
    let measured = Measurement::of(task.scenario(), task.fixture()).ok()?;
    let sizes = measured.points.iter().map(|point| match task.fixture() {
        Fixture::Reflect => point.corrected.s11.norm(),
        Fixture::ShuntThrough | Fixture::SeriesThrough => point.corrected.s21.norm(),
    });
    let least = sizes.clone().min_by(f64::total_cmp)?;
    let most = sizes.max_by(f64::total_cmp)?;
    let sweep = task.scenario().sweep.as_ref()?;
    Some(vec![
        format!(
            "In this file the size of the reading goes from {} to {}, between {} and {}.",
            significant(least, 2),
            significant(most, 2),
            engineering(sweep.from_hz, "Hz", DIGITS),
            engineering(sweep.to_hz, "Hz", DIGITS)
        ),
        format!(
            "The size changes by a factor of {}, the frequency by a factor of {}. The reading of a \
             resistor, a coil or a capacitor changes no more than the frequency does; that of a \
             resonance may change far more.",
            significant(most / least, 3),
            significant(sweep.to_hz / sweep.from_hz, 4)
        ),
    ])
}
