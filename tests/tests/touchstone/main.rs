//! The open file standard, read and written.

mod touchstone_hard_cases;
mod touchstone_rules;
mod touchstone_scikit_rf;
mod touchstone_version_two;
mod touchstone_writing;
