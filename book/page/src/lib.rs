//! The book's computed blocks: from a scenario or a measurement to a piece of HTML.
//!
//! A [`Block`] is a fence with its words and its body; [`html`] computes what stands in its
//! place. This crate opens no file, asks no clock and starts no thread, so that a page in a
//! browser computes the same pieces as the press: sweeps come from a [`Measurements`] that the
//! caller gives.
//!
//! ```
//! use jigwise_page::{Block, NoMeasurements, html};
//!
//! let block = Block::new("circuit reflect", "", "figure-1", &NoMeasurements);
//! let figure = html(&block)?;
//! assert!(figure.starts_with("<figure"));
//!
//! let wrong = Block::new("ends reflect", "match\nno-such-part", "table-1", &NoMeasurements);
//! assert_eq!(html(&wrong).unwrap_err().line(), 2);
//! # Ok::<(), jigwise_page::BlockError>(())
//! ```

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod answer;
mod apparent;
mod averaged;
mod blank;
mod block;
mod borders;
mod by_hand;
mod calibrations;
mod card;
mod checks;
mod class;
mod clouds;
mod compare;
mod crossovers;
mod crystal;
mod discharge;
mod figure;
mod formula;
mod got_back;
mod grip;
mod guides;
mod leak;
mod lengths;
mod listed;
mod look_up;
mod markup;
mod measurements;
mod near_pole;
mod over;
mod own_sweeps;
mod plane;
mod preset;
mod reach;
mod reaches;
mod reduced;
mod resolves;
mod scenarios;
mod talk;
mod task;
mod task_solutions;
mod try_formula;
mod value;
mod weighed;
mod words;
mod worked;

pub use block::{Block, BlockError};
pub use formula::{FormulaError, displayed_formula, inline_formula};
pub use grip::Grip;
use maud::Markup;
pub use measurements::{MeasurementError, Measurements, NoMeasurements};

pub use scenarios::{Calibrations, JunkBox, Scenarios};
pub use value::{TextPiece, ValueInTextError, filled, text_pieces, value};

type Computed = fn(&Block<'_>) -> Result<Markup, BlockError>;

/// What is computed from a scenario, so that a reader may move its part: what the module of a page
/// carries. Every other block would only make it larger.
const FOLLOWING: &[(&str, Computed)] = &[
    ("answer", answer::answer),
    ("worked", worked::worked),
    ("resolves", resolves::resolves),
    ("compare", compare::compare),
    ("ends", compare::ends),
    ("chart", figure::chart),
    ("map", figure::map),
    ("rule", figure::rule),
    ("clouds", clouds::clouds),
    ("reach", reach::reach),
    ("calibrations", calibrations::calibrations),
    ("got-back", got_back::got_back),
    ("checks", checks::checks),
    ("blank", blank::blank),
    ("over", over::curve),
    ("best-over", over::best),
    ("apparent", apparent::apparent),
    ("plane", plane::plane),
];

/// What is the same for every part.
const STANDING: &[(&str, Computed)] = &[
    ("circuit", figure::circuit),
    ("crossovers", crossovers::crossovers),
    ("smallest-changes", crossovers::smallest_changes),
    ("crystal", crystal::crystal),
    ("preset", preset::preset),
    ("millimetre", lengths::millimetre),
    ("wire", lengths::wire),
    ("leak", leak::leak),
    ("discharge", discharge::discharge),
    ("signs", figure::signs),
    ("reduced", reduced::reduced),
    ("task", task::task),
    ("own-sweeps", own_sweeps::own_sweeps),
    ("class", class::class),
    ("try-formula", try_formula::try_formula),
    ("task-solutions", task_solutions::task_solutions),
    ("by-hand", by_hand::by_hand),
    ("readings", look_up::readings),
    ("sensitivity", look_up::sensitivity),
    ("standing-waves", look_up::standing_waves),
    ("decibels", look_up::decibels),
    ("factors", look_up::factors),
    ("simultaneous", guides::simultaneous),
    ("power-loss", guides::power_loss),
    ("near-open", near_pole::near_open),
    ("unequal", borders::unequal),
    ("stray-borders", borders::stray_borders),
    ("reaches", reaches::reaches),
    ("best-by-band", reaches::best_by_band),
    ("averaged", averaged::averaged),
    ("card", card::card),
    ("talk", talk::talk),
];

/// The labels of all blocks.
pub fn labels() -> impl Iterator<Item = &'static str> {
    let blocks = FOLLOWING.iter().chain(STANDING);
    blocks.map(|(label, _)| *label)
}

/// True for a block that is computed from a scenario, and so follows its part.
pub fn follows_a_part(label: &str) -> bool {
    FOLLOWING.iter().any(|(known, _)| *known == label)
}

/// What a block computes, as one element of HTML without a line break.
///
/// # Errors
/// [`BlockError`] with the line of the block: an unknown label, scenario or fixture, words that
/// the label does not take, or a value that can't be computed.
pub fn html(block: &Block<'_>) -> Result<String, BlockError> {
    let mut blocks = FOLLOWING.iter().chain(STANDING);
    let known = blocks.find(|(label, _)| *label == block.label);
    let (_, computed) = known.ok_or_else(|| {
        block.error(format!(
            "\"{}\" is no block{}",
            block.label,
            jigwise_bench::hint(block.label, &labels().collect::<Vec<_>>())
        ))
    })?;
    computed(block).map(Markup::into_string)
}

/// The same of a block that follows a part.
///
/// # Errors
/// As [`html`], and for a block that is the same for every part.
pub fn following_html(block: &Block<'_>) -> Result<String, BlockError> {
    let known = FOLLOWING.iter().find(|(label, _)| *label == block.label);
    let (_, computed) =
        known.ok_or_else(|| block.error(format!("\"{}\" does not follow a part", block.label)))?;
    computed(block).map(Markup::into_string)
}
