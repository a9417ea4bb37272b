//! Measured sweeps turned into ohms, values and a report, by the library and by `jig reduce`.

mod command_reduce;
mod command_reduce_blend;
mod command_reduce_ports;
mod command_reduce_regions;
mod command_reduce_report;
mod command_reduce_slips;
mod command_reduce_standards;
mod command_reduce_strays;
mod measured_microstrip;
mod touchstone_reduce;
