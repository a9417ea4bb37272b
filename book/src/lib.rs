//! Builds the book, so that no number in it can drift from the code.
//!
//! The chapters are Markdown in `text`. Passes over them compute what they show: numbers in
//! running text, formulas as MathML, worked examples with figures, tables, tasks, and the
//! output of shell lines. A wrong scenario, formula, key or link stops the build and names
//! file and line. `cargo book build` runs the passes in this process; book.toml registers the
//! same passes as commands, so stock mdBook builds the same book.
//!
//! ```
//! use jigwise_book::{BuildError, build, root};
//!
//! let out = std::env::temp_dir().join("jigwise-book-example");
//! let folder = build(&root(), Some(&out))?;
//! assert!(folder.join("index.html").is_file());
//! std::fs::remove_dir_all(out).unwrap();
//! # Ok::<(), BuildError>(())
//! ```

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod benches;
mod blocks;
mod captions;
mod citations;
mod claim;
pub mod command;
mod edition;
mod first_path;
mod folders;
mod formulas;
mod links;
mod live_piece;
mod measurements;
mod minutes;
mod next;
mod objectives;
mod offline;
mod page;
mod passes;
mod pieces;
mod press;
mod serve;
mod shell;
mod terms;
mod values;
mod web;

pub use claim::{ClaimError, MARKER};
pub use edition::{Edition, Wanted};
pub use folders::root;
pub use offline::{NetworkReference, network_references};
pub use page::PageError;
pub use passes::Pass;
pub use press::{BuildError, build};
pub use web::{Packed, Packing, WebCrate, WebError};

/// The chapters, so that `cargo test --doc` compiles and runs every Rust fence in them.
#[cfg(doctest)]
mod chapters {
    macro_rules! chapters {
        ($($name:ident: $path:literal),* $(,)?) => {
            $(#[doc = include_str!(concat!("../text/", $path))] mod $name {})*
        };
    }
    chapters! {
        change_choosing_2: "change/choosing-2.md",
        change_choosing: "change/choosing.md",
        change_tasks_2: "change/tasks-2.md",
        ground_tasks_2: "ground/tasks-2.md",
        ground_tasks_3: "ground/tasks-3.md",
        ground_tasks: "ground/tasks.md",
        labs_broken_calibration: "labs/broken-calibration.md",
        labs_crossover: "labs/crossover.md",
        labs_desk: "labs/desk.md",
        labs_guide: "labs/guide.md",
        labs_junk_box: "labs/junk-box.md",
        labs_three_ways: "labs/three-ways.md",
        planes_tasks_2: "planes/tasks-2.md",
        reflect_tasks_2: "reflect/tasks-2.md",
        series_tasks_2: "series/tasks-2.md",
        shunt_tasks_2: "shunt/tasks-2.md",
        strays_tasks_2: "strays/tasks-2.md",
        values_accuracy_2: "values/accuracy-2.md",
        values_accuracy_3: "values/accuracy-3.md",
        values_accuracy: "values/accuracy.md",
        values_tasks_2: "values/tasks-2.md",
        talks_club: "talks/club.md",
        talks_guide: "talks/guide.md",
        talks_rounds: "talks/rounds.md",
        talks_sheet: "talks/sheet.md",
        talks_short: "talks/short.md",
        question: "question.md",
        own: "own.md",
        formula: "formula.md",
        how_to_use: "use.md",
        ohms: "ground/ohms.md",
        reflection: "ground/reflection.md",
        chart: "ground/chart.md",
        analyzer: "ground/analyzer.md",
        decibels: "ground/decibels.md",
        fixtures: "fixtures.md",
        reflect_circuit: "reflect/circuit.md",
        reflect_divider: "reflect/divider.md",
        reflect_waves: "reflect/waves.md",
        reflect_ends: "reflect/ends.md",
        reflect_worked: "reflect/worked.md",
        reflect_mistake: "reflect/mistake.md",
        reflect_see: "reflect/see.md",
        reflect_tasks: "reflect/tasks.md",
        shunt_circuit: "shunt/circuit.md",
        shunt_divider: "shunt/divider.md",
        shunt_waves: "shunt/waves.md",
        shunt_ends: "shunt/ends.md",
        shunt_worked: "shunt/worked.md",
        shunt_mistake: "shunt/mistake.md",
        shunt_see: "shunt/see.md",
        shunt_tasks: "shunt/tasks.md",
        series_circuit: "series/circuit.md",
        series_divider: "series/divider.md",
        series_waves: "series/waves.md",
        series_ends: "series/ends.md",
        series_worked: "series/worked.md",
        series_mistake: "series/mistake.md",
        series_see: "series/see.md",
        series_tasks: "series/tasks.md",
        change_clouds: "change/clouds.md",
        change_least: "change/least.md",
        change_calibrate: "change/calibrate.md",
        change_best: "change/best.md",
        change_nothing: "change/nothing.md",
        change_swapped: "change/swapped.md",
        change_tasks: "change/tasks.md",
        change_large: "change/large.md",
        planes_raw: "planes/raw.md",
        planes_load: "planes/load.md",
        planes_ends: "planes/ends.md",
        planes_methods: "planes/methods.md",
        planes_plane: "planes/plane.md",
        planes_notice: "planes/notice.md",
        planes_limits: "planes/limits.md",
        planes_tasks: "planes/tasks.md",
        strays_around: "strays/around.md",
        strays_gap: "strays/gap.md",
        strays_ground: "strays/ground.md",
        strays_contact: "strays/contact.md",
        strays_socket: "strays/socket.md",
        strays_lengths: "strays/lengths.md",
        strays_build: "strays/build.md",
        strays_tasks: "strays/tasks.md",
        parts_comes: "parts/comes.md",
        parts_kind: "parts/kind.md",
        parts_model: "parts/model.md",
        parts_crystal: "parts/crystal.md",
        parts_choke: "parts/choke.md",
        parts_width: "parts/width.md",
        parts_fixture: "parts/fixture.md",
        parts_tasks: "parts/tasks.md",
        values_have: "values/have.md",
        values_corrected: "values/corrected.md",
        values_blank: "values/blank.md",
        values_value: "values/value.md",
        values_trust: "values/trust.md",
        values_odd: "values/odd.md",
        values_blend: "values/blend.md",
        values_write: "values/write.md",
        values_tasks: "values/tasks.md",
        evening_build: "evening/build.md",
        evening_calibrate: "evening/calibrate.md",
        evening_measure: "evening/measure.md",
        evening_off: "evening/off.md",
        sums_complex: "sums/complex.md",
        sums_admittance: "sums/admittance.md",
        sums_resonance: "sums/resonance.md",
        sums_scatter: "sums/scatter.md",
        doubt_gum: "doubt/gum.md",
        doubt_dice: "doubt/dice.md",
        doubt_open: "doubt/open.md",
        borders_equal: "borders/equal.md",
        borders_parts: "borders/parts.md",
        borders_move: "borders/move.md",
        two_compare: "two/compare.md",
        two_refuse: "two/refuse.md",
        audit_formula: "audit/formula.md",
        audit_slips: "audit/slips.md",
        card: "card.md",
        sheet: "sheet.md",
        tables: "tables.md",
        instruments: "instruments.md",
        glossary: "glossary.md",
        answers_fixtures: "answers/fixtures.md",
        answers_chart: "answers/chart.md",
        answers_choosing: "answers/choosing.md",
        answers_change: "answers/change.md",
        answers_strays: "answers/strays.md",
        answers_sweeps: "answers/sweeps.md",
        scenario: "scenario.md",
        cautions: "cautions.md",
        sources: "sources.md",
    }
}
