//! Tasks and their checking, the command `lab`, and the measurements that are shipped.

mod exercises_checking;
mod grading;
mod lab_command;
mod sealed;
mod shipped_measurements;
mod students;
