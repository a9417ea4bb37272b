//! `reduced WHAT FOLDER`: a shipped measurement, reduced when the book is built. The body says
//! how, a line each: `part FILE FIXTURE`, `calibration FILE`, `blank FILE`, `instrument NAME`,
//! `at FREQUENCY`.

mod causes;
mod magnitude;
mod measured;
mod tables;

use maud::Markup;

use self::measured::{Measured, not_among};
use crate::block::{Block, BlockError};

type Shown = fn(&Block<'_>, &Measured) -> Result<Markup, BlockError>;

/// What can be shown of a reduction.
const WHAT: [(&str, Shown); 6] = [
    ("steps", tables::steps),
    ("magnitude", magnitude::magnitude),
    ("fit", tables::fit),
    ("stated", tables::stated),
    ("apparent", tables::apparent),
    ("causes", causes::causes),
];

pub(crate) fn reduced(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [what, folder] = block.words[..] else {
        return Err(block.error("expected reduced WHAT FOLDER, as in reduced steps choke"));
    };
    let Some((_, shown)) = WHAT.iter().find(|(name, _)| *name == what) else {
        let known = WHAT.map(|(name, _)| name);
        return Err(block.error(not_among(
            what,
            "nothing that is shown of a reduction",
            &known,
        )));
    };
    shown(block, &Measured::of(block, folder)?)
}
