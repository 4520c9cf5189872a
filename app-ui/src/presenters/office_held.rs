//! Held logbooks: eight words to compare aloud, and what enrolling means.

use winze_core::query::LogView;
use winze_core::record::Role;

use super::office_time as time;
use super::office_view::{Fact, HeldLine, HeldView};
use super::view::Tone;
use crate::messages::counted;
use crate::office::cursor::Cursor;
use crate::office::snapshot::Snapshot;

/// Shows the held logbooks, the cursor's being the chosen one, and `name` what was typed for it.
#[must_use]
pub fn held(snapshot: &Snapshot, cursor: Cursor, name: &str) -> HeldView {
    let logs = snapshot.held();
    let title = match logs.len() {
        0 => "Held logbooks".to_owned(),
        1 => "1 logbook is held: kept, not counted".to_owned(),
        many => format!("{many} logbooks are held: kept, not counted"),
    };
    let place = cursor.chosen(logs.len());
    let shown = cursor.shown(logs.len());
    let view = HeldView {
        title,
        logs: shown
            .map(|index| line(logs[index], place == Some(index)))
            .collect(),
        own_title: "The eight words of this office, for a tablet that compares them".to_owned(),
        own_words: snapshot.own.words().join("   "),
        page: cursor.page(logs.len()),
        ..HeldView::default()
    };
    match place {
        Some(place) => chosen(snapshot, logs[place], name, view),
        None => HeldView {
            nothing: "No logbook is held: every record here comes from an enrolled one.".to_owned(),
            ..view
        },
    }
}

/// What a logbook claims to be.
const fn kind(log: &LogView) -> &'static str {
    match log.role {
        Some(Role::Office) => "office",
        Some(Role::Tablet) | None => "tablet",
    }
}

/// What a logbook calls itself, or a way to speak of it.
fn label(log: &LogView) -> String {
    if log.name.is_empty() {
        format!("without a name, {}", log.log.short())
    } else {
        log.name.clone()
    }
}

fn line(log: &LogView, is_chosen: bool) -> HeldLine {
    HeldLine {
        id: log.log.to_string(),
        label: label(log),
        records: counted(log.records, "record", "records"),
        tone: Tone::Act,
        word: "held".to_owned(),
        is_chosen,
    }
}

fn chosen(snapshot: &Snapshot, log: &LogView, name: &str, view: HeldView) -> HeldView {
    let offset = snapshot.week.utc_offset_minutes;
    let kind = kind(log);
    let newest = log.newest_ms.map_or_else(
        || "not known".to_owned(),
        |ms| time::moment_and_year(ms, offset),
    );
    let mut facts = vec![
        Fact::new(
            "calls itself",
            format!(
                "{}, {}",
                label(log),
                if kind == "office" {
                    "an office"
                } else {
                    "a tablet"
                }
            ),
        ),
        Fact::new(
            "records here",
            format!(
                "{}, {} of them",
                log.records,
                counted(log.readings, "reading", "readings")
            ),
        ),
        Fact::new("newest record", newest),
    ];
    if log.is_copied {
        facts.push(
            Fact::new(
                "caution",
                "two records claim one place in it: it may have been copied",
            )
            .with(Tone::Caution),
        );
    }
    let is_named = !name.trim().is_empty();
    HeldView {
        heading: format!("{} is not enrolled here", label(log)),
        facts,
        words_title: "Its eight words".to_owned(),
        words: log.words.iter().map(|word| (*word).to_owned()).collect(),
        instruction: format!(
            "Call the person who has the {kind}, and let them read its own eight words aloud, in \
             order. They must be these:"
        ),
        enrol_label: if is_named {
            format!("These words match: enrol as {kind}")
        } else {
            "Give it a name first".to_owned()
        },
        can_enrol: is_named,
        caution: "Enrol only what you compared by voice. Its records count from then on, those held here included."
            .to_owned(),
        ..view
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::samples;

    #[test]
    fn held_logbook_shows_its_words_and_needs_a_name() {
        let snapshot = samples::snapshot();
        let view = held(&snapshot, Cursor::default(), "Spare");
        assert_eq!(view.title, "1 logbook is held: kept, not counted");
        assert_eq!(view.words, snapshot.held()[0].words);
        assert_eq!(view.enrol_label, "These words match: enrol as tablet");
        assert!(view.can_enrol);
        assert!(!held(&snapshot, Cursor::default(), " ").can_enrol);
    }

    #[test]
    fn logbook_that_claims_to_be_an_office_is_called_one() {
        let mut snapshot = samples::snapshot();
        for log in &mut snapshot.logs {
            log.role = Some(Role::Office);
            log.is_copied = true;
        }
        let view = held(&snapshot, Cursor::default(), "Other");
        assert_eq!(view.enrol_label, "These words match: enrol as office");
        assert!(view.facts.iter().any(|fact| fact.tone == Tone::Caution));
    }

    #[test]
    fn without_held_logbooks_the_own_words_remain() {
        let mut snapshot = samples::snapshot();
        snapshot.logs.truncate(3);
        let view = held(&snapshot, Cursor::default(), "");
        assert!(view.words.is_empty() && !view.nothing.is_empty());
        assert_eq!(view.own_words.split_whitespace().count(), 8);
    }
}
