//! One test binary for all stories across the crates.

mod architecture;
