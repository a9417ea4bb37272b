//! `clouds FIXTURE SCENARIO` or `clouds all SCENARIO`, then the numbers of calibrations where
//! it is not to be the perfect one.

use jigwise_bench::Fixture;
use jigwise_bench::scene;
use jigwise_bench::words::{fixture_key, fixture_title, sigma, verdict};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::calibrations::{PERFECT, calibration_number};
use crate::figure;
use crate::markup::{svg, width};
use crate::weighed::Weighed;
use crate::words::tied;

const CLOUD_SIZE: [f64; 2] = [230.0, 190.0];
const CLOUD_TYPE: f64 = 14.0;
const RULER_SIZE: [f64; 2] = [420.0, 64.0];

pub(crate) fn clouds(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [fixture, name, ref numbers @ ..] = block.words[..] else {
        return Err(block.error(
            "expected clouds FIXTURE SCENARIO, or clouds all SCENARIO, as in clouds all \
             anode-resistor",
        ));
    };
    let calibrations = numbers
        .iter()
        .map(|number| calibration_number(block, number))
        .collect::<Result<Vec<u64>, BlockError>>()?;
    let numbers = if calibrations.is_empty() {
        &[PERFECT][..]
    } else {
        &calibrations
    };
    let fixtures = if fixture == "all" {
        Fixture::ALL.to_vec()
    } else {
        vec![block.fixture(fixture)?]
    };
    let seen = Weighed::new(block, name)?;
    let scale = scene::CloudScale::of(fixtures.iter().filter_map(|fixture| {
        let seen = seen.readout.appraisal_of(*fixture)?;
        seen.separation_sigma
    }));
    let clouds = fixtures
        .iter()
        .flat_map(|fixture| numbers.iter().map(move |number| (*fixture, *number)))
        .map(|(fixture, number)| one_cloud(block, &seen, name, fixture, number, scale))
        .collect::<Result<Vec<_>, _>>()?;
    let ruler = (fixtures.len() > 1).then(|| scene::sigma_ruler(&seen.readout, RULER_SIZE));
    let mut caption = seen.setting();
    if !calibrations.is_empty() {
        caption.push_str(" The cross is where a perfect calibration would read the part as it is.");
    }
    caption.push_str(" Filled: the part as it is. Hollow: the part changed.");
    if let Some(ruler) = &ruler {
        caption.push_str(&format!(" Below, all on one ruler. {}", ruler.description));
    }
    Ok(html! {
        figure.jw.wide[clouds.len() > 1] style=(width(CLOUD_SIZE[0])) {
            div.jw-clouds { @for cloud in &clouds { (cloud) } }
            @if let Some(ruler) = &ruler {
                div.jw-ruler { (svg(ruler, &format!("{}-ruler", block.id))) }
            }
            figcaption { (tied(&caption)) }
        }
    })
}

fn one_cloud(
    block: &Block<'_>,
    seen: &Weighed,
    name: &str,
    fixture: Fixture,
    number: u64,
    scale: scene::CloudScale,
) -> Result<Markup, BlockError> {
    let clouds = seen
        .bench
        .clouds(fixture, &seen.bench.calibration(number))
        .ok_or_else(|| {
            block.error(format!(
                "scenario \"{name}\" has no clouds in {}: no reading, or a nudge that means \
                 nothing there",
                fixture_key(fixture)
            ))
        })?;
    let appraisal = seen.readout.appraisal_of(fixture);
    let (separation_sigma, said) = match appraisal {
        Some(appraisal) if number == PERFECT => (
            appraisal
                .separation_sigma
                .unwrap_or(clouds.separation_sigma),
            tied(&verdict(appraisal)),
        ),
        // As in the table of calibrations.
        _ => (
            clouds.separation_sigma,
            format!(
                "calibration {number}, {}\u{202f}σ apart",
                sigma(clouds.separation_sigma)
            ),
        ),
    };
    let glide = scene::Glide::of(&clouds);
    let picture = scene::cloud(
        &clouds,
        separation_sigma,
        scale,
        glide,
        CLOUD_SIZE,
        CLOUD_TYPE,
    );
    let id = format!("{}-{}-{number}", block.id, fixture_key(fixture));
    Ok(html! {
        div.jw-cloud {
            p {
                (svg(&figure::sign(fixture), &format!("{id}-sign")))
                strong { (fixture_title(fixture)) }
                ": " (said)
            }
            (svg(&picture, &id))
        }
    })
}
