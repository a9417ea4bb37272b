//! The text command `jig` end to end, all but `jig reduce`.

mod command_bands;
mod command_blend;
mod command_choice;
mod command_convention;
mod command_hostile;
mod command_instrument;
mod command_instrument_refusals;
mod command_manners;
mod command_read;
mod command_roundtrip;
mod files_as_one;
mod sweep_command;
