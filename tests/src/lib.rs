//! Helpers that several stories share: where the workspace is, builders, tamperers.
//!
//! Not for rules (they live in `winze-core`) and not for test cases (they live in `it`).

use std::path::{Path, PathBuf};

pub mod command;
pub mod samples;
pub mod screen;
pub mod walker;

/// Returns the folder that holds the workspace's `Cargo.toml`.
#[must_use]
pub fn workspace_root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map_or_else(PathBuf::new, Path::to_path_buf)
}
