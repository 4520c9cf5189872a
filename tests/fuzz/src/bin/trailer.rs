//! Searches for bytes that break what `format_targets::trailer` says of all bytes. Started by `run`.
#![no_main]

use winze_fuzz::{format_targets, plant};

libfuzzer_sys::fuzz_target!(init: plant("trailer"), |data: &[u8]| format_targets::trailer(data));
