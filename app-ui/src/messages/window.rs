//! A window that cannot be opened.

use super::UserMessage;

/// The window system refused; `reason` is its own text.
#[must_use]
pub fn window_failed(reason: &str) -> UserMessage {
    UserMessage::new(
        format!(
            "The window cannot be opened: {}.",
            reason.trim_end_matches('.')
        ),
        "No logbook was affected.",
        "Start Winze in a desktop session. On Linux it needs libx11-6, libx11-xcb1, libxcursor1, \
         libxi6 and libxkbcommon-x11-0, or on Wayland libwayland-client0 and libxkbcommon0.",
    )
}
