//! Where commands print: text or JSON on standard output, failures on standard error.

use std::borrow::Cow;
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
            let _ = writeln!(self.out, "{}", visible(text.as_ref()));
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
        let _ = writeln!(io::stderr(), "{}", visible(&message.to_string()));
    }
}

impl Drop for Output {
    fn drop(&mut self) {
        let _ = self.out.flush();
    }
}

/// Tells the person something that is not the command's result, on standard error.
pub(super) fn note(text: &str) {
    let _ = writeln!(io::stderr(), "{}", visible(text));
}

/// Text with whatever could steer a terminal, hide, or turn the direction of writing spelled out:
/// names and notes come from other people's files.
fn visible(text: &str) -> Cow<'_, str> {
    let is_hidden = |c: char| {
        c.is_control() && c != '\n' && c != '\t'
            || matches!(
                c,
                '\u{61c}'
                    | '\u{200b}'..='\u{200f}'
                    | '\u{2028}'..='\u{202e}'
                    | '\u{2060}'..='\u{206f}'
                    | '\u{feff}'
                    | '\u{e0000}'..='\u{e007f}'
            )
    };
    if !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_hidden(c) {
            shown.extend(c.escape_unicode());
        } else {
            shown.push(c);
        }
    }
    Cow::Owned(shown)
}

#[cfg(test)]
mod tests {
    use super::visible;

    #[test]
    fn what_could_steer_a_terminal_or_turn_the_writing_is_spelled_out() {
        for plain in [
            "T-07, 4.10 bar\n\tL\u{f6}tschen \u{2013} \u{8b66}\u{544a}",
            "",
        ] {
            assert_eq!(visible(plain), plain);
        }
        for (hostile, shown) in [
            ("by \u{202e}adA", "by \\u{202e}adA"),
            ("\u{1b}[2Jgone", "\\u{1b}[2Jgone"),
            ("a\rb\u{0}", "a\\u{d}b\\u{0}"),
            ("T-\u{2066}07\u{2069}", "T-\\u{2066}07\\u{2069}"),
            ("T\u{200b}-07\u{9b}", "T\\u{200b}-07\\u{9b}"),
        ] {
            assert_eq!(visible(hostile), shown);
        }
    }
}
