//! The demonstration: an invented mine, its tablets, its office, and one day with everything that
//! can go wrong, through the same actions and sessions as real work.
//!
//! Start at [`run`]. `mine` makes the mine, `day` tells the story, `operator` walks, `works` and
//! `hands` put things right,
//! `damage` plays the bad stick, `upkeep` keeps the old book, `screens` draws, `summary` says what
//! came of it.
//! Everything follows from a seed but the keys, which are made anew each time. The demo checks
//! itself: where something does not come out as it must, it ends with a message.

mod damage;
mod day;
mod folders;
mod found;
mod hands;
mod mine;
mod office;
mod operator;
mod screens;
mod summary;
mod team;
mod upkeep;
mod walks;
mod works;

use std::path::Path;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

pub use folders::{DayClock, Folders};
pub use mine::{Mine, NAME};
pub use summary::Summary;
pub use upkeep::DueSummary;

use crate::messages::UserMessage;

/// What everything but the keys follows from, where nothing else is asked for.
pub const SEED: u64 = 1420;

/// How far the story goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    /// The bundles lie in the office's tray and nobody has taken them in.
    Tray,
    /// The day after: everything merged, answered and sent back.
    End,
}

/// Hours of the story before the bundles lie in the tray.
const HOURS_TO_TRAY: i64 = 14;

/// When the fixed day of the headless demo begins: a Tuesday.
#[must_use]
pub fn usual_day() -> DateTime<Utc> {
    let day = NaiveDate::from_ymd_opt(2026, 10, 6).unwrap_or_default();
    day.and_hms_opt(0, 0, 0).unwrap_or_default().and_utc()
}

/// When the day must begin for its bundles to lie in the tray just now.
#[must_use]
pub fn day_until(now: DateTime<Utc>) -> DateTime<Utc> {
    now - TimeDelta::hours(HOURS_TO_TRAY)
}

/// Runs the demo in `root`, which must be new or empty, and writes the summary there.
///
/// # Errors
/// What failed, in words; the folder then holds what was made until then.
pub fn run(
    root: &Path,
    seed: u64,
    day: DateTime<Utc>,
    until: Until,
) -> Result<Summary, UserMessage> {
    let folders = Folders::make(root)?;
    // The first station of a round is read about seven hours into the day.
    let mine = Mine::simulate(seed, day + TimeDelta::hours(7));
    let mut summary = Summary {
        mine: NAME,
        seed,
        day: day.format("%Y-%m-%d").to_string(),
        outcome: "findings",
        stations: mine.stations.len(),
        ..Summary::default()
    };
    summary.faults = day::faults(&mine);
    let mut story = day::Story::begin(&folders, &mine, day, &mut summary)?;
    story.morning(&mut summary)?;
    match until {
        Until::Tray => story.leave_a_round_open()?,
        Until::End => {
            story.afternoon(&mut summary)?;
            story.next_morning(&mut summary)?;
            summary.assess = found::found(story.office_logbook()?, &mine)?;
            story.put_right(seed, &mut summary)?;
        }
    }
    let clock = story.end();
    if until == Until::End {
        summary.pictures = screens::draw(&folders, &clock)?;
        let json = serde_json::to_string_pretty(&summary).unwrap_or_default();
        folders.write(&root.join("summary.json"), json.as_bytes())?;
        folders.write(&root.join("summary.txt"), summary.to_text().as_bytes())?;
    }
    folders.clear();
    Ok(summary)
}

/// A step of the demo that did not come out as it must.
fn unexpected(what: impl Into<String>) -> UserMessage {
    UserMessage::new(
        format!("The demo did not come out as it must: {}", what.into()),
        "Only the demo's own folder was written.",
        "Report this to whoever looks after Winze here.",
    )
}
