//! Scenarios that a block lists in its body, one a line.

use jigwise_bench::{Bench, Immittance, Readout, Scenario, complex_ohm, engineering};

use crate::block::{Block, BlockError};
use crate::words::{NONE, part};

/// Digits of ohms got back.
pub(crate) const DIGITS: usize = 4;
/// Below this share of the part its ohms are called right, and an imaginary part nothing.
pub(crate) const RIGHT: f64 = 5e-6;
/// Between a scenario and the words that stand for it in its row.
const LABELLED: char = '|';

/// A scenario of the body with the words for its row.
pub(crate) struct Listed {
    pub(crate) label: String,
    pub(crate) scenario: Scenario,
    pub(crate) bench: Bench,
    pub(crate) readout: Readout,
}

impl Listed {
    /// All of a block's; there is at least one.
    pub(crate) fn all(block: &Block<'_>) -> Result<Vec<Self>, BlockError> {
        let mut listed = Vec::new();
        for (index, line) in block.lines() {
            let (name, label) = match line.split_once(LABELLED) {
                Some((name, label)) => (name.trim(), Some(label.trim())),
                None => (line, None),
            };
            let (scenario, bench) = block.listed(index, name)?;
            let label = label.or(scenario.title.as_deref()).unwrap_or(name);
            listed.push(Self {
                label: label.to_owned(),
                readout: bench.readout(),
                scenario,
                bench,
            });
        }
        if listed.is_empty() {
            return Err(block.error("no scenario to show; name some, one a line"));
        }
        Ok(listed)
    }

    /// The part in words.
    pub(crate) fn part(&self) -> String {
        match self.bench.device().impedance() {
            Some(z) if self.scenario.device.fixed_ohm().is_some() && z.im != 0.0 => {
                complex_ohm(z, 2)
            }
            _ => part(&self.scenario.device),
        }
    }
}

/// Ohms got back, a resistance without what rounding leaves of a reactance.
pub(crate) fn ohms(device: Option<Immittance>) -> String {
    match device {
        Some(device) if device.is_open() => "an open".to_owned(),
        Some(device) => device.impedance().map_or(NONE.to_owned(), |z| {
            if z.im.abs() < RIGHT * z.norm() {
                engineering(z.re, "Ω", DIGITS)
            } else {
                complex_ohm(z, DIGITS)
            }
        }),
        None => NONE.to_owned(),
    }
}
