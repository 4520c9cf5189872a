//! Where commands print: text or JSON on standard output, failures on standard error.

use std::io::{self, Write};

use serde::Serialize;

use super::Outcome;
use crate::messages::UserMessage;

/// The output of one command.
#[derive(Debug)]
pub(super) struct Output {
    json: bool,
    out: io::BufWriter<io::Stdout>,
}

/// A message in `--json`.
#[derive(Debug, Serialize)]
pub(super) struct MessageJson {
    what: String,
    safe: String,
    next: String,
}

impl From<&UserMessage> for MessageJson {
    fn from(message: &UserMessage) -> Self {
        let UserMessage { what, safe, next } = message.clone();
        Self { what, safe, next }
    }
}

#[derive(Debug, Serialize)]
struct FailureJson<'a> {
    command: &'a str,
    outcome: &'static str,
    message: MessageJson,
}

impl Output {
    pub fn new(json: bool) -> Self {
        Self {
            json,
            out: io::BufWriter::new(io::stdout()),
        }
    }

    /// Prints a line of text, unless JSON is wanted.
    pub fn line(&mut self, text: impl AsRef<str>) {
        if !self.json {
            // A reader that went away (`| head`) is no failure of the command.
            let _ = writeln!(self.out, "{}", text.as_ref());
        }
    }

    /// Prints a value as one line of JSON, if JSON is wanted.
    pub fn json(&mut self, value: &impl Serialize) {
        if self.json
            && let Ok(text) = serde_json::to_string(value)
        {
            let _ = writeln!(self.out, "{text}");
        }
    }

    /// Prints a failure: to standard error in words, and as JSON if that is wanted.
    pub fn failure(&mut self, command: &str, message: &UserMessage) {
        let outcome = Outcome::NotDone.code();
        self.json(&FailureJson {
            command,
            outcome,
            message: message.into(),
        });
        let _ = self.out.flush();
        let _ = writeln!(io::stderr(), "{message}");
    }
}

impl Drop for Output {
    fn drop(&mut self) {
        let _ = self.out.flush();
    }
}

/// Tells the person something that is not the command's result, on standard error.
pub(super) fn note(text: &str) {
    let _ = writeln!(io::stderr(), "{text}");
}
