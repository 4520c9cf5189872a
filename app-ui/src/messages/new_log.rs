//! What people read when a logbook went on in a new log.

use winze_core::record::{NewLogWhy, Role};
use winze_core::store::NewLog;

use super::UserMessage;

/// Says why a logbook goes on in a new log, what is safe, and that the others must get to know it.
#[must_use]
pub fn new_log_begun(new: &NewLog, role: Role) -> UserMessage {
    let what = match new.why {
        NewLogWhy::OtherMachine => {
            "This logbook\u{2019}s folder was used on another machine before."
        }
        NewLogWhy::OtherInstallation => {
            "This logbook\u{2019}s folder was used by the program before it was set up anew here."
        }
        NewLogWhy::OtherFolder => "This logbook\u{2019}s folder was moved, copied or put back.",
        NewLogWhy::RolledBack => {
            "This logbook is an older copy of itself: the office already holds more of it."
        }
        NewLogWhy::Copied => "Another device writes with a copy of this logbook\u{2019}s key.",
        NewLogWhy::Restored => "This logbook was brought back from a backup.",
        NewLogWhy::KeyReplaced => "This logbook\u{2019}s key was replaced.",
    };
    let safe = "Everything in it is kept and counts here as before. It goes on under a new name, so \
                that no two devices write under one.";
    let next = match (role, new.why) {
        (Role::Tablet, _) => {
            "Go on taking readings. At the next hand-over compare the eight words with the office: \
             until then the office keeps your new readings without counting them."
        }
        (Role::Office, NewLogWhy::KeyReplaced) => {
            "Hand the next bundle to every tablet: they trust the new key because the old one signed \
             for it."
        }
        (Role::Office, _) => {
            "Compare the eight words with every tablet at its next hand-over: until then they keep \
             what comes from here without using it."
        }
    };
    UserMessage::new(what, safe, next)
}

#[cfg(test)]
mod tests {
    use super::{NewLog, NewLogWhy, Role, new_log_begun};
    use winze_sync_format::{LogId, RecordId, RecordRef};

    #[test]
    fn every_reason_has_its_own_words_and_says_what_to_do() {
        let at = RecordRef {
            log: LogId([1; 32]),
            seq: 0,
            id: RecordId([2; 32]),
        };
        let mut seen = std::collections::BTreeSet::new();
        for why in NewLogWhy::ALL {
            let new = NewLog {
                at,
                former: at,
                why,
            };
            let message = new_log_begun(&new, Role::Tablet);
            assert!(seen.insert(message.what));
            assert!(message.next.contains("Go on taking readings"));
        }
    }
}
