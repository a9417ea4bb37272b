//! The `[sweep]` table, both ways.

use toml::Table;

use crate::file::{Keyed, ScenarioError};
use jigwise_quantity::Unit;

/// How the points of a sweep lie between its ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Spacing {
    /// The same step everywhere.
    #[default]
    Even,
    /// The same ratio everywhere.
    Logarithmic,
}

/// The frequencies of a sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepPlan {
    /// The first, Hz, above zero.
    pub from_hz: f64,
    /// The last, Hz, above the first.
    pub to_hz: f64,
    /// The number of frequencies, 2 or more.
    pub points: usize,
    /// Even steps in hertz, or even steps of the logarithm.
    pub spacing: Spacing,
}

/// More points than any analyzer sweeps; keeps a slip of the keyboard from filling memory.
pub(super) const MAX_POINTS: u64 = 10_000_000;

impl SweepPlan {
    /// The frequencies, Hz, rising; the ends are exact.
    pub fn freq_hz(&self) -> Vec<f64> {
        let last = (self.points - 1).max(1);
        (0..self.points)
            .map(|k| {
                let share = k as f64 / last as f64;
                match (k, self.spacing) {
                    (0, _) => self.from_hz,
                    (k, _) if k == last => self.to_hz,
                    (_, Spacing::Even) => self.from_hz + (self.to_hz - self.from_hz) * share,
                    (_, Spacing::Logarithmic) => {
                        self.from_hz * (self.to_hz / self.from_hz).powf(share)
                    }
                }
            })
            .collect()
    }

    /// The frequency a single readout is made at where the scenario names none, Hz: the middle
    /// of the sweep by its own spacing.
    pub fn middle_hz(&self) -> f64 {
        match self.spacing {
            Spacing::Even => 0.5 * (self.from_hz + self.to_hz),
            Spacing::Logarithmic => (self.from_hz * self.to_hz).sqrt(),
        }
    }
}

const SPACINGS: [(&str, Spacing); 2] = [
    ("even", Spacing::Even),
    ("logarithmic", Spacing::Logarithmic),
];

/// The sweep of a scenario, where it has one.
pub(super) fn sweep(file: &Keyed<'_>) -> Result<Option<SweepPlan>, ScenarioError> {
    let keys = ["from", "to", "points", "spacing"];
    let Some(keyed) = file.table("sweep", "sweep", &keys)? else {
        return Ok(None);
    };
    let from_hz = keyed.needed_positive("from", Unit::Hertz)?;
    let to_hz = keyed.needed_positive("to", Unit::Hertz)?;
    if to_hz <= from_hz {
        return Err(keyed.error("to", "to is not above from; exchange them"));
    }
    let points = keyed.count("points", 2, MAX_POINTS)?.unwrap_or(201);
    let plan = SweepPlan {
        from_hz,
        to_hz,
        points: points as usize,
        spacing: keyed.choice("spacing", &SPACINGS)?.unwrap_or_default(),
    };
    if !plan.freq_hz().is_sorted_by(|a, b| a < b) {
        return Err(keyed.error(
            "points",
            "the points are nearer than two numbers can be told apart; take fewer, or a wider \
             sweep",
        ));
    }
    Ok(Some(plan))
}

/// The `[sweep]` table of a plan.
pub(super) fn sweep_table(plan: &SweepPlan) -> Table {
    let spacing = SPACINGS
        .iter()
        .find(|(_, spacing)| *spacing == plan.spacing)
        .map_or("even", |(word, _)| word);
    Table::from_iter([
        ("from".into(), format!("{:e} Hz", plan.from_hz).into()),
        ("to".into(), format!("{:e} Hz", plan.to_hz).into()),
        ("points".into(), (plan.points as i64).into()),
        ("spacing".into(), spacing.into()),
    ])
}
