//! Records whose content is not understood.

use winze_core::record::BodyError;

use super::UserMessage;

/// A record was kept but says something this program cannot read.
#[must_use]
pub fn body_not_understood(error: &BodyError) -> UserMessage {
    UserMessage::new(
        format!("A record says something this Winze does not understand: {error}."),
        "It is kept byte for byte and does not count.",
        "A newer Winze may understand it.",
    )
}
