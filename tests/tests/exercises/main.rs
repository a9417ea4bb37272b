//! Tasks and their checking, the command `lab`, and the measurements that are shipped.

mod exercises_checking;
mod exercises_choices;
mod exercises_claims;
mod exercises_instruments;
mod exercises_solutions;
mod grading;
mod grading_command;
mod grading_tables;
mod lab_command;
mod sealed;
mod shipped_measurements;
mod students;
mod students_calibration;
mod students_junk_box;
