//! What is right, and what each slip would have given, by the same steps.

mod accuracy;
mod chart;
mod knowable;
mod parts;
mod reading;
mod seen;
mod surround;

use jigwise_bench::Complex64;

use crate::slip::Slip;
use crate::task::{Asks, Task};

pub(crate) use chart::gap;
pub(crate) use knowable::knowable;
pub(crate) use reading::of_impedance;
pub(crate) use seen::{fixture_that_moves_most, fixture_that_sees};
pub(crate) use surround::Surround;

const THOUSAND: f64 = 1_000.0;

/// The value of a task that asks for one, as it comes out right (`None`) or with a slip.
/// A plain number is a complex one without j. `None` where the slip can't be made here.
pub(crate) fn value(task: &Task, slip: Option<Slip>) -> Option<Complex64> {
    if slip.is_none() && task.asks().is_claim() {
        return Some(task.knowable()?.right.into());
    }
    let real = match task.asks() {
        Asks::Opposite => return chart::opposite(task, slip),
        Asks::Apparent => return chart::apparent(task, slip),
        Asks::Impedance
        | Asks::Resistance
        | Asks::Capacitance
        | Asks::Inductance
        | Asks::ResistanceClaim
        | Asks::CapacitanceClaim
        | Asks::InductanceClaim => return reading::from_reading(task, task.readout()?, slip),
        Asks::Level => reading::level(task.readout()?, task.fixture(), slip),
        Asks::Averages => seen::averages(task, slip),
        Asks::Change => seen::least_change(task, slip),
        Asks::Separation => seen::separation(task, slip),
        Asks::DisplayChange => seen::display_change(task, slip),
        Asks::Length => parts::length(task, task.readout()?, slip),
        Asks::SelfResonance => parts::self_resonance(task, slip),
        Asks::Quality => parts::quality(task, slip),
        Asks::Distance | Asks::Angle | Asks::Swr => chart::of_reflection(task, slip),
        Asks::PlaneAngle => chart::plane_angle(task, slip),
        Asks::Corner => chart::corner(task, slip),
        Asks::BlankLevel => chart::blank_level(task, slip),
        Asks::Crossover => accuracy::crossover(task, slip),
        Asks::Sensitivity => accuracy::sensitivity(task, slip),
        Asks::Expanded => accuracy::expanded(task, slip),
        Asks::Radius => accuracy::radius(task, slip),
        Asks::Combined => accuracy::combined(task, slip),
        Asks::LoadShare => accuracy::load_share(task, slip),
        Asks::LoadClaim | Asks::CrossoverClaim => None,
        Asks::Fixture
        | Asks::FixtureThatSees
        | Asks::Limit
        | Asks::Formula
        | Asks::Choice
        | Asks::Ranking => None,
    };
    real.map(Complex64::from)
}

/// `value`, or a thousand times off; `None` for a slip that is neither that nor `done` already.
fn in_thousands(value: f64, slip: Option<Slip>, done: &[Slip]) -> Option<f64> {
    match slip {
        None => Some(value),
        Some(slip) if done.contains(&slip) => Some(value),
        Some(Slip::PrefixTooLarge) => Some(value * THOUSAND),
        Some(Slip::PrefixTooSmall) => Some(value / THOUSAND),
        Some(_) => None,
    }
}
