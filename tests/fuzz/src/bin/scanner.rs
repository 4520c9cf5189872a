//! Searches for bytes that break what `format_targets::scanner` says of all bytes. Started by `run`.
#![no_main]

use winze_fuzz::{format_targets, plant};

libfuzzer_sys::fuzz_target!(init: plant("scanner"), |data: &[u8]| format_targets::scanner(data));
