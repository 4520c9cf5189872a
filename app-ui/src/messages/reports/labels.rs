//! The fixed labels and sentences of documents.

/// What the id at the foot belongs to.
pub const ID_OF: &str = "record";
/// Not ended.
pub const NOT_ENDED: &str = "Not completed: work in progress";
/// What an inspection leaves open.
pub const SET_UP_FOLLOWS: &str = "Not in service by this: a set-up follows";
/// As left was not read.
pub const NOT_READ_AS_LEFT: &str = "As left: not read";

/// Label: the beginning.
pub const BEGUN: &str = "begun";
/// Label: who did the work.
pub const DONE_BY: &str = "done by, as typed";
/// Label: who looked it over.
pub const SEEN_BY: &str = "seen by, as typed";
/// Label: why.
pub const REASON: &str = "reason";
/// Label: set point.
pub const SET_POINT: &str = "set point";
/// Label: spring range.
pub const SPRING: &str = "pilot spring";
/// Label: nominal ratio.
pub const RATIO: &str = "ratio, nominal";
/// Label: ratio as left.
pub const RATIO_LEFT: &str = "ratio as left";
/// Label: usual inlet.
pub const INLET_USUAL: &str = "usual inlet";
/// Label: highest permitted downstream pressure.
pub const DOWNSTREAM_MAX: &str = "permitted downstream";
/// Label: relief valve.
pub const RELIEF: &str = "relief opens at";
/// Label: the definition the work rests on.
pub const DEFINITION: &str = "definition";
/// Not in the definition.
pub const NOT_KNOWN: &str = "not known";

/// Heading: the gauges.
pub const GAUGES: &str = "As found and as left";
/// Before the work.
pub const AS_FOUND: &str = "as found";
/// After the work.
pub const AS_LEFT: &str = "as left";
/// Before the work, at the head of a column.
pub const AS_FOUND_HEAD: &str = "As found";
/// After the work, at the head of a column.
pub const AS_LEFT_HEAD: &str = "As left";
/// Head: gauge.
pub const GAUGE: &str = "gauge";
/// Head: what it showed.
pub const READ: &str = "read";
/// Head: what it ought to show.
pub const EXPECTED: &str = "expected";
/// Head: the verdict.
pub const VERDICT: &str = "verdict";
/// A gauge that was not read.
pub const NOT_READ: &str = "not read";
/// Nothing to compare with.
pub const NOTHING_EXPECTED: &str = "nothing";
/// No verdict.
pub const NOT_JUDGED: &str = "not judged";
/// Nothing stands here.
pub const NO_FIGURE: &str = "\u{2013}";
/// What the figures in the table are.
pub const GAUGES_NOTE: &str = "\u{b1} is the expanded uncertainty of the comparison (k = 2, by JCGM 100); the percentage is \
     the probability that the true value lies in the expected band (JCGM 106). Within at 95 % or \
     more, outside at 5 % or less, else unsure. Grey on the dials: where the needle ought to stand \
     as left.";

/// Heading: the setting.
pub const SETTING: &str = "Set point and setting";
/// Label: what it came with.
pub const FACTORY_SET_POINT: &str = "set point it came with";
/// Label: decision.
pub const DECIDED: &str = "decided";
/// No readings of the setting.
pub const NO_POINTS: &str = "No readings were taken while the screw was turned.";
/// The smallest draw-off is accepted, and said.
pub const ONLY_SMALLEST_DRAW: &str = "Set with the smallest draw-off only, which is not ideal: read the outlet again at the usual \
     draw-off.";
/// Some readings were taken with the smallest draw-off.
pub const SOME_SMALLEST_DRAW: &str =
    "Some readings were taken with the smallest draw-off, which is not ideal; they are drawn open.";
/// Label: from first to last.
pub const FROM_TO: &str = "outlet, first to last";
/// Label: turns.
pub const TURNS_IN_ALL: &str = "turns in, in all";
/// Label: what a turn does.
pub const PER_TURN: &str = "one turn in adds";
/// Too few readings.
pub const NOT_ENOUGH_POINTS: &str = "not enough readings to say";
/// Label: play.
pub const BACKLASH: &str = "play of the screw";
/// Foot of the chart.
pub const TURNS_FOOT: &str = "turns of the screw, in is positive";
/// What the points mean.
pub const DRAW_LEGEND: [&str; 2] = ["usual draw-off", "smallest draw-off"];
/// Heading: every reading of the setting.
pub const POINTS: &str = "Readings while setting";
/// Head: number.
pub const NUMBER: &str = "no.";
/// Head: turns.
pub const TURNS: &str = "turns";
/// Head: outlet.
pub const OUTLET: &str = "outlet";
/// Head: draw-off.
pub const DRAW_OFF: &str = "draw-off";
/// Head: time.
pub const WHEN: &str = "when";
/// Head: person.
pub const BY: &str = "name as typed";

/// Heading: what was found.
pub const FINDINGS: &str = "What was found";
/// Nothing found.
pub const NO_FINDINGS: &str = "Nothing was noted.";
/// Head: parts.
pub const PARTS: &str = "parts used";

/// Heading: history.
pub const HISTORY: &str = "Before and after";
/// No visits.
pub const NO_VISITS: &str = "No readings lie before or after the work.";
/// What the shapes mean.
pub const HISTORY_NOTE: &str = "Open ring: within. Half-filled ring: unsure. Solid diamond: outside. Dot: nothing was expected. \
     Every visit is judged by the definition that holds as left. Grey: usual inlet range, and set \
     point with its allowed band.";

/// Heading: steps passed over.
pub const PASSED_OVER: &str = "Steps passed over";
/// Heading: all steps.
pub const STEPS: &str = "Steps";
/// Head: step.
pub const STEP: &str = "step";
/// Head: how it stands.
pub const STATE: &str = "state";
/// Head: time and person.
pub const WHEN_AND_WHO: &str = "when and who";
/// Head: what was recorded.
pub const RECORDED_THERE: &str = "recorded";
/// Head: reason.
pub const REASON_HEAD: &str = "reason";

/// Heading: cautions.
pub const CAUTIONS: &str = "Cautions";
/// Head: caution.
pub const CAUTION: &str = "caution";
/// Head: where it stands.
pub const STANDS_AT: &str = "stands at";
/// Head: who recorded those steps.
pub const STEPS_BY: &str = "steps recorded by";
/// Nobody recorded them.
pub const NOBODY: &str = "nobody";
/// What the list of cautions is.
pub const CAUTIONS_NOTE: &str = "These cautions stood on the screen of the steps named. They inform; they replace no permit and \
     no local code.";

/// Heading: persons.
pub const PERSONS: &str = "Recorded by";
/// Head: name.
pub const NAME_AS_TYPED: &str = "name as typed";
/// Head: logbook.
pub const LOGBOOK: &str = "logbook";
/// Head: how much.
pub const RECORDED: &str = "recorded";
/// Head: when.
pub const FROM_UNTIL: &str = "from, until";
/// What a typed name is.
pub const PERSONS_NOTE: &str = "Names stand as they were typed on the tablet; they are not signatures. The lines below are for \
     signing by hand where the site asks for it.";
/// What belongs on the lines.
pub const TO_FILL: [&str; 3] = ["name", "date", "signature by hand"];

/// Heading: the hydraulic check.
pub const HYDRAULICS: &str = "Hydraulic check and failure cases";
/// Nothing recommended.
pub const NOTHING_TO_OBJECT: &str = "Nothing to object to.";

/// Heading: records.
pub const RECORDS: &str = "Records";
/// Head: record.
pub const RECORD: &str = "record";
/// Head: id.
pub const ID_BEGINS: &str = "id begins with";
/// A reading taken with a step.
pub const RECORD_READING: &str = "reading of the gauges";
/// The first record.
pub const RECORD_OPENED: &str = "work begun";

/// Heading: about the document.
pub const ABOUT_HEADING: &str = "About this document";
/// What the document is and is not.
pub const ABOUT_LINES: [&str; 3] = [
    "Made by Winze from signed records; the same records always give the same document, to the byte. \
     The code on the first page is the id of the record that began the work, as plain text. \
     \u{201c}winze show\u{201d} with an id prints its record, \u{201c}winze verify\u{201d} checks every signature of a logbook.",
    "Each record is signed by the key of its logbook when it is confirmed. That proves which logbook \
     wrote it and that it was not changed since; it does not prove who held the tablet.",
    "Winze informs and records. Local codes, site permits and licensed people decide.",
];

/// Title of the week's sheet.
pub const WEEK_TITLE: &str = "Week sheet";
/// Heading: what needs somebody.
pub const TO_LOOK_AT: &str = "To look at";
/// Nothing needs anybody.
pub const NOTHING_TO_LOOK_AT: &str = "Nothing needs anybody in this week.";
/// Head: what is the matter.
pub const MATTER: &str = "what is the matter";
/// Heading: the stations.
pub const STATIONS: &str = "Stations and their newest reading";
/// No stations.
pub const NO_STATIONS: &str = "No station is defined here yet.";
/// Head: station.
pub const STATION: &str = "station";
/// Head: the newest reading.
pub const LAST_READ: &str = "read";
/// No reading for a long time.
pub const NOT_READ_LATELY: &str = "not in ten weeks";
/// Heading: what falls due.
pub const FALLS_DUE: &str = "Due, and open jobs";
/// Nothing due.
pub const NOTHING_DUE: &str = "Nothing is due and no job is open.";
/// Head: task.
pub const TASK: &str = "task";
/// Head: how it stands.
pub const STANDS: &str = "how it stands";
/// Head: how it stands, and why.
pub const STANDS_AND_WHY: &str = "how it stands, and why";
/// The due list.
pub const DUE_TITLE: &str = "Due list";
/// What the due list rests on.
pub const DUE_NOTE: &str = "Intervals are common practice, no source. Winze informs and records; local codes, site permits \
     and licensed people decide.";
/// A job, not a task that comes round.
pub const JOB: &str = "job";
/// Heading: who has seen the sheet.
pub const SEEN: &str = "Seen";
/// What the sheet rests on.
pub const WEEK_NOTE: &str = "Verdicts stand as they were shown when the reading was taken. What is due is worked out for the \
     last day of the week, or for today in the week of today. Winze informs and records; local codes, \
     site permits and licensed people decide.";

/// What a finding is about.
pub const STRAINER: &str = "strainer";
/// What a finding is about.
pub const FIRST_STAGE: &str = "first stage inside";
/// What a finding is about.
pub const SECOND_STAGE: &str = "second stage inside";
