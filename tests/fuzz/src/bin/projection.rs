//! Searches for bytes that break what `records::projection` says of all bytes. Started by `run`.
#![no_main]

use winze_fuzz::{plant, records};

libfuzzer_sys::fuzz_target!(init: plant("projection"), |data: &[u8]| records::projection(data));
