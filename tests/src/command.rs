//! Runs the program as people do and keeps what it printed.

use std::path::Path;
use std::process::{Command, Output};

/// What a run of the program came to.
#[derive(Debug)]
pub struct Ran {
    /// Exit code; `None` when it was killed.
    pub code: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// Standard output as one JSON value.
    ///
    /// # Panics
    /// When it is none, showing everything that was printed.
    #[must_use]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }
}

/// Runs `program` with these arguments in a folder, without display, account name or home.
///
/// # Panics
/// When the program cannot be started at all.
#[must_use]
pub fn run(program: &str, folder: &Path, arguments: &[&str]) -> Ran {
    let output: Output = Command::new(program)
        .args(arguments)
        .current_dir(folder)
        .env_clear()
        .env("USER", "tester")
        .output()
        .unwrap_or_else(|error| panic!("{program}: {error}"));
    Ran {
        code: output.status.code(),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        err: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}
