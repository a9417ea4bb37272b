//! Measured sweeps turned into ohms, values and a report, by the library and by `jig reduce`.

mod blend_oracle;
mod command_reduce;
mod command_reduce_blend;
mod command_reduce_folder;
mod command_reduce_ports;
mod command_reduce_regions;
mod command_reduce_report;
mod command_reduce_slips;
mod command_reduce_standards;
mod command_reduce_strays;
mod command_reduce_values;
mod front_end;
mod measured_microstrip;
mod ohms_stand;
mod touchstone_reduce;
