//! Which fixture for what: crossovers, reach, and what could move them.

use std::f64::consts::FRAC_PI_2;

use crate::number::within;
use crate::uncertainty::polynomial::sign_change_points;
use crate::{
    Budget, Complex64, Coverage, Direction, EntryError, Fixture, Immittance, Merits, Reflection,
};

/// The three pairs, in the order of [`Fixture::ALL`].
const PAIRS: [[Fixture; 2]; 3] = [
    [Fixture::Reflect, Fixture::ShuntThrough],
    [Fixture::Reflect, Fixture::SeriesThrough],
    [Fixture::ShuntThrough, Fixture::SeriesThrough],
];

/// An impedance at which two fixtures are equally good.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossover {
    /// The two fixtures.
    pub between: [Fixture; 2],
    /// |Z| in ohms.
    pub ohm: f64,
    /// Standing-wave ratio of that impedance; `None` for a lossless or active one.
    pub swr: Option<f64>,
    /// True where the third fixture is no better there, so that the best fixture changes.
    pub best: bool,
}

/// The range of |Z| in which a fixture meets a wanted uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Lower end, Ω.
    pub from_ohm: f64,
    /// Upper end, Ω.
    pub to_ohm: f64,
}

fn device_at(ohm: f64, angle_rad: f64) -> Option<Immittance> {
    let z = if angle_rad.abs() == FRAC_PI_2 {
        // The cosine of π/2 as a double is not zero.
        Complex64::new(0.0, ohm * angle_rad.signum())
    } else {
        Complex64::from_polar(ohm, angle_rad)
    };
    Immittance::from_impedance(z).ok()
}

impl Merits {
    /// Every |Z| at which two fixtures have the same figure of merit, along the phase
    /// `angle_rad`, pair by pair and rising.
    pub fn crossovers(&self, angle_rad: f64) -> Vec<Crossover> {
        let rays = self.forms.map(|form| form.along_ray(angle_rad));
        let mut found = Vec::new();
        for between in PAIRS {
            let [a, b] = between.map(|fixture| rays[fixture as usize]);
            let difference = std::array::from_fn(|k| a[k] - b[k]);
            for r in sign_change_points(difference) {
                let ohm = r * self.z0.ohm();
                let at = |fixture: Fixture| {
                    crate::uncertainty::polynomial::value_at(&rays[fixture as usize], r)
                };
                let best = Fixture::ALL
                    .into_iter()
                    .filter(|fixture| !between.contains(fixture))
                    .all(|third| at(third) >= at(between[0]));
                found.push(Crossover {
                    between,
                    ohm,
                    swr: device_at(ohm, angle_rad)
                        .and_then(|part| Reflection::of(part, self.z0).swr()),
                    best,
                });
            }
        }
        found
    }

    /// Ranges of |Z| in which √(−ln(1 − p))·e ≤ `wanted` (1.731·e for 95 %) along the phase
    /// `angle_rad`; at most two.
    ///
    /// # Errors
    /// [`EntryError`], in percent, unless 1e-6 ≤ `wanted` ≤ 1.
    pub fn reach(
        &self,
        fixture: Fixture,
        wanted: f64,
        coverage: Coverage,
        angle_rad: f64,
    ) -> Result<Vec<Reach>, EntryError> {
        within(
            "wanted uncertainty",
            100.0 * wanted,
            1e-4,
            100.0,
            "% of |Z|",
        )?;
        let e = wanted / coverage.radius_in_rms();
        let mut excess = self.forms[fixture as usize].along_ray(angle_rad);
        excess[2] -= e * e;
        let mut ends = sign_change_points(excess).map(|r| r * self.z0.ohm());
        let mut ranges = Vec::new();
        // An error-free end leaves the range open there.
        let mut from_ohm = if excess.iter().find(|c| **c != 0.0).is_some_and(|c| *c < 0.0) {
            Some(0.0)
        } else {
            ends.next()
        };
        while let Some(from) = from_ohm {
            ranges.push(Reach {
                from_ohm: from,
                to_ohm: ends.next().unwrap_or(f64::INFINITY),
            });
            from_ohm = ends.next();
        }
        Ok(ranges)
    }
}

/// The ratio k = ε_series/ε_shunt of the errors of the two through fixtures that puts their
/// crossover at `device`, for errors in proportion to the reading: k = |z|·|2z + 1|/|z + 2|.
/// `None` at an open, a short and the poles of active parts.
pub fn relative_error_ratio_for_crossover(
    device: Immittance,
    z0: crate::ReferenceImpedance,
) -> Option<f64> {
    let reading = |fixture: Fixture| fixture.reading(device, z0).value().map(|s| s.norm());
    let shunt =
        Fixture::ShuntThrough.relative_sensitivity(device, z0) * reading(Fixture::ShuntThrough)?;
    let series =
        Fixture::SeriesThrough.relative_sensitivity(device, z0) * reading(Fixture::SeriesThrough)?;
    let k = shunt / series;
    (k.is_finite() && k > 0.0).then_some(k)
}

/// The same ratio for errors that don't depend on the reading: k = |2z + 1|²/|z + 2|², between
/// ¼ and 4 for a passive part. `None` at the poles of active parts.
pub fn absolute_error_ratio_for_crossover(
    device: Immittance,
    z0: crate::ReferenceImpedance,
) -> Option<f64> {
    let z0 = z0.ohm();
    let size = |fixture: Fixture| fixture.weighted_sum(device.v(), device.i(), z0).norm_sqr();
    let k = size(Fixture::ShuntThrough) / size(Fixture::SeriesThrough);
    (k.is_finite() && k > 0.0).then_some(k)
}

/// The kind of change that a fixture is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct WantedChange {
    /// Along what the impedance changes.
    pub direction: Direction,
    /// True for an increase, false for a decrease.
    pub increase: bool,
    /// True where the part is exchanged for another, false where it stays connected.
    pub swapped: bool,
}

impl Default for WantedChange {
    /// An increase of |Z|, in place.
    fn default() -> Self {
        Self {
            direction: Direction::Magnitude,
            increase: true,
            swapped: false,
        }
    }
}

impl Budget {
    /// Least resolvable change of a kind, as a positive part of |Z|; infinite where none shows.
    fn least_change(&self, fixture: Fixture, device: Immittance, wanted: WantedChange) -> f64 {
        let change = self
            .resolvable(fixture, device, wanted.direction, wanted.swapped)
            .and_then(|both| {
                if wanted.increase {
                    both.increase.value()
                } else {
                    both.decrease.value()
                }
            });
        change.map_or(f64::INFINITY, f64::abs)
    }

    /// The fixture that shows the smallest change. `None` where no fixture shows any.
    pub fn best_for_change(&self, device: Immittance, wanted: WantedChange) -> Option<Fixture> {
        Fixture::ALL
            .into_iter()
            .map(|fixture| (fixture, self.least_change(fixture, device, wanted)))
            .filter(|(_, change)| change.is_finite())
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(fixture, _)| fixture)
    }

    /// Every |Z| from 1 mΩ to 100 MΩ at which two fixtures show the same least change along the
    /// phase `angle_rad`, pair by pair and rising. Where a fixture ceases to show any change,
    /// that is a crossover with every fixture that still does, if it was better before.
    pub fn change_crossovers(&self, angle_rad: f64, wanted: WantedChange) -> Vec<Crossover> {
        const STEPS_PER_DECADE: usize = 60;
        const DECADES: usize = 11;
        let changes = |log_ohm: f64| {
            let part = device_at(10f64.powf(log_ohm), angle_rad);
            Fixture::ALL.map(|fixture| {
                part.map_or(f64::INFINITY, |part| {
                    self.least_change(fixture, part, wanted)
                })
            })
        };
        let grid: Vec<(f64, [f64; 3])> = (0..=STEPS_PER_DECADE * DECADES)
            .map(|k| -3.0 + k as f64 / STEPS_PER_DECADE as f64)
            .map(|log_ohm| (log_ohm, changes(log_ohm)))
            .collect();
        let mut found = Vec::new();
        for between in PAIRS {
            let better = |all: &[f64; 3]| {
                let [a, b] = between.map(|fixture| all[fixture as usize]);
                a.partial_cmp(&b).filter(|order| order.is_ne())
            };
            let mut last = None;
            for (log_ohm, all) in &grid {
                let now = better(all);
                if let (Some((low, order)), Some(next)) = (last, now)
                    && next != order
                {
                    let edge = bisect(low, *log_ohm, |x| better(&changes(x)) == Some(order));
                    let there = changes(edge);
                    let ohm = 10f64.powf(edge);
                    let third = Fixture::ALL
                        .into_iter()
                        .filter(|fixture| !between.contains(fixture))
                        .map(|fixture| there[fixture as usize])
                        .fold(f64::INFINITY, f64::min);
                    let worse = between
                        .map(|fixture| there[fixture as usize])
                        .into_iter()
                        .fold(f64::INFINITY, f64::min);
                    found.push(Crossover {
                        between,
                        ohm,
                        swr: device_at(ohm, angle_rad)
                            .and_then(|part| Reflection::of(part, self.z0).swr()),
                        best: third >= worse,
                    });
                }
                if let Some(order) = now {
                    last = Some((*log_ohm, order));
                }
            }
        }
        found
    }
}

/// Where `holds`, true at `low` and false at `high`, changes.
fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
