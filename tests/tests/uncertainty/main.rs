//! The error budget: what a reading is worth, and what change it can tell.

mod bench_twin;
mod calibrations_in_the_bar;
mod raw_match;
mod uncertainty_appraisal;
mod uncertainty_blend;
mod uncertainty_chain;
mod uncertainty_choice;
mod uncertainty_guides;
mod uncertainty_resolve;
mod uncertainty_trust;
