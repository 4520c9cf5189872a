//! The plain structs of the screens on which a station is looked after: what is due, jobs, and
//! procedures step by step.
//!
//! A screen is a frame around one of a few bodies; whatever is touched comes back by its id.

use super::view::{Choice, Figure, GaugeView, Tone};

/// One line of a list: what it is, and under it more about it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TaskLine {
    /// What the screen answers with; a line without one cannot be touched.
    pub id: String,
    /// Whether it only names what follows.
    pub is_heading: bool,
    /// What it is.
    pub title: String,
    /// More about it, or empty.
    pub detail: String,
    /// Tone of the status.
    pub tone: Tone,
    /// The status in words, or empty.
    pub status: String,
    /// Whether it is what comes next.
    pub is_next: bool,
}

impl TaskLine {
    /// A heading.
    pub fn heading(text: impl Into<String>) -> Self {
        Self {
            is_heading: true,
            title: text.into(),
            ..Self::default()
        }
    }
}

/// Something to choose, with a line about it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Offer {
    /// What the screen answers with.
    pub id: String,
    /// What stands on it.
    pub label: String,
    /// More about it, or empty.
    pub detail: String,
    /// Whether it is the likely one, or the one chosen.
    pub is_on: bool,
}

impl Offer {
    /// One without more about it.
    pub fn new(id: impl Into<String>, label: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            label: label.into(),
            ..Self::default()
        }
    }
}

/// A sentence with the mark of what it means.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Saying {
    /// What it means.
    pub tone: Tone,
    /// The sentence.
    pub text: String,
}

impl Saying {
    /// A sentence that means nothing in particular.
    pub fn plain(text: impl Into<String>) -> Self {
        Self {
            tone: Tone::None,
            text: text.into(),
        }
    }

    /// A sentence with a mark.
    pub fn of(tone: Tone, text: impl Into<String>) -> Self {
        Self {
            tone,
            text: text.into(),
        }
    }
}

/// A paged list with keys under it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ListBody {
    /// Every line; the frame turns them into pages.
    pub lines: Vec<TaskLine>,
    /// Said where there is no line.
    pub nothing: String,
    /// The keys under it; the one that is on is the likely next act.
    pub keys: Vec<Choice>,
}

/// Large keys to choose from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ChoicesBody {
    /// The question.
    pub heading: String,
    /// More about it, or empty.
    pub under: String,
    /// What can be chosen.
    pub offers: Vec<Offer>,
    /// Label of the key that leaves it.
    pub leave: String,
}

/// A text to write.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WritingBody {
    /// What is to be written.
    pub heading: String,
    /// More about it, or empty.
    pub under: String,
    /// What is often written.
    pub phrases: Vec<Choice>,
    /// Label of the key that keeps it.
    pub keep: String,
    /// Label of the key that leaves it.
    pub leave: String,
}

/// One thing with all that is known of it, and what can be done about it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DetailBody {
    /// What it is.
    pub heading: String,
    /// Tone of the status.
    pub tone: Tone,
    /// The status in words, or empty.
    pub status: String,
    /// What is known.
    pub sayings: Vec<Saying>,
    /// What can be done; the one that is on is the likely one.
    pub keys: Vec<Choice>,
}

/// What was typed, read back large.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BackBody {
    /// The step.
    pub heading: String,
    /// The numbers.
    pub figures: Vec<Figure>,
    /// What else was entered.
    pub sayings: Vec<Saying>,
    /// Label of the key that records it.
    pub save: String,
}

/// How a step stands in the strip that shows the whole procedure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StepMark {
    /// Still to be done.
    #[default]
    Open,
    /// Done.
    Done,
    /// Passed over.
    Passed,
    /// Begun, or disagreed about.
    Begun,
}

/// A mark of the strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct StripMark {
    /// How the step stands.
    pub mark: StepMark,
    /// Whether it is the one on the screen.
    pub is_here: bool,
}

/// A number to type.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FieldView {
    /// What the screen answers with.
    pub id: String,
    /// What is typed there.
    pub name: String,
    /// The digits so far.
    pub value: String,
    /// Their unit.
    pub unit: String,
    /// Whether keys go there.
    pub is_chosen: bool,
}

/// A short list to pick from, with its name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PickView {
    /// What is picked.
    pub name: String,
    /// What there is to pick from.
    pub choices: Vec<Choice>,
}

/// One step to be done.
#[derive(Debug, Clone, PartialEq, Default)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "one for each key that can be pressed or not"
)]
pub struct StepBody {
    /// The whole procedure at one glance.
    pub marks: Vec<StripMark>,
    /// What the step is called.
    pub heading: String,
    /// What is to be done.
    pub what: String,
    /// Why.
    pub why: String,
    /// What to be careful of.
    pub cautions: Vec<String>,
    /// Why it stands open again, or is not its turn yet; or empty.
    pub notice: String,
    /// What is ticked.
    pub ticks: Vec<Choice>,
    /// The ways on, at a choice.
    pub offers: Vec<Offer>,
    /// The dials, at a step that reads them.
    pub gauges: Option<[GaugeView; 3]>,
    /// The numbers to type.
    pub fields: Vec<FieldView>,
    /// The first short list.
    pub first_pick: PickView,
    /// The second short list.
    pub second_pick: PickView,
    /// Figures to look at, gravest first.
    pub figures: Vec<Saying>,
    /// What they come to.
    pub figures_say: Saying,
    /// Whether there is a keypad.
    pub has_keypad: bool,
    /// Label of the key that sends digits to the next value, or empty.
    pub next_field: String,
    /// Label of the key that does the step.
    pub act: String,
    /// Whether that key can be pressed.
    pub can_act: bool,
    /// Whether the step may be passed over.
    pub can_pass: bool,
    /// Whether a step lies before it.
    pub can_back: bool,
    /// Whether a step lies behind it.
    pub can_forward: bool,
    /// Label of the key to the note.
    pub note: String,
}

/// The calibration assistant.
#[derive(Debug, Clone, PartialEq, Default)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "one for each key that can be pressed or not"
)]
pub struct AssistBody {
    /// The whole procedure at one glance.
    pub marks: Vec<StripMark>,
    /// What to do.
    pub heading: String,
    /// More about it.
    pub detail: String,
    /// What it means.
    pub tone: Tone,
    /// Cautions before overshoot, and what else is worth knowing.
    pub notes: Vec<Saying>,
    /// The figures: what, and how much.
    pub figures: Vec<(String, String)>,
    /// Turns against pressure.
    pub plot: super::turns_plot::TurnsPlot,
    /// Outlet and interstage.
    pub fields: Vec<FieldView>,
    /// How much water is drawn.
    pub draw_off: Vec<Choice>,
    /// Whether the needle stands.
    pub steady: Vec<Choice>,
    /// How far it was turned, in words.
    pub turned: String,
    /// Keys that say how far.
    pub turn_keys: Vec<Choice>,
    /// Label of the key that keeps the reading.
    pub keep: String,
    /// Whether it can be kept.
    pub can_keep: bool,
    /// Label of the key that ends the setting with it.
    pub finish: String,
    /// Whether it can end here.
    pub can_finish: bool,
    /// Whether the last reading can be taken back.
    pub can_take_back: bool,
}

/// What a screen shows.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    /// A list.
    List(ListBody),
    /// Large keys to choose from.
    Choices(ChoicesBody),
    /// A text to write.
    Writing(WritingBody),
    /// One thing with what can be done about it.
    Detail(DetailBody),
    /// A step.
    Step(Box<StepBody>),
    /// The calibration assistant.
    Assist(Box<AssistBody>),
    /// What was typed, read back.
    Back(BackBody),
}

/// A screen.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkScreen {
    /// Label of the key back.
    pub back: String,
    /// What the screen is about.
    pub title: String,
    /// More about it.
    pub detail: String,
    /// "step 6 of 13", or empty.
    pub position: String,
    /// "14 not yet at the office", or empty.
    pub waiting: String,
    /// What went wrong last, or what was done; or empty.
    pub said: Saying,
    /// The body.
    pub body: Body,
}
