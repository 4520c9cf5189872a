//! The machine's clocks, as the logbook wants them.
//!
//! `core` reads no clock of its own. The wall clock counts as set by hand: nothing here can tell
//! whether the office set it.

use std::time::Instant;

use chrono::{Local, Offset as _};
use winze_core::clock::Clock;
use winze_sync_format::{ClockReading, ClockStatus};

/// A wall clock before this moment (2024-01-01T00:00:00Z) has never been set.
const NEVER_SET_BEFORE_MS: i64 = 1_704_067_200_000;

/// The clocks of this machine.
#[derive(Debug)]
pub struct SystemClock {
    boot: [u8; 16],
    started: Instant,
}

impl SystemClock {
    /// Finds out which boot of the machine this is.
    #[must_use]
    pub fn new() -> Self {
        Self {
            boot: boot_id(),
            started: Instant::now(),
        }
    }

    /// Milliseconds since the machine started, time asleep included where the system tells it;
    /// otherwise since the program started.
    fn monotonic_ms(&self) -> u64 {
        uptime_ms().unwrap_or_else(|| {
            u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX)
        })
    }
}

impl Default for SystemClock {
    fn default() -> Self {
        Self::new()
    }
}

impl Clock for SystemClock {
    fn now(&self) -> ClockReading {
        let wall_ms = chrono::Utc::now().timestamp_millis();
        let status = if wall_ms < NEVER_SET_BEFORE_MS {
            ClockStatus::Unset
        } else {
            ClockStatus::HandSet
        };
        ClockReading {
            wall_ms,
            status,
            boot: self.boot,
            monotonic_ms: self.monotonic_ms(),
        }
    }

    fn utc_offset_minutes(&self) -> i16 {
        let seconds = Local::now().offset().fix().local_minus_utc();
        // Offsets lie within a day, so minutes fit.
        i16::try_from(seconds / 60).unwrap_or(0)
    }
}

/// The kernel's name for this boot; a random one where there is none, so that two starts of the
/// program are then two boots, which claims less than it could and never too much.
fn boot_id() -> [u8; 16] {
    let from_kernel = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok();
    let parsed = from_kernel.as_deref().and_then(parse_boot_id);
    parsed.unwrap_or_else(|| {
        let mut random = [0; 16];
        // Without random bytes the wall clock still tells two starts apart.
        if getrandom::fill(&mut random).is_err() {
            random[..8].copy_from_slice(&chrono::Utc::now().timestamp_micros().to_be_bytes());
        }
        random
    })
}

fn parse_boot_id(text: &str) -> Option<[u8; 16]> {
    let digits: Vec<u8> = text.bytes().filter(u8::is_ascii_hexdigit).collect();
    let mut id = [0; 16];
    if digits.len() != 32 {
        return None;
    }
    for (byte, pair) in id.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()?;
    }
    Some(id)
}

/// Milliseconds since the machine started, from the kernel; it counts time asleep.
fn uptime_ms() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/uptime").ok()?;
    let seconds = text.split_whitespace().next()?;
    let (whole, part) = seconds.split_once('.').unwrap_or((seconds, "0"));
    let part: String = part.chars().chain("000".chars()).take(3).collect();
    Some(whole.parse::<u64>().ok()?.saturating_mul(1000) + part.parse::<u64>().ok()?)
}

#[cfg(test)]
mod tests {
    use super::{Clock as _, SystemClock, parse_boot_id};

    #[test]
    fn boot_id_is_read_with_its_hyphens() {
        let id = parse_boot_id("01020304-0506-0708-090a-0b0c0d0e0f10\n").unwrap();
        assert_eq!(id, [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16]);
        assert_eq!(parse_boot_id("none"), None);
    }

    #[test]
    fn monotonic_time_does_not_go_back() {
        let clock = SystemClock::new();
        let (first, second) = (clock.now(), clock.now());
        assert!(second.monotonic_ms >= first.monotonic_ms);
        assert_eq!(first.boot, second.boot);
    }
}
