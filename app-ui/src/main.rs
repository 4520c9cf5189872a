//! The program `winze`.

fn main() {}
