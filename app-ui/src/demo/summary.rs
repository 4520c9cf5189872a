//! What came of the demo, for people and for programs.
//!
//! `summary.json` holds [`Summary`] as it stands here; fields are only ever added. `summary.txt`
//! is the same in sentences. Names of files and the words of logbooks differ from run to run,
//! because every run makes new keys; everything else follows from the seed.

use std::fmt::Write as _;

use serde::Serialize;

use crate::messages::counted;

/// What came of the demo.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Summary {
    /// What the invented mine is called.
    pub mine: &'static str,
    /// What everything but keys follows from.
    pub seed: u64,
    /// The day, `YYYY-MM-DD`.
    pub day: String,
    /// `findings`: the demo ended as it should, and there is something to look at.
    pub outcome: &'static str,
    /// Stations in the register.
    pub stations: usize,
    /// The history taken over from old sheets.
    pub history: History,
    /// What grows wrong at which station.
    pub faults: Vec<FaultSummary>,
    /// The walk-rounds of the day.
    pub rounds: Vec<RoundSummary>,
    /// Every bundle of the day, in order.
    pub bundles: Vec<BundleSummary>,
    /// The merge at the office.
    pub merge: MergeSummary,
    /// The unknown tablet.
    pub unknown: UnknownSummary,
    /// The disputed reading.
    pub question: QuestionSummary,
    /// What the return bundle brought the tablets.
    pub returned: Vec<ReturnSummary>,
    /// The damaged bundle's records, sent again.
    pub resent: ResentSummary,
    /// What the office sees at the end.
    pub office: OfficeSummary,
    /// What was raised about the readings, and which of the faults were found by it.
    pub assess: AssessSummary,
    /// What was put right after that, and the papers of it.
    pub works: Vec<WorkSummary>,
    /// What is due at the end; the calendar is `due.ics`.
    pub due: super::DueSummary,
    /// Pictures of the screens.
    pub pictures: Vec<String>,
}

/// What was raised about the readings.
#[derive(Debug, Clone, Default, Serialize)]
pub struct AssessSummary {
    /// Flags raised over the whole history.
    pub flags: usize,
    /// Those of them at a station with nothing wrong.
    pub without_a_fault: usize,
    /// Each of the faults, and whether it was found.
    pub found: Vec<FoundSummary>,
}

/// Whether a fault was found. Everything but the fault itself is absent while it was not.
#[derive(Debug, Clone, Serialize)]
pub struct FoundSummary {
    /// The station.
    pub station: String,
    /// The simulated fault.
    pub fault: &'static str,
    /// When it was first flagged, `YYYY-MM-DD`.
    pub found_on: Option<String>,
    /// Whole days from its beginning until then.
    pub days_after: Option<i64>,
    /// The rule that flagged it.
    pub rule: Option<&'static str>,
    /// What the flag was about.
    pub quantity: Option<&'static str>,
    /// The cause suspected first at that flag.
    pub suspect: Option<&'static str>,
    /// Its probability.
    pub probability: Option<f64>,
    /// Whether that is what was simulated.
    pub is_right: bool,
}

impl FoundSummary {
    /// The same in a sentence.
    fn to_text(&self) -> String {
        let (Some(on), Some(days)) = (&self.found_on, self.days_after) else {
            return format!("{} at {} was not found.", self.fault, self.station);
        };
        let percent = 100.0 * self.probability.unwrap_or(0.0);
        format!(
            "{} at {} was flagged on {on}, {} after it began; first suspect {} ({percent:.0} %), \
             {}.",
            self.fault,
            self.station,
            counted(days.max(0).unsigned_abs(), "day", "days"),
            self.suspect.unwrap_or("none"),
            if self.is_right {
                "which it is"
            } else {
                "which it is not"
            }
        )
    }
}

/// The history taken over from old sheets.
#[derive(Debug, Clone, Default, Serialize)]
pub struct History {
    /// Weeks it covers.
    pub weeks: u32,
    /// Readings taken over.
    pub readings: u64,
    /// Readings added when the same sheets were loaded again.
    pub added_when_loaded_again: u64,
    /// Rows left out, each with the reason.
    pub refused: Vec<String>,
    /// What was noticed about the sheets.
    pub notices: Vec<String>,
}

/// What grows wrong at a station.
#[derive(Debug, Clone, Serialize)]
pub struct FaultSummary {
    /// The station.
    pub station: String,
    /// The simulated fault.
    pub fault: &'static str,
    /// Since when, `YYYY-MM-DD`.
    pub since: String,
}

/// One walk-round.
#[derive(Debug, Clone, Serialize)]
pub struct RoundSummary {
    /// Whose.
    pub tablet: String,
    /// Stations on it.
    pub stations: usize,
    /// Stations read.
    pub read: usize,
    /// Stations passed by.
    pub skipped: usize,
    /// Things noticed on the look-round.
    pub noticed: Vec<String>,
}

/// One bundle.
#[derive(Debug, Clone, Serialize)]
pub struct BundleSummary {
    /// The file, below the demo's folder.
    pub file: String,
    /// Who packed it.
    pub from: String,
    /// Records packed.
    pub records: u64,
    /// `whole` or `damaged`.
    pub state: &'static str,
}

/// The merge at the office.
#[derive(Debug, Clone, Default, Serialize)]
pub struct MergeSummary {
    /// Records that were new.
    pub new_records: u64,
    /// Readings that were new.
    pub new_readings: u64,
    /// The damaged bundle's file.
    pub damaged_bundle: String,
    /// What it lost, in sentences.
    pub losses: Vec<String>,
    /// The same, record by record.
    pub lost: Vec<LostSummary>,
}

/// A record lost with the damaged bundle.
#[derive(Debug, Clone, Serialize)]
pub struct LostSummary {
    /// Whose log.
    pub tablet: String,
    /// Its place in that log.
    pub seq: u64,
    /// What it says.
    pub says: String,
}

/// The unknown tablet.
#[derive(Debug, Clone, Default, Serialize)]
pub struct UnknownSummary {
    /// Its eight words.
    pub words: String,
    /// Records kept and not counted before it was enrolled.
    pub held_records: u64,
    /// Readings that count before it was enrolled.
    pub readings_before: u64,
    /// Readings that count after.
    pub readings_after: u64,
}

/// The disputed reading.
#[derive(Debug, Clone, Default, Serialize)]
pub struct QuestionSummary {
    /// The station.
    pub station: String,
    /// What each tablet read.
    pub readings: Vec<String>,
    /// What the clerk chose.
    pub answer: String,
}

/// What the return bundle brought one tablet.
#[derive(Debug, Clone, Serialize)]
pub struct ReturnSummary {
    /// Which tablet.
    pub tablet: String,
    /// Own records the office had not acknowledged before.
    pub waiting_before: u64,
    /// And after.
    pub waiting_after: u64,
}

/// The damaged bundle's records, sent again.
#[derive(Debug, Clone, Default, Serialize)]
pub struct ResentSummary {
    /// The bundle, below the demo's folder.
    pub file: String,
    /// Records in it that were new at the office.
    pub new_records: u64,
}

/// What the office sees at the end.
#[derive(Debug, Clone, Default, Serialize)]
pub struct OfficeSummary {
    /// Readings that count.
    pub readings: u64,
    /// Stations whose newest reading is outside.
    pub outside: Vec<String>,
    /// Stations whose newest reading is unsure.
    pub unsure: Vec<String>,
    /// Stations missed.
    pub missed: Vec<String>,
    /// Questions still open.
    pub questions: usize,
    /// Records still held.
    pub held: u64,
}

/// Work done at one station by its procedure.
#[derive(Debug, Clone, Serialize)]
pub struct WorkSummary {
    /// The station.
    pub station: String,
    /// Code of its document: `certificate`, `recalibration`, `yearly` or `inspection`.
    pub work: &'static str,
    /// Id of the record that began it.
    pub procedure: String,
    /// Readings taken while the screw was turned.
    pub turns: usize,
    /// What the outlet gauge showed as left, in its own unit.
    pub outlet_bar: Option<f64>,
    /// The document, below the demo's folder.
    pub file: String,
    /// Pages of it.
    pub pages: usize,
}

impl Summary {
    /// The summary in sentences, one a line.
    #[must_use]
    #[allow(clippy::too_many_lines, reason = "one sentence after the other")]
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        let mut line = |sentence: String| {
            let _ = writeln!(text, "{sentence}");
        };
        line(format!(
            "{} on {}: an invented mine, seed {}.",
            self.mine, self.day, self.seed
        ));
        line(format!(
            "{} on the register; {} from old sheets over {} weeks, {} when loaded again.",
            counted(self.stations as u64, "station", "stations"),
            counted(self.history.readings, "reading", "readings"),
            self.history.weeks,
            self.history.added_when_loaded_again
        ));
        for refused in self.history.refused.iter().chain(&self.history.notices) {
            line(format!("  {refused}"));
        }
        for fault in &self.faults {
            line(format!(
                "Simulated at {} since {}: {}.",
                fault.station, fault.since, fault.fault
            ));
        }
        for round in &self.rounds {
            line(format!(
                "{} walked {}: {} read, {} passed by.",
                round.tablet,
                counted(round.stations as u64, "station", "stations"),
                round.read,
                round.skipped
            ));
            round
                .noticed
                .iter()
                .for_each(|noticed| line(format!("  Noticed: {noticed}.")));
        }
        for bundle in &self.bundles {
            line(format!(
                "Bundle {} of {}: {}, {}.",
                bundle.file,
                bundle.from,
                counted(bundle.records, "record", "records"),
                bundle.state
            ));
        }
        line(format!(
            "The office took in {}, of which {}.",
            counted(self.merge.new_records, "new record", "new records"),
            counted(self.merge.new_readings, "reading", "readings")
        ));
        line(format!("{} was damaged:", self.merge.damaged_bundle));
        self.merge
            .losses
            .iter()
            .for_each(|loss| line(format!("  {loss}")));
        for lost in &self.merge.lost {
            line(format!(
                "  Record {} of {} said: {}",
                lost.seq, lost.tablet, lost.says
            ));
        }
        line("  Everything else in it was taken in.".to_owned());
        line(format!(
            "An unknown tablet sent {}; held until its words were compared ({}). Readings that \
             count: {} before, {} after.",
            counted(self.unknown.held_records, "record", "records"),
            self.unknown.words,
            self.unknown.readings_before,
            self.unknown.readings_after
        ));
        line(format!(
            "Two tablets disagreed on {}:",
            self.question.station
        ));
        self.question
            .readings
            .iter()
            .for_each(|reading| line(format!("  {reading}")));
        line(format!("  The clerk decided: {}.", self.question.answer));
        for back in &self.returned {
            line(format!(
                "{} took in the return bundle: {} not yet at the office before, {} after.",
                back.tablet, back.waiting_before, back.waiting_after
            ));
        }
        line(format!(
            "What the damaged bundle had lost came with {}: {}.",
            self.resent.file,
            counted(self.resent.new_records, "new record", "new records")
        ));
        line(format!(
            "{} over the whole history, {} of them at a station with nothing wrong.",
            counted(self.assess.flags as u64, "flag", "flags"),
            self.assess.without_a_fault
        ));
        for found in &self.assess.found {
            line(format!("  {}", found.to_text()));
        }
        let list = |codes: &[String]| match codes {
            [] => "none".to_owned(),
            codes => codes.join(", "),
        };
        line(format!(
            "After the rounds {} count. Outside: {}. Unsure: {}. Missed: {}. Questions: {}. Held: {}.",
            counted(self.office.readings, "reading", "readings"),
            list(&self.office.outside),
            list(&self.office.unsure),
            list(&self.office.missed),
            self.office.questions,
            self.office.held
        ));
        for work in &self.works {
            line(format!(
                "Then put right at {}: {}, {}. See {}.",
                work.station,
                work.work,
                counted(work.turns as u64, "turn of the screw", "turns of the screw"),
                work.file
            ));
        }
        line(format!("Upkeep: {}. See due.ics.", self.due.says));
        line(counted(self.pictures.len() as u64, "picture", "pictures") + " of the screens.");
        text
    }
}
