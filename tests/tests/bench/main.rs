//! The bench of a scenario: its file, and the pictures that are made of it.

mod bands;
mod clouds;
mod palette;
mod scenario_files;
