//! The week at a glance, put together from what needs attention and the stations.

use super::office_attention::{Attention, Category};
use super::office_time as time;
use super::office_view::{AttentionLine, FleetLine, Page, WeekView};
use crate::messages::counted;
use crate::office::cursor::Cursor;
use crate::office::snapshot::Snapshot;

/// Which of the two lists the keyboard is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// What needs attention.
    #[default]
    Attention,
    /// The stations.
    Fleet,
}

/// Said to an office that has no station yet.
const FIRST_STEPS: &str = "This office has no stations yet. Load your register of stations with \
     \u{201c}winze load\u{201d}, or merge a bundle that carries definitions: put it in the tray and \
     press Ctrl+M.";

/// Puts the week together. `all` is everything that needs attention, `shown` the part of it that
/// the chosen category leaves.
#[must_use]
pub fn week(
    snapshot: &Snapshot,
    all: &[Attention],
    category: Option<Category>,
    side: Side,
    attention: Cursor,
) -> WeekView {
    let shown = narrowed(all, category);
    let chosen = attention
        .chosen(shown.len())
        .filter(|_| side == Side::Attention);
    let range = attention.shown(shown.len());
    let lines = range.map(|place| AttentionLine {
        is_chosen: chosen == Some(place),
        ..shown[place].line.clone()
    });
    WeekView {
        title: snapshot.week.title(),
        detail: detail(snapshot),
        can_later: !snapshot.is_this_week,
        tallies: super::office_attention::tallies(all, category),
        attention_title: attention_title(category, shown.len()),
        nothing: nothing(snapshot, category, shown.len()),
        first_steps: if snapshot.stations.is_empty() {
            FIRST_STEPS.to_owned()
        } else {
            String::new()
        },
        attention: lines.collect(),
        attention_page: attention.page(shown.len()),
        fleet_title: "Stations, their last three readings".to_owned(),
        ..WeekView::default()
    }
}

/// The part of what needs attention that a category leaves.
#[must_use]
pub fn narrowed(all: &[Attention], category: Option<Category>) -> Vec<&Attention> {
    let is_shown = |one: &&Attention| category.is_none_or(|category| one.category == category);
    all.iter().filter(is_shown).collect()
}

/// Puts one page of stations, with the chosen one marked, and says which page it is.
#[must_use]
pub fn fleet_page(
    pages: &[Vec<FleetLine>],
    chosen: Option<&str>,
    page: usize,
) -> (Vec<FleetLine>, Page) {
    let page = page.min(pages.len().saturating_sub(1));
    let lines = pages.get(page).cloned().unwrap_or_default();
    let lines = lines.into_iter().map(|line| FleetLine {
        is_chosen: !line.is_heading && chosen == Some(line.code.as_str()),
        ..line
    });
    let text = if pages.is_empty() {
        String::new()
    } else {
        format!("page {} of {}", page + 1, pages.len())
    };
    let view = Page {
        text,
        can_back: page > 0,
        can_on: page + 1 < pages.len(),
    };
    (lines.collect(), view)
}

/// "9 of 12 stations read; last merge Tue 17 Nov, 14:05".
fn detail(snapshot: &Snapshot) -> String {
    let total = snapshot.stations.len();
    if total == 0 {
        return "no station is defined here yet".to_owned();
    }
    let read = snapshot
        .stations
        .iter()
        .filter(|station| {
            station
                .visits
                .iter()
                .any(|visit| snapshot.week.holds(visit.taken_ms))
        })
        .count();
    let read = format!(
        "{read} of {} read",
        counted(total as u64, "station", "stations")
    );
    match snapshot.overview.last_merge {
        Some(run) if snapshot.is_this_week => {
            let when = time::moment(run.finished_ms, snapshot.week.utc_offset_minutes);
            format!("{read}; last merge {when}")
        }
        _ => read,
    }
}

fn attention_title(category: Option<Category>, count: usize) -> String {
    match category {
        None => format!("To look at: {count}"),
        Some(category) => format!("To look at, {} only: {count}", category.id()),
    }
}

fn nothing(snapshot: &Snapshot, category: Option<Category>, count: usize) -> String {
    match (count, category) {
        (1.., _) => String::new(),
        (0, Some(_)) => "Nothing of this kind.".to_owned(),
        (0, None) if snapshot.stations.is_empty() => String::new(),
        (0, None) => "Nothing needs you in this week.".to_owned(),
    }
}
