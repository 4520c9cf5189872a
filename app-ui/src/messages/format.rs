//! Bytes, signatures and files of the format.

use std::path::Path;

use winze_sync_format::Error;

use super::{UserMessage, file_failed};

/// A failure of the format: bytes that are not as written, keys, files.
#[must_use]
#[allow(
    clippy::too_many_lines,
    reason = "one arm for each thing that can happen"
)]
pub fn format_failed(error: &Error) -> UserMessage {
    let others = "Whole records around it are not affected.";
    match error {
        Error::Truncated { offset } => UserMessage::new(
            format!("The data end in the middle of a value, at byte {offset}."),
            others,
            "Copy the file again from where it came from.",
        ),
        Error::TrailingBytes { offset, count } => UserMessage::new(
            format!("{count} bytes too many stand at byte {offset}."),
            others,
            "Copy the file again from where it came from.",
        ),
        Error::NotShortest { offset }
        | Error::Indefinite { offset }
        | Error::NotAllowed { offset, .. }
        | Error::KeyNotUint { offset }
        | Error::KeyOrder { offset, .. }
        | Error::TooDeep { offset, .. }
        | Error::TooLong { offset, .. }
        | Error::BadUtf8 { offset }
        | Error::OutOfRange { offset }
        | Error::WrongType { offset, .. }
        | Error::WrongKey { offset, .. }
        | Error::WrongCount { offset, .. }
        | Error::BadField { offset, .. } => UserMessage::new(
            format!("At byte {offset} stands something that Winze never writes ({error})."),
            others,
            "Copy the file again; if it stays so, ask whoever wrote it for a new bundle.",
        ),
        Error::NotAnItem { offset } => UserMessage::new(
            format!("No record starts at byte {offset}."),
            others,
            "Check that this is a bundle or a logbook file.",
        ),
        Error::BadKey { log } => UserMessage::new(
            format!(
                "A record names the logbook {}, which cannot exist.",
                log.short()
            ),
            "It was not taken in.",
            "Ask whoever sent it for a new bundle.",
        ),
        Error::BadSignature { log } => UserMessage::new(
            format!(
                "A record of logbook {} was changed after it was signed.",
                log.short()
            ),
            "It was not taken in; all others were checked on their own.",
            "Copy the file again; if it stays so, ask for a new bundle.",
        ),
        Error::WrongLog { expected, found } => UserMessage::new(
            format!(
                "The key of logbook {} does not belong to logbook {}.",
                found.short(),
                expected.short()
            ),
            "Nothing was written; the records of both logbooks are safe.",
            "Close Winze, move the key that was made with this logbook back into its folder, and \
             open Winze again. Never copy a key to a second tablet.",
        ),
        Error::LogFull { log } => UserMessage::new(
            format!(
                "Logbook {} has no number left for another record.",
                log.short()
            ),
            "Everything in it is safe.",
            "Start a new logbook.",
        ),
        Error::BadText { what, text } => UserMessage::new(
            format!("\"{text}\" is not a {what}."),
            "Nothing was changed.",
            "Check what was typed.",
        ),
        Error::EncoderMisuse { what } | Error::PlanMismatch { what } => UserMessage::new(
            format!("Winze made a mistake of its own while writing: {what}."),
            "Nothing was written.",
            "Report this to whoever looks after Winze here.",
        ),
        Error::Io {
            action,
            path,
            source,
        } => io_failed(action, path, source),
        Error::ReadBack { path, offset } => UserMessage::new(
            format!(
                "{} reads back differently from byte {offset}.",
                path.display()
            ),
            "The records are still safe in the logbook; the copy is not good.",
            "Use another stick and write the bundle again.",
        ),
        Error::GivenUp { path } => UserMessage::new(
            format!("{} was given up after a failed write.", path.display()),
            "What was shown as saved is safe.",
            "Close Winze, check the drive, and open it again.",
        ),
        Error::KeyFile { path, what } => UserMessage::new(
            format!("The key file {} cannot be used: {what}.", path.display()),
            "Every record in the logbook is safe and can still be read; only nothing new can be \
             added, because records are signed with this key.",
            format!(
                "Close Winze. If another file was put in its place, put the right one back and \
                 open Winze again. {}",
                super::NEW_KEY
            ),
        ),
        Error::SpoiltItem { index, source } => UserMessage::new(
            format!("Record {} for the bundle is damaged: {source}.", index + 1),
            "No bundle was written; the other records are safe.",
            "Check the logbook with winze verify; a copy may be at the office.",
        ),
        Error::Cancelled => UserMessage::new(
            "Stopped as asked.",
            "Nothing is lost.",
            "Do the same again to go on.",
        ),
        Error::Random { source } => UserMessage::new(
            format!("The system gives no random numbers: {source}."),
            "Nothing was written.",
            "Start the machine anew.",
        ),
    }
}

/// The format names actions in the present; people read them in the past.
fn io_failed(action: &str, path: &Path, source: &std::io::Error) -> UserMessage {
    let past = match action {
        "open" => "opened",
        "read" => "read",
        _ => "written",
    };
    file_failed(past, path, source)
}
