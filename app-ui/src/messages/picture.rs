//! What is said when a picture cannot be attached or put together.

use winze_core::Error;

use super::UserMessage;
use crate::statements::named;

/// Says why a picture could not be attached or put together.
pub(super) fn picture_failed(error: &Error) -> UserMessage {
    let unchanged = "Nothing was changed.";
    match error {
        Error::NotAPicture => UserMessage::new(
            "The file is neither a JPEG nor a PNG picture.",
            unchanged,
            "Choose a picture that the camera saved as JPEG or PNG.",
        ),
        Error::PictureTooLarge { bytes, most } => UserMessage::new(
            format!(
                "The picture has {}; at most {} are taken.",
                size(*bytes),
                size(*most)
            ),
            unchanged,
            "Take it again at a lower resolution, or save a smaller copy of it.",
        ),
        Error::CannotAttachTo { at } => UserMessage::new(
            format!("Record {} can have no picture.", named(at)),
            unchanged,
            "Name a reading, a station passed by, a job, a procedure or a step of one.",
        ),
        Error::NotAnAttachment { at } => UserMessage::new(
            format!("Record {} is not a picture.", named(at)),
            unchanged,
            "Name a record of kind attachment-added.",
        ),
        Error::AttachmentIncomplete { at, missing } => UserMessage::new(
            format!(
                "Picture {} is not whole yet: {missing} of its pieces {} not here.",
                named(at),
                if *missing == 1 { "is" } else { "are" }
            ),
            "What is here stays.",
            "Merge the next bundle of the tablet that it came from.",
        ),
        Error::AttachmentUnfit { at } => UserMessage::new(
            format!(
                "The pieces of picture {} do not fit what its record says.",
                named(at)
            ),
            "Nothing was written: it would not be the picture that was taken.",
            "The program that attached it wrote it wrongly. Attach the picture again.",
        ),
        _ => UserMessage::new(
            "There is too little space left for pictures.",
            "Readings are still saved: the space left is kept for them.",
            "Free some space, close Winze and open it again.",
        ),
    }
}

/// A size for people: mebibytes to one decimal.
#[must_use]
pub fn size(bytes: u64) -> String {
    let tenths = (bytes * 10).div_ceil(1024 * 1024);
    match bytes {
        0..=1023 => format!("{bytes} bytes"),
        1024..=1_048_575 => format!("{} KiB", bytes.div_ceil(1024)),
        _ => format!("{}.{} MiB", tenths / 10, tenths % 10),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_rounded_up_so_that_too_large_looks_too_large() {
        assert_eq!(size(512), "512 bytes");
        assert_eq!(size(1025), "2 KiB");
        assert_eq!(size(8 * 1024 * 1024), "8.0 MiB");
        assert_eq!(size(8 * 1024 * 1024 + 1), "8.1 MiB");
    }
}
