//! A window that cannot be opened.

use super::UserMessage;

/// The window system refused; `reason` is its own text.
#[must_use]
pub fn window_failed(reason: &str) -> UserMessage {
    UserMessage::new(
        format!("The window cannot be opened: {}.", plain(reason)),
        "No logbook was affected.",
        "Start Winze in a desktop session. On Linux it needs libx11-6, libx11-xcb1, libxcursor1, \
         libxi6 and libxkbcommon-x11-0, or on Wayland libwayland-client0 and libxkbcommon0.",
    )
}

/// The system's own words, without the place in the source of a library that it may name.
fn plain(reason: &str) -> String {
    let from_system = reason.lines().find_map(|line| {
        let (_, behind) = line.split_once(".rs:")?;
        Some(behind.split_once(": ")?.1)
    });
    let text = from_system.map_or_else(|| reason.replace('\n', " "), str::to_owned);
    text.trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_display_is_said_without_a_place_in_the_source() {
        let reason = "Could not initialize backend.\n\
                      Error from Winit backend: os error at /home/x/lib/mod.rs:765: DISPLAY is not set.\n\
                      No backends configured.";
        let message = window_failed(reason);
        assert_eq!(
            message.what,
            "The window cannot be opened: DISPLAY is not set."
        );
        assert!(message.next.contains("libx11-6"), "{}", message.next);
    }

    #[test]
    fn other_reasons_are_told_as_they_are() {
        let message = window_failed("no window came.");
        assert_eq!(message.what, "The window cannot be opened: no window came.");
    }
}
