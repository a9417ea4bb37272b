use jigwise_reduce::report::{Gatherer, figures};
use jigwise_reduce::{Ensemble, ReduceError};
use maud::Markup;

use super::measured::Measured;
use crate::block::{Block, BlockError};
use crate::markup::figure;
use crate::words::capital;

/// The report's figure of |Z|, with its band and the circuit through it.
pub(crate) fn magnitude(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    let reducer = measured.reducer(block, &measured.recipe)?;
    let ensemble = Ensemble::new(vec![reducer]).map_err(|error| block.error(error))?;
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
    let gathered = gatherer.finish();
    let findings = measured.findings(block)?;
    let Some(found) = figures(&gathered, Some(&findings))
        .into_iter()
        .find(|f| f.name == "magnitude")
    else {
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
