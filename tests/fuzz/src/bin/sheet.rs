//! Searches for bytes that break what `sheets::sheet` says of all bytes. Started by `run`.
#![no_main]

use winze_fuzz::{plant, sheets};

libfuzzer_sys::fuzz_target!(init: plant("sheet"), |data: &[u8]| sheets::sheet(data));
