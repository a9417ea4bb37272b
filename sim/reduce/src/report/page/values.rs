//! What the sweep says of the part.

use jigwise_physics::{ExtractError, Extracted};
use jigwise_quantity::{engineering, fixed};
use maud::{Markup, html};

use super::{list, paragraph, refused, sentence};
use crate::report::Report;
use crate::{COVERAGE_FACTOR, Findings, RESIDUALS_ARE_CONSTANT, not_fitted, not_told, value_words};

pub(super) fn section(report: &Report) -> Markup {
    let inside = match &report.findings {
        Ok(findings) => found(findings),
        Err(refusal) => refused(refusal),
    };
    super::section("values", "What the sweep says of the part", &inside)
}

fn found(findings: &Findings) -> Markup {
    html! {
        @match findings.values() {
            Some((_, values)) => {
                (paragraph(&findings.why))
                (extracted(values, findings.has_budget))
                @if let Some(goodness) = goodness(values) { (paragraph(&goodness)) }
            }
            None => { (refused(&findings.why)) }
        }
        @if let Some(change) = findings.change_of_kind() { (refused(&change)) }
        @for (freq_hz, found) in findings.spots.iter().filter(|spot| is_told(findings, spot)) {
            h3 { "At " (engineering(*freq_hz, "Hz", 5)) } "\n"
            @match found {
                Ok(values) => { (extracted(values, findings.has_budget)) }
                Err(error) => { (refused(&sentence(&error.to_string()))) }
            }
        }
        (paragraph(&behind(findings)))
        @if findings.chosen.is_none() { (circuits_tried(findings)) }
    }
}

/// False where the sentence about the change of kind has said it.
fn is_told(findings: &Findings, (_, found): &(f64, Result<Extracted, ExtractError>)) -> bool {
    let is_change = matches!(found, Err(ExtractError::ChangedKind { .. }));
    !(is_change && findings.change_of_kind().is_some())
}

/// What the uncertainties are made of.
fn behind(findings: &Findings) -> String {
    let k = fixed(COVERAGE_FACTOR, 0);
    if findings.has_budget {
        format!(
            "± is U = k·u with k = {k}, about 95 % coverage of each value by itself. u holds the \
             noise of every point and what the calibration leaves, which moves all points together."
        )
    } else {
        format!(
            "± is U = k·u with k = {k}, from the scatter of the readings about the circuit alone. \
             What the calibration leaves is not in it: no uncertainty of the readings is known. \
             Name the instrument with --instrument (a preset, or a file with an [instrument] \
             table) to get it."
        )
    }
}

fn circuits_tried(findings: &Findings) -> Markup {
    let refusals: Vec<String> = not_fitted(findings, |model| model.words().to_owned())
        .into_iter()
        .map(|why| format!("As {why}."))
        .collect();
    html! {
        @if !refusals.is_empty() {
            h3 { "Circuits that were tried" } "\n"
            (list(&refusals))
        }
    }
}

fn extracted(found: &Extracted, has_budget: bool) -> Markup {
    let not_told = not_told(found);
    html! {
        @if !found.values.is_empty() {
            dl class="values" { "\n"
                @for value in found.distinct() {
                    dt { (value.quantity.symbol()) }
                    dd { (value_words(value, has_budget)) } "\n"
                }
            } "\n"
        }
        @if !not_told.is_empty() {
            p { "Not told by this sweep:" } "\n"
            (list(&not_told))
        }
    }
}

fn goodness(found: &Extracted) -> Option<String> {
    let goodness = found.goodness?;
    Some(format!(
        "How well the circuit follows: χ² {} with {} degrees of freedom, p {}; the largest miss \
         is {} at {}. {RESIDUALS_ARE_CONSTANT}",
        fixed(goodness.chi_square, 1),
        goodness.degrees_of_freedom,
        fixed(goodness.p?, 3),
        engineering(goodness.worst_ohm, "Ω", 2),
        engineering(goodness.worst_hz, "Hz", 4)
    ))
}
