//! One test binary for all stories across the crates.

mod architecture;
mod commands_assess;
mod commands_backup;
mod commands_bundle;
mod commands_load;
mod commands_lost;
mod commands_pictures;
mod commands_salvage;
mod demo;
mod due_calendar;
mod kill_during_entry;
mod papers;
mod read_only;
mod second_reader;
