//! The bench card: how far a group's instrument can be trusted, by the size of the part.

use jigwise_bench::words::fixture_title;
use jigwise_bench::{Bench, Complex64, Device, Fixture, Scenario, engineering};
use maud::{Markup, html};

use crate::claim::{NORMAL_95, TOLD_WITHIN};

/// Sizes at which the card has a row, in each decade.
const STEPS: [f64; 3] = [1.0, 2.0, 5.0];

/// A row: |Z| and, by fixture, half the 95 % interval of R as a part of it; `None` where that is
/// more than half.
pub(crate) struct Row {
    pub(crate) ohm: f64,
    pub(crate) shares: [Option<f64>; 3],
}

/// The rows for resistors, or for reactances.
pub(crate) fn rows(scenario: &Scenario, is_reactance: bool) -> Vec<Row> {
    let decades = -1..=5;
    decades
        .flat_map(|decade| STEPS.map(|step| step * 10f64.powi(decade)))
        .map(|ohm| Row {
            ohm,
            shares: Fixture::ALL.map(|fixture| {
                share(scenario, fixture, ohm, is_reactance).filter(|share| *share <= TOLD_WITHIN)
            }),
        })
        .collect()
}

/// Half the 95 % interval of R, or of X, as a part of it.
pub(crate) fn share(
    scenario: &Scenario,
    fixture: Fixture,
    ohm: f64,
    is_reactance: bool,
) -> Option<f64> {
    let z = match is_reactance {
        true => Complex64::new(0.0, ohm),
        false => Complex64::new(ohm, 0.0),
    };
    let bench = Bench::new(&Scenario {
        device: Device::Fixed(z),
        calibration: trusted(scenario),
        ..scenario.clone()
    })
    .ok()?;
    let scatter = bench
        .budget()?
        .impedance_covariance(fixture, bench.device())?;
    let variance = if is_reactance { scatter.im } else { scatter.re };
    Some(NORMAL_95 * variance.sqrt() / ohm)
}

/// The calibration as it should be: a card doesn't know what went wrong.
fn trusted(scenario: &Scenario) -> Option<jigwise_bench::CalibrationPlan> {
    let plan = scenario.calibration.as_ref()?;
    let mut good = jigwise_bench::CalibrationPlan::new(plan.method, scenario.reference);
    good.front_end = plan.front_end;
    Some(good)
}

/// The card as two tables.
pub(crate) fn tables(scenario: &Scenario) -> Markup {
    html! {
        div.cards {
            (table("Resistors, ± of R", &rows(scenario, false)))
            (table("Coils and capacitors, ± of X", &rows(scenario, true)))
        }
    }
}

fn table(title: &str, rows: &[Row]) -> Markup {
    // One row of dashes stands for all that would follow.
    let last = rows
        .iter()
        .rposition(|row| row.shares.iter().any(Option::is_some));
    let shown = last.map_or(rows.len(), |last| (last + 2).min(rows.len()));
    html! {
        table.card {
            caption { (title) }
            thead {
                tr {
                    th scope="col" { "About" }
                    @for fixture in Fixture::ALL { th scope="col" { (fixture_title(fixture)) } }
                }
            }
            tbody {
                @for row in &rows[..shown] {
                    tr {
                        th scope="row" { (engineering(row.ohm, "Ω", 1)) }
                        @for share in row.shares { td { (cell(share)) } }
                    }
                }
            }
        }
    }
}

fn cell(share: Option<f64>) -> String {
    match share {
        Some(share) => jigwise_bench::words::short_percent(share),
        None => "–".to_owned(),
    }
}
