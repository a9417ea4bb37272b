//! The impedance of a part over a sweep, and what the fixtures give back of it.

use jigwise_physics::{Complex64, Fixture, Immittance};

use crate::readout::Bench;
use crate::scenario::{Scenario, ScenarioError, SweepPlan};

/// How an extreme is looked for between two points: rounds, each in so many pieces.
const ROUNDS: usize = 5;
const PIECES: usize = 20;

/// Impedances over a sweep, one of each row for each frequency; `None` for an open.
#[derive(Debug, Clone)]
pub(crate) struct Spectrum {
    /// The frequencies, Hz: those of the sweep, and those at which |Z| is least and most.
    pub(crate) freq_hz: Vec<f64>,
    /// The part itself, Ω.
    pub(crate) part_ohm: Vec<Option<Complex64>>,
    /// What each fixture gives back of it, Ω.
    pub(crate) got_back_ohm: Vec<(Fixture, Vec<Option<Complex64>>)>,
}

impl Spectrum {
    /// The scenario's part over `sweep`, in the fixtures named, without noise.
    pub(crate) fn of(
        scenario: &Scenario,
        sweep: &SweepPlan,
        fixtures: &[Fixture],
    ) -> Result<Self, ScenarioError> {
        let freq_hz = with_extremes(scenario, sweep.freq_hz())?;
        let mut part_ohm = Vec::with_capacity(freq_hz.len());
        let empty = |fixture: &Fixture| (*fixture, Vec::with_capacity(freq_hz.len()));
        let mut got_back_ohm: Vec<_> = fixtures.iter().map(empty).collect();
        let mut at = Scenario {
            sweep: None,
            instrument: None,
            ..scenario.clone()
        };
        for hz in &freq_hz {
            at.freq_hz = Some(*hz);
            let readout = Bench::new(&at)?.readout();
            part_ohm.push(readout.device.impedance());
            for (fixture, row) in &mut got_back_ohm {
                let got_back = readout.of(*fixture).got_back;
                row.push(got_back.and_then(Immittance::impedance));
            }
        }
        Ok(Self {
            freq_hz,
            part_ohm,
            got_back_ohm,
        })
    }

    /// Least and greatest |Z| of the part, Ω, each after its frequency in Hz. `None` for a part
    /// that is an open everywhere.
    pub(crate) fn extremes(&self) -> Option<[(f64, f64); 2]> {
        let sizes = || {
            let both = self.freq_hz.iter().zip(&self.part_ohm);
            both.filter_map(|(hz, z)| Some((*hz, z.as_ref()?.norm())))
        };
        // The first of equal ones in both cases.
        let least = sizes().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let most = sizes().min_by(|a, b| b.1.total_cmp(&a.1))?;
        Some([least, most])
    }

    /// The first frequency, Hz, at which what a fixture gives back leaves the part by more than
    /// `share` of its |Z|.
    pub(crate) fn leaves_at_hz(&self, row: &[Option<Complex64>], share: f64) -> Option<f64> {
        self.freq_hz
            .iter()
            .zip(row.iter().zip(&self.part_ohm))
            .filter_map(|(hz, (back, z))| Some((*hz, (*back)?, (*z)?)))
            .find(|(_, back, z)| (back - z).norm() > share * z.norm())
            .map(|(hz, ..)| hz)
    }
}

/// The frequencies with those between them at which |Z| is least and most: a resonance is often
/// sharper than the sweep is fine.
fn with_extremes(scenario: &Scenario, mut freq_hz: Vec<f64>) -> Result<Vec<f64>, ScenarioError> {
    let size = |hz: f64| -> Result<Option<f64>, ScenarioError> {
        let device = scenario.device.immittance(Some(hz));
        let device = device.map_err(|error| ScenarioError::of_device(scenario, error))?;
        Ok(device.impedance().map(|z| z.norm()))
    };
    let sizes = freq_hz
        .iter()
        .map(|hz| Ok(size(*hz)?.map(|ohm| (*hz, ohm))))
        .collect::<Result<Vec<_>, ScenarioError>>()?;
    let mut found = Vec::new();
    for sign in [1.0, -1.0] {
        let least = sizes
            .iter()
            .enumerate()
            .filter_map(|(k, point)| Some((k, (*point)?)))
            .min_by(|a, b| (sign * a.1.1).total_cmp(&(sign * b.1.1)));
        let Some((k, mut best)) = least.filter(|(k, _)| (1..freq_hz.len() - 1).contains(k)) else {
            continue;
        };
        let (before, after) = (freq_hz[k - 1], freq_hz[k + 1]);
        let (mut low, mut step) = (before, (after - before) / PIECES as f64);
        for _ in 0..ROUNDS {
            for piece in 0..=PIECES {
                let hz = (low + step * piece as f64).min(after);
                if let Some(ohm) = size(hz)?
                    && sign * ohm < sign * best.1
                {
                    best = (hz, ohm);
                }
            }
            low = (best.0 - step).max(before);
            step *= 2.0 / PIECES as f64;
        }
        found.push(best.0);
    }
    freq_hz.extend(found);
    freq_hz.sort_by(f64::total_cmp);
    freq_hz.dedup();
    Ok(freq_hz)
}
