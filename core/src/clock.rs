//! The clock a logbook is opened with, and a clock that stands still for tests and demonstrations.
//!
//! `core` never reads the machine's clock itself: whoever opens a logbook passes a [`Clock`]. The
//! system clock lives in the program, beside the other platform code.

use std::sync::Mutex;

use winze_sync_format::{ClockReading, ClockStatus};

/// Milliseconds in one minute.
pub const MINUTE_MS: i64 = 60_000;
/// Milliseconds in one hour.
pub const HOUR_MS: i64 = 60 * MINUTE_MS;
/// Milliseconds in one day.
pub const DAY_MS: i64 = 24 * HOUR_MS;

/// Says what time it is when a record is confirmed.
///
/// The wall time is evidence, not order: order inside one log is its sequence number.
pub trait Clock: Send + Sync {
    /// Reads the wall clock (UTC), how far it can be relied on, and the monotonic clock.
    fn now(&self) -> ClockReading;

    /// Returns how far local time is ahead of UTC at this moment.
    ///
    /// # Units
    /// Minutes, positive east of Greenwich.
    fn utc_offset_minutes(&self) -> i16;
}

/// A clock that shows what it was set to, and moves only when told.
#[derive(Debug)]
pub struct FixedClock {
    reading: Mutex<ClockReading>,
    utc_offset_minutes: i16,
}

impl FixedClock {
    /// Makes a clock that stands at `wall_ms`, set at the office, in the zone of UTC.
    ///
    /// # Units
    /// Milliseconds since 1970-01-01T00:00:00Z.
    #[must_use]
    pub fn at(wall_ms: i64) -> Self {
        Self::with_offset(wall_ms, 0)
    }

    /// Makes a clock that stands at `wall_ms` in a zone `utc_offset_minutes` ahead of UTC.
    #[must_use]
    pub fn with_offset(wall_ms: i64, utc_offset_minutes: i16) -> Self {
        let reading = ClockReading {
            wall_ms,
            status: ClockStatus::SetAtOffice,
            boot: [0; 16],
            monotonic_ms: 0,
        };
        Self {
            reading: Mutex::new(reading),
            utc_offset_minutes,
        }
    }

    /// Moves the clock to `wall_ms`; the monotonic clock never goes back.
    pub fn set(&self, wall_ms: i64) {
        let mut reading = self.lock();
        let step = u64::try_from(wall_ms.saturating_sub(reading.wall_ms)).unwrap_or(0);
        reading.wall_ms = wall_ms;
        reading.monotonic_ms = reading.monotonic_ms.saturating_add(step);
    }

    /// Moves both clocks forward by `step_ms` milliseconds.
    pub fn advance_ms(&self, step_ms: u32) {
        let mut reading = self.lock();
        reading.wall_ms = reading.wall_ms.saturating_add(i64::from(step_ms));
        reading.monotonic_ms = reading.monotonic_ms.saturating_add(u64::from(step_ms));
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, ClockReading> {
        // A panic elsewhere cannot leave a half-written clock: every change is one assignment.
        self.reading
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

impl Clock for FixedClock {
    fn now(&self) -> ClockReading {
        *self.lock()
    }

    fn utc_offset_minutes(&self) -> i16 {
        self.utc_offset_minutes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_set_back_keeps_its_monotonic_time() {
        let clock = FixedClock::at(1_000);
        clock.advance_ms(500);
        clock.set(200);
        let now = clock.now();
        assert_eq!(now.wall_ms, 200);
        assert_eq!(now.monotonic_ms, 500);
    }
}
