//! The station screen and its sheets, from the entry as it stands.

use winze_core::record::{SkipReason, Tick};
use winze_core::station::{Quantity, Station};
use winze_core::verdict::{Entry, FlowState};

use super::flag::FlagLine;
use super::view::{Choice, Figure, GaugeView, Sentences, Tone};
use super::{gauge, sentence, words};
use crate::tablet::entry::StationEntry;

/// What stands around the entry on its screen.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct StationFrame {
    /// "5 of 12", or empty outside a round.
    pub position: String,
    /// "14 not yet at the office", or empty.
    pub waiting: String,
    /// What was said on arrival, such as that the station before is saved.
    pub arrival: Option<Sentences>,
    /// What went wrong last, or empty.
    pub trouble: String,
    /// When the reading under correction was taken, or empty.
    pub correcting: String,
}

/// What the station's past adds to its screen.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Around {
    /// What stands, or what the entry would raise.
    pub flag: Option<FlagLine>,
    /// Whether there is any reading to look back at.
    pub has_past: bool,
    /// Label of the key that corrects the reading of this round, or empty.
    pub correct: String,
}

/// The station screen.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StationView {
    /// The code at the station.
    pub code: String,
    /// Level and name.
    pub name: String,
    /// As in [`StationFrame`].
    pub position: String,
    /// As in [`StationFrame`].
    pub waiting: String,
    /// Inlet, interstage, outlet.
    pub gauges: [GaugeView; 3],
    /// Label of the first stage's symbol.
    pub first_stage: String,
    /// Label of the second stage's symbol.
    pub second_stage: String,
    /// What can be ticked.
    pub look_round: Vec<Choice>,
    /// Flowing or still.
    pub flow: Vec<Choice>,
    /// Whether a note is written.
    pub has_note: bool,
    /// What it means and what to do.
    pub sentences: Sentences,
    /// What stands, or what the entry would raise; without a heading where nothing does.
    pub flag: FlagLine,
    /// Label of the key that looks closer, or empty.
    pub closer: String,
    /// Label of the key that corrects the reading of this round, or empty.
    pub correct: String,
    /// Label of the key that passes the station by, or leaves a correction.
    pub skip: String,
    /// Label of the key to the next gauge.
    pub next_gauge: String,
    /// Label of the key to the read-back.
    pub read_back: String,
    /// Whether there is anything to read back.
    pub can_read_back: bool,
    /// One step of the nudge keys, or empty.
    pub nudge_step: String,
}

/// The read-back sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReadBackView {
    /// Inlet, interstage, outlet.
    pub figures: Vec<Figure>,
    /// Look-round and flow in one sentence each.
    pub looked_round: String,
    /// The note, or empty.
    pub note: String,
    /// What saving would raise, or what stands.
    pub flag: FlagLine,
    /// On the key that saves.
    pub save: String,
}

/// Names a thing to tick.
#[must_use]
pub const fn tick(tick: Tick) -> &'static str {
    match tick {
        Tick::Leak => "leak",
        Tick::Damage => "damage",
        Tick::Noise => "noise",
        Tick::Flooding => "flooding",
        Tick::Access => "access",
    }
}

/// Names a reason to skip.
#[must_use]
pub const fn skip_reason(reason: SkipReason) -> &'static str {
    match reason {
        SkipReason::NoAccess => "No way in",
        SkipReason::NotSafe => "Not safe at the moment",
        SkipReason::OutOfService => "Out of service",
        SkipReason::GaugesUnreadable => "Gauges cannot be read",
        SkipReason::NoTime => "No time left",
        SkipReason::Other => "Something else: write a note",
    }
}

/// The reasons to choose from.
#[must_use]
pub fn skip_reasons() -> Vec<Choice> {
    SkipReason::ALL
        .into_iter()
        .map(|reason| Choice::new(reason.code(), skip_reason(reason)))
        .collect()
}

/// What is often written in a note, to be put in with one touch.
#[must_use]
pub fn phrases() -> Vec<Choice> {
    [
        "gauge glass dirty",
        "gauge glass broken",
        "needle swings",
        "tag missing",
        "valve found part closed",
        "work going on near by",
    ]
    .into_iter()
    .map(|phrase| Choice::new(phrase, phrase))
    .collect()
}

/// Shows the station screen.
#[must_use]
pub fn station(entry: &StationEntry, frame: &StationFrame, around: &Around) -> StationView {
    let definition = entry.station();
    let judgement = entry.judgement();
    let gauges = Quantity::ALL.map(|quantity| {
        gauge::gauge(
            definition,
            &judgement,
            quantity,
            &entry.cell(quantity).text,
            entry.value(quantity),
            entry.chosen() == quantity,
        )
    });
    let read = Quantity::ALL
        .into_iter()
        .filter(|quantity| entry.value(*quantity).is_some());
    let read = read.count();
    let is_correcting = !frame.correcting.is_empty();
    let flag = around
        .flag
        .clone()
        .filter(|_| !is_correcting)
        .unwrap_or_default();
    StationView {
        code: definition.code.as_str().to_owned(),
        name: words::place(definition),
        position: frame.position.clone(),
        waiting: frame.waiting.clone(),
        gauges,
        first_stage: first_stage(definition),
        second_stage: second_stage(definition),
        // A correction is about the values only.
        look_round: if is_correcting {
            Vec::new()
        } else {
            look_round(entry)
        },
        flow: flow(entry),
        has_note: !entry.note().is_empty(),
        sentences: with_flag(said(entry, frame, &judgement), &flag),
        closer: if !flag.heading.is_empty() {
            "Suspects\nand check".to_owned()
        } else if around.has_past || read > 0 {
            "History".to_owned()
        } else {
            String::new()
        },
        flag,
        correct: around.correct.clone(),
        skip: if is_correcting {
            "Leave it as it was".to_owned()
        } else {
            "Skip, with a reason".to_owned()
        },
        next_gauge: next_gauge(entry, read),
        read_back: read_back_label(entry, read),
        can_read_back: read > 0,
        nudge_step: match entry.value(entry.chosen()) {
            Some(_) => entry.nudge_step(),
            None => String::new(),
        },
    }
}

fn first_stage(station: &Station) -> String {
    let ratio = station
        .first_stage
        .as_left_ratio
        .unwrap_or(station.first_stage.ratio);
    let how = if station.first_stage.as_left_ratio.is_some() {
        " as left"
    } else {
        ""
    };
    format!("first stage {ratio} : 1{how}")
}

fn second_stage(station: &Station) -> String {
    format!(
        "second stage set {}",
        words::typed(station.second_stage.set_point)
    )
}

fn look_round(entry: &StationEntry) -> Vec<Choice> {
    Tick::ALL
        .into_iter()
        .map(|one| Choice {
            is_on: entry.ticks().has(one),
            tone: Tone::Caution,
            ..Choice::new(one.code(), tick(one))
        })
        .collect()
}

fn flow(entry: &StationEntry) -> Vec<Choice> {
    [(FlowState::Flowing, "flowing"), (FlowState::Still, "still")]
        .into_iter()
        .map(|(state, label)| Choice {
            is_on: entry.flow() == state,
            ..Choice::new(state.code(), label)
        })
        .collect()
}

fn said(
    entry: &StationEntry,
    frame: &StationFrame,
    judgement: &winze_core::verdict::Judgement,
) -> Sentences {
    if !frame.trouble.is_empty() {
        return Sentences {
            meaning: frame.trouble.clone(),
            tone: Tone::Caution,
            ..Sentences::default()
        };
    }
    match &frame.arrival {
        Some(arrival) => arrival.clone(),
        None => sentence::sentences(entry.station(), judgement, entry.flow()),
    }
}

/// With a flag there is one thing to do about it; the sentence on the verdict stays where it is no
/// good news.
fn with_flag(said: Sentences, flag: &FlagLine) -> Sentences {
    if flag.heading.is_empty() {
        return said;
    }
    if matches!(said.tone, Tone::Within) {
        return Sentences::default();
    }
    Sentences {
        advice: String::new(),
        ..said
    }
}

fn next_gauge(entry: &StationEntry, read: usize) -> String {
    if read == 3 {
        "next gauge".to_owned()
    } else {
        format!("next: {}", words::gauge(entry.next_gauge()))
    }
}

fn noticed(entry: &StationEntry) -> Vec<&'static str> {
    entry.ticks().iter().map(tick).collect()
}

fn read_back_label(entry: &StationEntry, read: usize) -> String {
    match (read, noticed(entry).as_slice()) {
        (0, _) => "No gauge read yet".to_owned(),
        (1 | 2, _) => format!("Read back {read} of 3"),
        (_, []) => "Look-round clear:\nread back".to_owned(),
        (_, noticed) => format!("Read back: {}", words::listed(noticed)),
    }
}

/// Shows the read-back sheet.
#[must_use]
pub fn read_back(
    entry: &StationEntry,
    flag: Option<FlagLine>,
    was: Option<&Entry>,
) -> ReadBackView {
    let judgement = entry.judgement();
    let figures = Quantity::ALL.map(|quantity| {
        gauge::figure(entry.station(), &judgement, quantity, entry.value(quantity))
    });
    let look = match noticed(entry).as_slice() {
        [] => "Look-round: nothing amiss.".to_owned(),
        noticed => format!("Look-round: {}.", words::listed(noticed)),
    };
    let flow = match entry.flow() {
        FlowState::Flowing => " Water flowing.",
        FlowState::Still => " No flow.",
        FlowState::NotNoted => "",
    };
    ReadBackView {
        figures: figures.to_vec(),
        looked_round: match was {
            Some(was) => format!("Was {}.", values(was)),
            None => format!("{look}{flow}"),
        },
        flag: flag.filter(|_| was.is_none()).unwrap_or_default(),
        save: match was {
            Some(_) => "Correct it: say why".to_owned(),
            None => "Save and go on".to_owned(),
        },
        note: if entry.note().is_empty() {
            String::new()
        } else {
            format!("Note: {}", entry.note())
        },
    }
}

/// The values of an entry in a row: "10.2 bar, 4.1 bar and 2.6 bar".
fn values(entry: &Entry) -> String {
    let values = Quantity::ALL.map(|quantity| match entry.get(quantity) {
        Some(value) => words::typed(value),
        None => format!("{} not read", words::gauge(quantity)),
    });
    words::listed(&values.each_ref().map(String::as_str))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;

    fn entered(values: [&str; 3]) -> StationEntry {
        let mut entry = StationEntry::new(samples::station(), Vec::new());
        for (quantity, text) in Quantity::ALL.into_iter().zip(values) {
            entry.choose(quantity);
            text.chars().for_each(|key| entry.key(key));
        }
        entry
    }

    #[test]
    fn untouched_station_shows_no_value_and_no_verdict() {
        let entry = StationEntry::new(samples::station(), Vec::new());
        let view = station(&entry, &StationFrame::default(), &Around::default());
        assert!(view.gauges.iter().all(|gauge| {
            gauge.value.is_empty() && gauge.verdict.is_empty() && gauge.needle_degrees.is_none()
        }));
        assert!(!view.can_read_back);
        assert_eq!(view.first_stage, "first stage 2.5 : 1");
        assert_eq!(view.second_stage, "second stage set 2.0 bar");
        assert_eq!(view.nudge_step, "");
    }

    #[test]
    fn key_to_the_read_back_says_what_it_will_state() {
        let label = |entry: &StationEntry| {
            station(entry, &StationFrame::default(), &Around::default()).read_back
        };
        assert_eq!(label(&entered(["", "", ""])), "No gauge read yet");
        assert_eq!(label(&entered(["10.2", "4.1", ""])), "Read back 2 of 3");
        let mut entry = entered(["10.2", "4.1", "2.0"]);
        assert_eq!(label(&entry), "Look-round clear:\nread back");
        entry.toggle_tick(Tick::Leak);
        entry.toggle_tick(Tick::Noise);
        assert_eq!(label(&entry), "Read back: leak and noise");
    }

    #[test]
    fn read_back_shows_values_look_round_and_flow() {
        let mut entry = entered(["10.2", "4.1", ""]);
        entry.toggle_flow(FlowState::Still);
        let back = read_back(&entry, None, None);
        let values: Vec<_> = back
            .figures
            .iter()
            .map(|figure| figure.value.as_str())
            .collect();
        assert_eq!(values, ["10.2", "4.1", "\u{2013}"]);
        assert_eq!(back.looked_round, "Look-round: nothing amiss. No flow.");
        assert_eq!(back.note, "");
    }

    #[test]
    fn flag_takes_the_place_of_good_news_and_stands_beside_bad() {
        let around = Around {
            flag: Some(FlagLine {
                heading: "Slow change: outlet pressure".to_owned(),
                ..FlagLine::default()
            }),
            ..Around::default()
        };
        let show = |entry: &StationEntry| station(entry, &StationFrame::default(), &around);
        let good = show(&entered(["10.2", "4.1", "2.0"]));
        assert_eq!(good.sentences, Sentences::default());
        assert_eq!(good.closer, "Suspects\nand check");
        let bad = show(&entered(["10.2", "4.1", "2.6"]));
        assert!(
            bad.sentences.meaning.contains("above"),
            "{}",
            bad.sentences.meaning
        );
        assert_eq!(bad.sentences.advice, "");
        assert_eq!(bad.flag.heading, "Slow change: outlet pressure");
    }

    #[test]
    fn correction_shows_what_was_and_asks_why_instead_of_saving() {
        let entry = entered(["10.2", "4.1", "2.0"]);
        let before = samples::entry(["10.2", "4.1", ""]);
        let back = read_back(&entry, None, Some(&before));
        assert_eq!(
            back.looked_round,
            "Was 10.2 bar, 4.1 bar and outlet not read."
        );
        assert_eq!(back.save, "Correct it: say why");
        let frame = StationFrame {
            correcting: "09:41".to_owned(),
            ..StationFrame::default()
        };
        let view = station(&entry, &frame, &Around::default());
        assert_eq!(view.skip, "Leave it as it was");
        assert!(view.look_round.is_empty());
    }

    #[test]
    fn arrival_and_trouble_stand_before_the_verdict() {
        let entry = StationEntry::new(samples::station(), Vec::new());
        let mut frame = StationFrame {
            arrival: Some(Sentences {
                meaning: "T-06 is saved.".to_owned(),
                ..Sentences::default()
            }),
            ..StationFrame::default()
        };
        assert_eq!(
            station(&entry, &frame, &Around::default())
                .sentences
                .meaning,
            "T-06 is saved."
        );
        frame.trouble = "The disk is full.".to_owned();
        assert_eq!(
            station(&entry, &frame, &Around::default())
                .sentences
                .meaning,
            "The disk is full."
        );
    }
}
