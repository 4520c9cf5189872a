//! One test binary for all stories across the crates.

mod architecture;
mod kill_during_entry;
