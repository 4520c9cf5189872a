//! What the fuzz programs share. What they check lives beside the tests of the two crates, which
//! feed it too: this package only connects it to a search engine.

#[path = "../../../sync-format/tests/common/mod.rs"]
pub mod common;

#[path = "../../../core/tests/fuzzed/records.rs"]
pub mod records;
#[path = "../../../core/tests/fuzzed/sheets.rs"]
pub mod sheets;

use std::path::Path;

pub use common::targets as format_targets;

/// What a search of this target starts from.
fn seeds(target: &str) -> Vec<Vec<u8>> {
    let vectors = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sync-format/vectors/v1");
    match target {
        "sheet" => sheets::seeds(),
        "projection" => records::seeds(),
        _ => format_targets::seeds(target, &vectors),
    }
}

/// Writes what a search of this target starts from into the folder of inputs that the search engine
/// was given: its first argument that is no option. Runs before that folder is read.
///
/// # Panics
/// When the folder cannot be written to: a search from nothing would look like one.
pub fn plant(target: &str) {
    let Some(folder) = std::env::args()
        .skip(1)
        .find(|argument| !argument.starts_with('-'))
    else {
        return;
    };
    if !Path::new(&folder).is_dir() {
        return;
    }
    for (at, seed) in seeds(target).iter().enumerate() {
        let file = Path::new(&folder).join(format!("seed-{at:03}"));
        std::fs::write(file, seed).expect("the folder of inputs can be written to");
    }
}
