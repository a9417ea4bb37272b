//! Calibrations solved from standards: their laws, their refusals, other programs' results.

mod calibration_analyzer;
mod calibration_laws;
mod calibration_oracles;
mod calibration_refusals;
mod calibration_scikit_rf;
mod calibration_shifts;
mod closed_forms;
