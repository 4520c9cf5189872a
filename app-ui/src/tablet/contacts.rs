//! One touch, one act.
//!
//! The toolkit turns one contact at a time into a pointer. When a second contact lands it
//! lets the first go, and when either leaves it presses again at the one that stays: a key
//! held under a resting palm would act twice, and a palm that stays would press what lies
//! under it. The trace this leaves is a lift that carries another finger's number than the
//! press before it; the press that follows is then no new touch.

/// A second press of the same key sooner than this is a bounce of a wet panel, not a finger.
const BOUNCE_MS: u64 = 120;

/// What is known of the contacts on the glass.
///
/// Finger numbers start at 1; 0 stands for a mouse, which neither bounces nor has a palm.
#[derive(Debug, Default)]
pub struct Contacts {
    pressed: Option<i32>,
    staying: Option<(i32, i32)>,
    last: Option<(String, u64)>,
}

impl Contacts {
    /// Takes a press of `key` and answers whether it must not act.
    pub fn refuses(&mut self, finger: i32, key: &str, now_ms: u64) -> bool {
        self.pressed = Some(finger);
        if let Some((first, second)) = self.staying.take()
            && (finger == first || finger == second)
        {
            return true;
        }
        let bounced = finger != 0
            && self.last.as_ref().is_some_and(|(key_before, at_ms)| {
                key_before == key && now_ms.saturating_sub(*at_ms) < BOUNCE_MS
            });
        if !bounced {
            self.last = Some((key.to_owned(), now_ms));
        }
        bounced
    }

    /// Takes a lift as the toolkit reports it.
    pub fn lifted(&mut self, finger: i32) {
        if let Some(pressed) = self.pressed.take()
            && pressed != finger
        {
            self.staying = Some((pressed, finger));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_taps_all_act() {
        let mut contacts = Contacts::default();
        for (tap, key) in ["1", "1", "2", "1"].into_iter().enumerate() {
            assert!(!contacts.refuses(1, key, 200 * tap as u64), "tap {tap}");
            contacts.lifted(1);
        }
    }

    #[test]
    fn held_key_is_not_repeated_by_a_second_contact() {
        let mut contacts = Contacts::default();
        assert!(!contacts.refuses(1, "8", 0));
        // A palm lands: the toolkit lets finger 1 go, under the palm's number.
        contacts.lifted(2);
        // The palm leaves: the toolkit presses finger 1 again.
        assert!(contacts.refuses(1, "8", 900));
        contacts.lifted(1);
        assert!(!contacts.refuses(1, "8", 1500), "the next true touch acts");
    }

    #[test]
    fn palm_that_stays_does_not_press_what_lies_under_it() {
        let mut contacts = Contacts::default();
        assert!(!contacts.refuses(1, "8", 0));
        contacts.lifted(2);
        assert!(contacts.refuses(2, "erase", 400));
    }

    #[test]
    fn bounce_of_one_key_is_dropped_but_a_quick_roll_is_not() {
        let mut contacts = Contacts::default();
        assert!(!contacts.refuses(1, "7", 0));
        contacts.lifted(1);
        assert!(contacts.refuses(1, "7", 40));
        contacts.lifted(1);
        assert!(!contacts.refuses(1, "8", 60));
    }

    #[test]
    fn mouse_is_never_filtered() {
        let mut contacts = Contacts::default();
        for _ in 0..3 {
            assert!(!contacts.refuses(0, "1", 0));
            contacts.lifted(0);
        }
    }
}
