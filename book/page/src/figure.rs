use jigwise_bench::scene::{
    self, ChartFrame, ChartKind, Dash, Ink, MapAim, MapFigure, Mark, RuleFrame, RuleLook, Scene,
    Stroke, Ticks,
};
use jigwise_bench::words::{USUAL_WANTED, fixture_connection, fixture_key, fixture_title};
use jigwise_bench::{Bench, Fixture, ReferenceImpedance, Scenario, ScenarioError};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::grip::Grip;
use crate::markup::{figure, layered_figure, moving_figure, row_of, svg};
use crate::weighed::Weighed;

/// Large enough for a label at every circle.
const CHART_SIZE: [f64; 2] = [370.0, 370.0];
const MAP_SIZE: [f64; 2] = [440.0, 380.0];
const RULE_WIDTH: f64 = 640.0;

/// `circuit FIXTURE`.
pub(crate) fn circuit(block: &Block<'_>) -> Result<Markup, BlockError> {
    match block.words[..] {
        [fixture] => Ok(of_fixture(block.fixture(fixture)?, &block.id)),
        _ => Err(block.error("expected circuit FIXTURE, as in circuit reflect")),
    }
}

/// `chart SCENARIO`.
pub(crate) fn chart(block: &Block<'_>) -> Result<Markup, BlockError> {
    match block.words[..] {
        [name] => {
            of_scenario(&block.scenario(name)?, &block.id).map_err(|error| block.error(error))
        }
        _ => Err(block.error("expected chart SCENARIO, as in chart dipole-feed")),
    }
}

/// `map value SCENARIO` or `map change SCENARIO`: the best fixture all over the chart.
pub(crate) fn map(block: &Block<'_>) -> Result<Markup, BlockError> {
    let expected = "expected map value SCENARIO or map change SCENARIO";
    let (aim, name) = match block.words[..] {
        ["value", name] => (MapAim::BestForValue, name),
        ["change", name] => (MapAim::BestForChange, name),
        _ => return Err(block.error(expected)),
    };
    let seen = Weighed::new(block, name)?;
    let map = MapFigure {
        frame: chart_frame(true, seen.scenario.reference),
        aim,
        instrument: &seen.instrument.name,
    };
    let still = if block.has_still_layers {
        Vec::new()
    } else {
        let still = map.still(&seen.bench);
        still.ok_or_else(|| block.error(expected))?
    };
    let part = map.part(&seen.bench);
    let grip = Grip::Map;
    Ok(layered_figure(&still, &part, &block.id, grip, &seen.bench))
}

/// `rule SCENARIO`: the scale of ohms with a lane for each fixture.
pub(crate) fn rule(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected rule SCENARIO, as in rule dipole-feed"));
    };
    let seen = Weighed::new(block, name)?;
    let scene = rule_frame(seen.scenario.reference).scene(&seen.bench, &Ticks::NONE);
    Ok(moving_figure(&scene, &block.id, Grip::Rule, &seen.bench))
}

pub(crate) fn rule_frame(reference: ReferenceImpedance) -> RuleFrame {
    RuleFrame {
        width: RULE_WIDTH,
        reference,
        wanted: USUAL_WANTED,
        look: RuleLook {
            right: 24.0,
            has_legend: false,
            ..RuleLook::WINDOW
        },
    }
}

/// The frame of a chart, or of a map.
pub(crate) fn chart_frame(is_map: bool, reference: ReferenceImpedance) -> ChartFrame {
    ChartFrame {
        kind: ChartKind::Reflection,
        size: if is_map { MAP_SIZE } else { CHART_SIZE },
        reference,
        is_bare: false,
    }
}

/// `signs`: the sign and line of each fixture.
pub(crate) fn signs(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected signs and nothing more")?;
    let head = ["Fixture", "Sign", "Line", "Where the part sits"];
    Ok(html! {
        div.jw-table {
            table.jw-signs {
                caption { "The signs and lines of the three fixtures" }
                thead { tr { @for text in head { th scope="col" { (text) } } } }
                tbody {
                    @for fixture in Fixture::ALL {
                        @let id = format!("{}-{}", block.id, fixture_key(fixture));
                        (row_of(fixture_title(fixture), html! {
                            td { (svg(&sign(fixture), &format!("{id}-sign"))) }
                            td { (svg(&line(fixture), &format!("{id}-line"))) }
                            td { (fixture_connection(fixture)) }
                        }))
                    }
                }
            }
        }
    })
}

/// The sign of a fixture.
pub(crate) fn sign(fixture: Fixture) -> Scene {
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

/// The circuit of a fixture.
pub(crate) fn of_fixture(fixture: Fixture, id: &str) -> Markup {
    figure(&scene::circuit(fixture), id)
}

/// The circuit of a fixture without its caption, for a table that has its own words.
pub(crate) fn drawing_of(fixture: Fixture, id: &str) -> Markup {
    svg(&scene::circuit(fixture), id)
}

/// The reflection chart with the scenario's device on it.
pub(crate) fn of_scenario(scenario: &Scenario, id: &str) -> Result<Markup, ScenarioError> {
    let bench = Bench::new(scenario)?;
    let scene = scene::chart(&bench.readout(), ChartKind::Reflection, CHART_SIZE);
    Ok(moving_figure(&scene, id, Grip::Chart, &bench))
}
