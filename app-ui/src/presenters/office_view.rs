//! The plain structs that the office window's screens are given.
//!
//! Empty texts and empty lists stand for what is not known; nothing here has a default that
//! could pass for a reading.

pub use super::office_station_view::{Cell, ReadingLine, StationPage, SumLine};
use super::view::{Figure, Tone};

/// A number with its meaning; choosing it narrows a list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tally {
    /// What the screen answers with.
    pub id: String,
    /// The word under it.
    pub label: String,
    /// The number.
    pub count: usize,
    /// What it means.
    pub tone: Tone,
    /// Whether the list is narrowed to it.
    pub is_chosen: bool,
}

/// A name and what stands against it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fact {
    /// The name.
    pub name: String,
    /// What stands against it.
    pub value: String,
    /// What it means, where it means something.
    pub tone: Tone,
}

impl Fact {
    /// Makes a fact that means nothing in particular.
    pub fn new(name: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            value: value.into(),
            tone: Tone::None,
        }
    }

    /// The same, with a meaning.
    #[must_use]
    pub fn with(mut self, tone: Tone) -> Self {
        self.tone = tone;
        self
    }
}

/// Which part of a list is shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Page {
    /// "1 to 8 of 14".
    pub text: String,
    /// Whether there is a page before.
    pub can_back: bool,
    /// Whether there is a page after.
    pub can_on: bool,
}

/// One thing that needs the clerk.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AttentionLine {
    /// What the screen answers with.
    pub id: String,
    /// What it means.
    pub tone: Tone,
    /// The same in a word.
    pub word: String,
    /// The station, if it is about one.
    pub code: String,
    /// Its name and level, or what it is about instead.
    pub name: String,
    /// What is the matter, in one sentence.
    pub sentence: String,
    /// When it was noticed, and by whom.
    pub when: String,
    /// Whether the keyboard is on it.
    pub is_chosen: bool,
}

/// One station in walking order, or the level it lies on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FleetLine {
    /// The code, which the screen answers with.
    pub code: String,
    /// Whether it only names the level of what follows.
    pub is_heading: bool,
    /// Name of the station or level.
    pub name: String,
    /// The last three readings, the latest at the end.
    pub marks: Vec<Tone>,
    /// How it stands.
    pub tone: Tone,
    /// The same in a word.
    pub word: String,
    /// Why it stands where it stands, in one phrase.
    pub reason: String,
    /// The day of its last reading.
    pub last_read: String,
    /// Its set point, and the values of its last reading in flow order.
    pub values: String,
    /// Whether the keyboard is on it.
    pub is_chosen: bool,
}

/// The week at a glance.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WeekView {
    /// Which week.
    pub title: String,
    /// How far it is done.
    pub detail: String,
    /// Whether there is a week after it.
    pub can_later: bool,
    /// How many of what.
    pub tallies: Vec<Tally>,
    /// What the list below holds.
    pub attention_title: String,
    /// Said instead of an empty list.
    pub nothing: String,
    /// Said while there is no station at all.
    pub first_steps: String,
    /// What needs the clerk, the most urgent first.
    pub attention: Vec<AttentionLine>,
    /// Which part of it.
    pub attention_page: Page,
    /// What the list of stations holds.
    pub fleet_title: String,
    /// The stations.
    pub fleet: Vec<FleetLine>,
    /// Which part of them.
    pub fleet_page: Page,
}

/// A bundle in the tray.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BundleLine {
    /// What the screen answers with.
    pub id: String,
    /// How it was found.
    pub tone: Tone,
    /// The same in a word.
    pub word: String,
    /// From whom.
    pub from: String,
    /// How many records.
    pub records: String,
    /// What is to be known about it.
    pub sentence: String,
    /// Whether it is the chosen one.
    pub is_chosen: bool,
}

/// One thing that was lost, or that needs to be done.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LossLine {
    /// How bad it is.
    pub tone: Tone,
    /// What it is.
    pub head: String,
    /// More about it, or what to do.
    pub sentence: String,
}

/// How far long work has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ProgressView {
    /// Whether work is under way.
    pub is_running: bool,
    /// From 0 to 1.
    pub share: f32,
    /// The same in words.
    pub sentence: String,
    /// Whether it can be stopped.
    pub can_stop: bool,
}

/// What the tray screen does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TrayStage {
    /// The bundles are being read.
    #[default]
    Reading,
    /// They wait.
    Waiting,
    /// They are being merged.
    Merging,
    /// They were merged.
    Merged,
}

/// The tray.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TrayView {
    /// What it does.
    pub stage: TrayStage,
    /// The folder looked at.
    pub folder: String,
    /// What is in it.
    pub title: String,
    /// Said instead of an empty list.
    pub nothing: String,
    /// The bundles.
    pub bundles: Vec<BundleLine>,
    /// Which part of them.
    pub page: Page,
    /// What the merging key says.
    pub merge_label: String,
    /// Whether there is anything to merge.
    pub can_merge: bool,
    /// How far the work has come.
    pub progress: ProgressView,
    /// The chosen bundle's file.
    pub chosen_title: String,
    /// What is known of it.
    pub chosen_facts: Vec<Fact>,
    /// What it lacks.
    pub chosen_losses: Vec<LossLine>,
    /// What a merge brought.
    pub result: Vec<Figure>,
    /// What it could not bring.
    pub losses: Vec<LossLine>,
    /// Said where nothing was lost.
    pub no_losses: String,
}

/// One of the records that disagree.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SideView {
    /// A short name: the tablet.
    pub name: String,
    /// Who, when and so on.
    pub facts: Vec<Fact>,
    /// The values with their verdicts, and whether each is the same on all sides.
    pub figures: Vec<(Figure, bool)>,
    /// What was noticed or noted.
    pub remark: String,
}

/// A possible answer.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AnswerView {
    /// What the screen answers with.
    pub id: String,
    /// The number key that chooses it.
    pub number: String,
    /// The answer.
    pub label: String,
    /// What follows from it.
    pub consequence: String,
    /// Whether it is chosen.
    pub is_chosen: bool,
    /// The column it stands in, from 0: under its side, where it names one.
    pub column: usize,
    /// The row it stands in, from 0.
    pub row: usize,
}

/// One question.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct QuestionPage {
    /// Which of how many.
    pub position: String,
    /// The question.
    pub heading: String,
    /// Why it is asked.
    pub detail: String,
    /// Said where there is no question.
    pub nothing: String,
    /// The records that disagree.
    pub sides: Vec<SideView>,
    /// The possible answers.
    pub answers: Vec<AnswerView>,
    /// What was answered before, and by whom.
    pub answered: String,
    /// What the recording key says.
    pub record_label: String,
    /// Whether an answer is chosen.
    pub can_record: bool,
    /// Whether there is a question before.
    pub can_before: bool,
    /// Whether there is a question after.
    pub can_after: bool,
}

/// A logbook in the list of held ones.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct HeldLine {
    /// What the screen answers with.
    pub id: String,
    /// What it calls itself.
    pub label: String,
    /// How much of it is here.
    pub records: String,
    /// How it stands.
    pub tone: Tone,
    /// The same in a word.
    pub word: String,
    /// Whether it is the chosen one.
    pub is_chosen: bool,
}

/// The held logbooks.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct HeldView {
    /// How many.
    pub title: String,
    /// Said where there is none.
    pub nothing: String,
    /// The logbooks.
    pub logs: Vec<HeldLine>,
    /// What the chosen one calls itself.
    pub heading: String,
    /// What is known of it.
    pub facts: Vec<Fact>,
    /// Names the list of words.
    pub words_title: String,
    /// Its eight words.
    pub words: Vec<String>,
    /// What to do with them.
    pub instruction: String,
    /// What the enrolling key says.
    pub enrol_label: String,
    /// Whether it has a name to be enrolled under.
    pub can_enrol: bool,
    /// What enrolling means.
    pub caution: String,
    /// Names the own words.
    pub own_title: String,
    /// The own eight words, for a tablet that enrols this office.
    pub own_words: String,
    /// Which part of the logbooks is shown.
    pub page: Page,
}

/// The register.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StationsView {
    /// How many stations.
    pub title: String,
    /// What the list holds.
    pub list_title: String,
    /// Whether what needs attention stands first; else they stand in walking order.
    pub is_by_need: bool,
    /// The stations.
    pub stations: Vec<FleetLine>,
    /// Which part of them.
    pub page: Page,
}

/// A place a bundle can be written to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlaceLine {
    /// Its path, which the screen answers with.
    pub id: String,
    /// Its name.
    pub label: String,
    /// More about it.
    pub detail: String,
    /// Whether it is the chosen one.
    pub is_chosen: bool,
}

/// What the hand-back screen does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum HandBackStage {
    /// A place can be chosen.
    #[default]
    Ready,
    /// The bundle is being written and read back.
    Writing,
    /// It was, and may travel.
    Done,
    /// It was not.
    Failed,
}

/// The way back to the tablets.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HandBackView {
    /// What it does.
    pub stage: HandBackStage,
    /// What it is.
    pub title: String,
    /// What the bundle carries: number and name.
    pub carries: Vec<Fact>,
    /// How far each tablet's records are here.
    pub reaches: Vec<Fact>,
    /// Where to.
    pub places: Vec<PlaceLine>,
    /// Said where no stick is in.
    pub places_hint: String,
    /// Whether a place is chosen.
    pub can_write: bool,
    /// How far the work has come.
    pub progress: ProgressView,
    /// The first thing to know: whether the stick may be taken out.
    pub safe: String,
    /// What became of it.
    pub result: String,
    /// The particulars.
    pub result_facts: Vec<Fact>,
}

/// One of the places at the head of the window.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlaceTab {
    /// What the screen answers with.
    pub id: String,
    /// Its name.
    pub label: String,
    /// How much waits there; empty for nothing.
    pub count: String,
    /// Whether it must be dealt with.
    pub tone: Tone,
    /// Whether it is shown.
    pub is_chosen: bool,
}

/// What went wrong or was done last.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Notice {
    /// What it means.
    pub tone: Tone,
    /// What happened.
    pub what: String,
    /// What is safe and what to do.
    pub advice: String,
}
