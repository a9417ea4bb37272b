use jigwise_bench::scene::{self, ChartKind, Scene};
use jigwise_bench::{Bench, Fixture, Scenario};

use super::Block;
use crate::page::{PageError, escaped};

const CHART_SIZE: [f64; 2] = [360.0, 360.0];

/// `circuit FIXTURE`.
pub(super) fn circuit(block: &Block<'_>) -> Result<String, PageError> {
    match block.words[..] {
        [fixture] => Ok(of_fixture(block.fixture(fixture)?, &block.id)),
        _ => Err(block.error("expected circuit FIXTURE, as in circuit reflect")),
    }
}

/// `chart SCENARIO`.
pub(super) fn chart(block: &Block<'_>) -> Result<String, PageError> {
    match block.words[..] {
        [name] => {
            of_scenario(&block.scenario(name)?, &block.id).map_err(|error| block.error(error))
        }
        _ => Err(block.error("expected chart SCENARIO, as in chart dipole-feed")),
    }
}

pub(super) fn of_fixture(fixture: Fixture, id: &str) -> String {
    figure(&scene::circuit(fixture), id)
}

pub(super) fn of_scenario(
    scenario: &Scenario,
    id: &str,
) -> Result<String, jigwise_bench::ScenarioError> {
    let readout = Bench::new(scenario)?.readout();
    Ok(figure(
        &scene::chart(&readout, ChartKind::Reflection, CHART_SIZE),
        id,
    ))
}

/// The picture with its description in sight: what a screen reader hears, everyone reads.
fn figure(scene: &Scene, id: &str) -> String {
    format!(
        "<figure class=\"jw\" style=\"--jw-width:{}px\">{}<figcaption>{}</figcaption></figure>",
        scene.size[0],
        scene::svg(scene, id),
        escaped(&scene.description)
    )
}
