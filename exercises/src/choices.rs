//! Options to choose from or to put in order, and which of them is right. All is computed from
//! scenarios; a task's text holds no mark at the right option.

use std::sync::Arc;

use jigwise_bench::words::{causes_by_share, fixture_key};
use jigwise_bench::{
    Bench, Cause, Complex64, Device, Fixture, Formula, PartKind, Roundtrip, Scenario, roundtrip,
};

use crate::task::Setup;

/// What makes an option the right one, or orders the options.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Criterion {
    /// Parts by their distance from the centre of the chart, the nearest first.
    NearestCentre,
    /// Where a part lies: upper half, lower half, or on the middle line.
    Half,
    /// The fixtures by the figure of merit of the part, the best first.
    Value,
    /// The fixtures by the smallest change that they see, the smallest first.
    SmallestChange,
    /// The part for whose value the task's fixture is the best.
    BestPart,
    /// The causes by their share of the uncertainty, the largest first.
    Causes,
    /// The only cause that averaging makes smaller.
    Averaged,
    /// The bench whose readings are those of the task's scenario.
    SameReading,
    /// For which parts a formula holds: all, resistors only, or neither.
    Holds,
    /// The kind of the part.
    Kind,
}

impl Criterion {
    pub(crate) const ALL: [(&'static str, Self); 10] = [
        ("nearest-centre", Self::NearestCentre),
        ("half", Self::Half),
        ("value", Self::Value),
        ("smallest-change", Self::SmallestChange),
        ("best-part", Self::BestPart),
        ("causes", Self::Causes),
        ("averaged", Self::Averaged),
        ("same-reading", Self::SameReading),
        ("holds", Self::Holds),
        ("kind", Self::Kind),
    ];

    /// True where each option is a scenario of its own.
    pub(crate) fn compares_scenarios(self) -> bool {
        matches!(
            self,
            Self::NearestCentre | Self::BestPart | Self::SameReading
        )
    }

    /// What is looked at, as the end of "Look at …".
    pub(crate) fn look_at(self) -> &'static str {
        match self {
            Self::NearestCentre => "the size of each reflection, |Z − Z0|/|Z + Z0|",
            Self::Half => "the sign of the reactance",
            Self::Value => "how many percent of |Z| each fixture leaves in doubt",
            Self::SmallestChange => "the smallest change that each fixture shows",
            Self::BestPart => "how far each part is from open, short and the reference",
            Self::Causes => "each cause's own share of the uncertainty",
            Self::Averaged => "which of these causes are drawn anew for every reading",
            Self::SameReading => "what each of them would have made of the known part",
            Self::Holds => "what the formula makes of a resistor, and then of a reactance",
            Self::Kind => "how the size and the angle go with frequency",
        }
    }
}

/// An option as a task gives it.
#[derive(Debug, Clone)]
pub(crate) struct Candidate {
    pub(crate) text: String,
    /// For a criterion that compares scenarios.
    pub(crate) setup: Option<Arc<Setup>>,
}

/// Options with the right one, or the right order of all.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices {
    pub(crate) options: Vec<String>,
    /// One for each option where the criterion compares scenarios, otherwise none.
    pub(crate) scenarios: Vec<Scenario>,
    pub(crate) right: Vec<usize>,
    pub(crate) criterion: Criterion,
}

/// Why options can't be told apart.
pub(crate) type Unclear = String;

impl Choices {
    /// The options as they are shown, in their order.
    pub fn options(&self) -> impl Iterator<Item = (char, &str)> {
        ('a'..='z').zip(self.options.iter().map(String::as_str))
    }

    /// Works out which option is right.
    pub(crate) fn choice(
        criterion: Criterion,
        setup: &Setup,
        fixture: Fixture,
        candidates: Vec<Candidate>,
        formula: Option<&Formula>,
    ) -> Result<Self, Unclear> {
        let scenarios = scenarios(&candidates);
        let options: Vec<String> = match fixed_options(criterion) {
            Some(fixed) => fixed.into_iter().map(String::from).collect(),
            None => candidates.iter().map(|c| c.text.clone()).collect(),
        };
        let right = match criterion {
            Criterion::Half => half(setup),
            Criterion::Holds => formula.map(|formula| holds(formula, setup.scenario(), fixture)),
            Criterion::Kind => kind(setup.scenario()),
            Criterion::Value => Some(best_fixture_by(setup, by_value)?),
            Criterion::SmallestChange => Some(best_fixture_by(setup, by_change)?),
            Criterion::BestPart => only(candidates.iter().map(|candidate| {
                let setup = candidate.setup.as_deref();
                setup.and_then(best_for_value) == Some(fixture)
            })),
            Criterion::SameReading => same_reading(setup, &candidates)?,
            Criterion::Averaged => only(
                options
                    .iter()
                    .map(|name| cause_named(name).is_some_and(Cause::is_random)),
            ),
            Criterion::NearestCentre | Criterion::Causes => None,
        };
        let right = right.ok_or_else(|| "no option, or more than one, is right".to_owned())?;
        if options.len() < 2 || right >= options.len() {
            return Err("at least two options are needed".to_owned());
        }
        Ok(Self {
            options,
            scenarios,
            right: vec![right],
            criterion,
        })
    }

    /// Works out the order of the options.
    pub(crate) fn ranking(
        criterion: Criterion,
        setup: &Setup,
        fixture: Fixture,
        candidates: &[Candidate],
    ) -> Result<Self, Unclear> {
        let (options, right) = match criterion {
            Criterion::Value => (fixture_names(), fixtures_by(setup, by_value)?),
            Criterion::SmallestChange => (fixture_names(), fixtures_by(setup, by_change)?),
            Criterion::NearestCentre => {
                let sizes = candidates.iter().map(|candidate| {
                    let readout = candidate.setup.as_ref()?.readout()?;
                    let reading = readout.of(Fixture::Reflect).reading?;
                    Some(reading.norm())
                });
                let texts = candidates.iter().map(|c| c.text.clone()).collect();
                (texts, ordered(sizes)?)
            }
            Criterion::Causes => {
                let bench = setup.bench().map_err(ToString::to_string)?;
                let shares = causes_by_share(bench, fixture);
                let options: Vec<String> = candidates.iter().map(|c| c.text.clone()).collect();
                let of = options.iter().map(|name| {
                    let share = shares.iter().find(|(cause, _)| cause.name() == name);
                    Some(-share?.1)
                });
                (options.clone(), ordered(of)?)
            }
            _ => return Err("these options have no order".to_owned()),
        };
        if options.len() < 2 {
            return Err("at least two options are needed".to_owned());
        }
        Ok(Self {
            options,
            scenarios: scenarios(candidates),
            right,
            criterion,
        })
    }

    /// The option that a word names: its letter, its text, or a fixture's short name.
    pub(crate) fn find(&self, word: &str) -> Option<usize> {
        let word = word.trim().trim_end_matches(['.', ')']).to_lowercase();
        let mut letters = word.chars();
        if let (Some(letter), None) = (letters.next(), letters.next()) {
            return self.options().position(|(label, _)| label == letter);
        }
        let short = |option: &str| option.strip_suffix("-through") == Some(word.as_str());
        self.options
            .iter()
            .map(|option| option.to_lowercase())
            .position(|option| option == word.replace(' ', "-") || option == word || short(&option))
    }

    /// The order that a text gives: letters or names with commas, blanks or signs between.
    pub(crate) fn order(&self, text: &str) -> Option<Vec<usize>> {
        let parted: Vec<&str> = text
            .split([',', ';', '>', '<', '→', '\n'])
            .map(str::trim)
            .filter(|word| !word.is_empty())
            .collect();
        let words: Vec<String> = match &parted[..] {
            [one] if one.contains(char::is_whitespace) => {
                one.split_whitespace().map(String::from).collect()
            }
            [one] if one.chars().count() == self.options.len() => {
                one.chars().map(String::from).collect()
            }
            words => words.iter().map(|word| (*word).to_owned()).collect(),
        };
        let order: Vec<usize> = words
            .iter()
            .map(|word| self.find(word))
            .collect::<Option<_>>()?;
        let mut sorted = order.clone();
        sorted.sort_unstable();
        (sorted == (0..self.options.len()).collect::<Vec<_>>()).then_some(order)
    }
}

fn scenarios(candidates: &[Candidate]) -> Vec<Scenario> {
    let setups = candidates
        .iter()
        .filter_map(|candidate| candidate.setup.as_ref());
    setups.map(|setup| setup.scenario().clone()).collect()
}

fn fixture_names() -> Vec<String> {
    Fixture::ALL.map(|f| fixture_key(f).to_owned()).to_vec()
}

/// Options that are the same in every task of a criterion.
fn fixed_options(criterion: Criterion) -> Option<Vec<&'static str>> {
    Some(match criterion {
        Criterion::Half => vec!["the upper half", "the lower half", "the middle line"],
        Criterion::Holds => vec![
            "for every part",
            "for resistors only",
            "not even for resistors",
        ],
        Criterion::Kind => vec!["resistor", "capacitor", "coil", "crystal"],
        Criterion::Value | Criterion::SmallestChange => Fixture::ALL.map(fixture_key).to_vec(),
        _ => return None,
    })
}

fn half(setup: &Setup) -> Option<usize> {
    let z = setup.bench().ok()?.device().impedance()?;
    Some(match z.im {
        x if x > 0.0 => 0,
        x if x < 0.0 => 1,
        _ => 2,
    })
}

fn holds(formula: &Formula, scenario: &Scenario, fixture: Fixture) -> usize {
    match roundtrip(formula, fixture, scenario.reference) {
        Roundtrip::Right { .. } => 0,
        Roundtrip::RightForSome { kinds, .. } if kinds.contains(&PartKind::Resistors) => 1,
        Roundtrip::RightForSome { .. } | Roundtrip::Wrong { .. } => 2,
    }
}

fn kind(scenario: &Scenario) -> Option<usize> {
    use jigwise_bench::Part;
    Some(match &scenario.device {
        Device::Part(Part::Resistor(_)) => 0,
        Device::Part(Part::Capacitor(_)) => 1,
        Device::Part(Part::Inductor(_)) => 2,
        Device::Part(Part::Crystal(_)) => 3,
        _ => return None,
    })
}

type Figure = fn(&Setup, &Bench, Fixture) -> Option<f64>;

fn by_value(_: &Setup, bench: &Bench, fixture: Fixture) -> Option<f64> {
    bench.budget()?.figure_of_merit(fixture, bench.device())
}

/// A change that never shows counts as larger than any.
fn by_change(setup: &Setup, bench: &Bench, fixture: Fixture) -> Option<f64> {
    let appraisal = setup.readout()?.appraisal_of(fixture)?;
    let change = jigwise_bench::change::asked(appraisal, bench.nudge())?;
    Some(change.value().map_or(f64::INFINITY, f64::abs))
}

/// The figure of each fixture.
fn figures(setup: &Setup, figure: Figure) -> Result<[Option<f64>; 3], Unclear> {
    let bench = setup.bench().map_err(ToString::to_string)?;
    Ok(Fixture::ALL.map(|fixture| figure(setup, bench, fixture)))
}

fn fixtures_by(setup: &Setup, figure: Figure) -> Result<Vec<usize>, Unclear> {
    ordered(figures(setup, figure)?.into_iter())
}

/// The fixture with the smallest figure. The other two may be alike, as shunt-through and
/// series-through are near the reference.
fn best_fixture_by(setup: &Setup, figure: Figure) -> Result<usize, Unclear> {
    let known = figures(setup, figure)?.into_iter().enumerate();
    let known: Vec<(usize, f64)> = known
        .filter_map(|(at, figure)| Some((at, figure?)))
        .filter(|(_, figure)| figure.is_finite())
        .collect();
    let best = known.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let &(best, least) = best.ok_or("no fixture has a figure to compare")?;
    let is_rival = |&(at, figure): &(usize, f64)| at != best && figure - least <= APART * figure;
    match known.iter().any(is_rival) {
        true => Err("two options are alike".to_owned()),
        false => Ok(best),
    }
}

fn best_for_value(setup: &Setup) -> Option<Fixture> {
    setup.readout()?.appraisal.as_ref()?.best_for_value
}

fn cause_named(name: &str) -> Option<Cause> {
    Cause::ALL.into_iter().find(|cause| cause.name() == name)
}

fn only(hits: impl Iterator<Item = bool>) -> Option<usize> {
    let mut found = hits.enumerate().filter(|(_, is)| *is).map(|(at, _)| at);
    let first = found.next()?;
    found.next().is_none().then_some(first)
}

/// Figures that differ by less than this share of the larger can't be told apart.
const APART: f64 = 1e-3;

/// The order of figures from small to large, where they are far enough apart to be told.
fn ordered(figures: impl Iterator<Item = Option<f64>>) -> Result<Vec<usize>, Unclear> {
    let figures: Vec<f64> = figures
        .collect::<Option<_>>()
        .ok_or_else(|| "an option has no figure to compare".to_owned())?;
    let mut order: Vec<usize> = (0..figures.len()).collect();
    order.sort_by(|a, b| figures[*a].total_cmp(&figures[*b]));
    let tied = order.windows(2).any(|pair| {
        let (a, b) = (figures[pair[0]], figures[pair[1]]);
        b - a <= APART * b.abs() || b == a
    });
    match tied {
        true => Err("two options are alike".to_owned()),
        false => Ok(order),
    }
}

/// The bench among the candidates that reads the scenario's part as the scenario's own does, in
/// every fixture.
fn same_reading(setup: &Setup, candidates: &[Candidate]) -> Result<Option<usize>, Unclear> {
    let readings = |setup: &Setup| -> Result<[Option<Complex64>; 3], Unclear> {
        setup.bench().map_err(ToString::to_string)?;
        let readout = setup.readout();
        Ok(Fixture::ALL.map(|fixture| readout?.of(fixture).reading))
    };
    let own = readings(setup)?;
    let mut hits = Vec::new();
    for candidate in candidates {
        let Some(other) = &candidate.setup else {
            return Err("each option needs a scenario".to_owned());
        };
        let device = &setup.scenario().device;
        let other = match other.scenario().device == *device {
            true => readings(other)?,
            false => readings(&Setup::new(Scenario {
                device: device.clone(),
                ..other.scenario().clone()
            }))?,
        };
        let is_same = own.iter().zip(&other).all(|pair| match pair {
            (Some(a), Some(b)) => (a - b).norm() < 1e-6,
            (a, b) => a == b,
        });
        hits.push(is_same);
    }
    Ok(only(hits.into_iter()))
}
