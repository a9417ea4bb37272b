use jigwise_bench::scene::{self, ChartKind, Dash, Ink, Mark, Scene, Stroke};
use jigwise_bench::words::{fixture_connection, fixture_key, fixture_title};
use jigwise_bench::{Bench, Fixture, Scenario};

use super::Block;
use crate::page::{PageError, escaped};

/// Large enough for a label at every circle.
const CHART_SIZE: [f64; 2] = [370.0, 370.0];

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

/// `signs`: the sign and line of each fixture.
pub(super) fn signs(block: &Block<'_>) -> Result<String, PageError> {
    if !block.words.is_empty() {
        return Err(block.error("expected signs and nothing more"));
    }
    let rows: String = Fixture::ALL
        .into_iter()
        .map(|fixture| {
            let id = format!("{}-{}", block.id, fixture_key(fixture));
            let (sign, line) = (sign(fixture), line(fixture));
            format!(
                "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td></tr>",
                fixture_title(fixture),
                scene::svg(&sign, &format!("{id}-sign")),
                scene::svg(&line, &format!("{id}-line")),
                fixture_connection(fixture),
            )
        })
        .collect();
    Ok(format!(
        "<div class=\"jw-table\"><table class=\"jw-signs\"><thead><tr><th scope=\"col\">Fixture\
         </th><th scope=\"col\">Sign</th><th scope=\"col\">Line</th><th scope=\"col\">Where the \
         part sits</th></tr></thead><tbody>{rows}</tbody></table></div>"
    ))
}

/// The sign of a fixture.
pub(super) fn sign(fixture: Fixture) -> Scene {
    const SIDE: f64 = 24.0;
    let title = match fixture {
        Fixture::Reflect => "Half-disc",
        Fixture::ShuntThrough => "Upright bar",
        Fixture::SeriesThrough => "Lying bar",
    };
    let mark = scene::sign(fixture, [SIDE / 2.0, SIDE / 2.0], SIDE * 0.7);
    stands_for(fixture, [SIDE, SIDE], title, mark)
}

/// The line of a fixture.
fn line(fixture: Fixture) -> Scene {
    const SIZE: [f64; 2] = [90.0, 24.0];
    let title = match fixture {
        Fixture::Reflect => "Solid line",
        Fixture::ShuntThrough => "Long dashes",
        Fixture::SeriesThrough => "Dots in pairs",
    };
    let middle = SIZE[1] / 2.0;
    let mark = Mark::Line {
        points: vec![[2.0, middle], [SIZE[0] - 2.0, middle]],
        stroke: Stroke {
            ink: Ink::Fixture(fixture),
            width: 2.5,
            dash: Dash::of(fixture),
        },
    };
    stands_for(fixture, SIZE, title, mark)
}

fn stands_for(fixture: Fixture, size: [f64; 2], title: &str, mark: Mark) -> Scene {
    Scene {
        size,
        title: title.to_owned(),
        description: format!("Stands for {}.", fixture_key(fixture)),
        marks: vec![mark],
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
pub(super) fn figure(scene: &Scene, id: &str) -> String {
    format!(
        "<figure class=\"jw\" style=\"--jw-width:{}px\">{}<figcaption>{}</figcaption></figure>",
        scene.size[0],
        scene::svg(scene, id),
        escaped(&scene.description)
    )
}
