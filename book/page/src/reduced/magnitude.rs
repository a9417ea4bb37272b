use jigwise_reduce::report::{Gatherer, Report, Subject, SubjectFile, figures};
use jigwise_reduce::{Ensemble, ReduceError};
use maud::Markup;

use super::measured::Measured;
use crate::block::{Block, BlockError};
use crate::markup::figure;
use crate::words::capital;

/// The report's figure of |Z|, with its band and the circuit through it.
pub(crate) fn magnitude(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    let reducer = measured.reducer(block, &measured.recipe)?;
    let ensemble = Ensemble::new(vec![reducer], measured.recipe.budget.as_ref())
        .map_err(|error| block.error(error))?;
    let mut gatherer = Gatherer::new(&ensemble);
    ensemble
        .each(
            |point| {
                gatherer.take(point);
                Ok::<(), ReduceError>(())
            },
            |_| {},
        )
        .map_err(|error| block.error(error))?;
    let report = Report {
        subject: Subject {
            part: measured.name.clone(),
            files: vec![SubjectFile {
                name: measured.name.clone(),
                fixture: measured.fixture,
                comments: Vec::new(),
            }],
            reference: ensemble.reference(),
            instrument: None,
            correction: Vec::new(),
            beside: Vec::new(),
            remarks: Vec::new(),
            left_out: Vec::new(),
            made: None,
            has_blanks: !measured.recipe.blanks.is_empty(),
        },
        gathered: gatherer.finish(),
        findings: Ok(measured.findings(block)?),
    };
    let Some(found) = figures(&report).into_iter().find(|f| f.name == "magnitude") else {
        return Err(block.error("the report has no figure of |Z|; name another"));
    };
    let mut scene = found.scene;
    scene.description = format!(
        "{} {}.",
        found.caption,
        capital(&measured.instrument_words())
    );
    Ok(figure(&scene, &block.id))
}
