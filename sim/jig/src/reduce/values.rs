//! Values of a circuit, and why there are none, as text and JSON.

use std::io::Write;

use jigwise_physics::Extracted;
use serde::Serialize;

use crate::CommandError;
use jigwise_quantity::{engineering, fixed};
use jigwise_reduce::{
    COVERAGE_FACTOR, Findings, model_key, not_fitted, not_told, upper_bound, value_words,
};

pub(super) fn write_text(findings: &Findings, out: &mut dyn Write) -> Result<(), CommandError> {
    writeln!(out, "{}", findings.why)?;
    if let Some((_, values)) = findings.values() {
        for value in values.distinct() {
            writeln!(
                out,
                "  {} = {}",
                value.quantity.symbol(),
                value_words(value, findings.has_budget)
            )?;
        }
        for refused in not_told(values) {
            writeln!(out, "  {refused}")?;
        }
        writeln!(
            out,
            "±: k = {}, about 95 %{}",
            fixed(COVERAGE_FACTOR, 0),
            behind(findings)
        )?;
    } else {
        for why in not_fitted(findings, |model| model_key(model).to_owned()) {
            writeln!(out, "  {why}")?;
        }
    }
    if let Some(change) = findings.change_of_kind() {
        writeln!(out, "{change}")?;
    }
    Ok(())
}

/// What the uncertainties rest on.
fn behind(findings: &Findings) -> &'static str {
    if findings.has_budget {
        ""
    } else {
        ", from the scatter of the readings alone; name the --instrument for all of it"
    }
}

/// What the sweep says of the part.
#[derive(Serialize)]
pub(super) struct ValuesJson {
    model: Option<&'static str>,
    why: String,
    has_instrument: bool,
    values: Vec<ValueJson>,
    refused: Vec<RefusedJson>,
    p: Option<f64>,
    self_resonance_hz: Option<f64>,
    u_self_resonance_hz: Option<f64>,
    change_of_kind: Option<String>,
    spots: Vec<SpotJson>,
}

#[derive(Serialize)]
struct ValueJson {
    quantity: &'static str,
    unit: &'static str,
    value: f64,
    /// k = 1.
    u: f64,
    /// What it is below at 95 %, where value ± 2·u holds zero and there is an instrument.
    upper_bound: Option<f64>,
}

#[derive(Serialize)]
struct RefusedJson {
    what: String,
    why: String,
}

#[derive(Serialize)]
struct SpotJson {
    freq_hz: f64,
    values: Vec<ValueJson>,
    refused: Vec<RefusedJson>,
}

fn values(found: &Extracted, has_budget: bool) -> Vec<ValueJson> {
    found
        .values
        .iter()
        .map(|value| ValueJson {
            quantity: value.quantity.symbol(),
            unit: value.quantity.unit(),
            value: value.value,
            u: value.u,
            upper_bound: upper_bound(value, has_budget),
        })
        .collect()
}

fn refused(found: &Extracted) -> impl Iterator<Item = RefusedJson> {
    found.refused.iter().map(|refused| RefusedJson {
        what: refused.quantity.symbol().to_owned(),
        why: refused.why.to_string(),
    })
}

impl ValuesJson {
    pub(super) fn of(findings: &Findings) -> Self {
        let chosen = findings.values();
        let resonance = findings.self_resonance();
        let no_fit = findings.tried.iter().filter_map(|(model, found)| {
            Some(RefusedJson {
                what: model_key(*model).to_owned(),
                why: found.as_ref().err()?.to_string(),
            })
        });
        let spots = findings.spots.iter().map(|(freq_hz, found)| SpotJson {
            freq_hz: *freq_hz,
            values: found
                .as_ref()
                .map_or(Vec::new(), |found| values(found, findings.has_budget)),
            refused: match found {
                Ok(found) => refused(found).collect(),
                Err(error) => vec![RefusedJson {
                    what: engineering(*freq_hz, "Hz", 6),
                    why: error.to_string(),
                }],
            },
        });
        Self {
            model: chosen.map(|(model, _)| model_key(model)),
            why: findings.why.clone(),
            has_instrument: findings.has_budget,
            values: chosen.map_or(Vec::new(), |(_, found)| values(found, findings.has_budget)),
            refused: match chosen {
                Some((_, found)) => refused(found).collect(),
                None => no_fit.collect(),
            },
            p: chosen.and_then(|(_, found)| found.goodness?.p),
            self_resonance_hz: resonance.map(|value| value.value),
            u_self_resonance_hz: resonance.map(|value| value.u),
            change_of_kind: findings.change_of_kind(),
            spots: spots.collect(),
        }
    }
}
