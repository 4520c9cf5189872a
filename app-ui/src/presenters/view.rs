//! The plain structs that screens are given.
//!
//! Empty texts and `None` stand for what is not known; nothing here has a default that could
//! pass for a reading.

use super::dial::Face;
use winze_core::verdict::Verdict;

/// What a thing means. The theme makes a colour of it, the state mark a shape; a word always
/// stands beside both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// Nothing in particular.
    #[default]
    None,
    /// As it should be.
    Within,
    /// Too close to tell.
    Unsure,
    /// Not as it should be.
    Outside,
    /// Take care.
    Caution,
    /// Something the operator must do.
    Act,
}

impl From<Verdict> for Tone {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Within => Self::Within,
            Verdict::Unsure => Self::Unsure,
            Verdict::Outside => Self::Outside,
        }
    }
}

/// One gauge with its dial.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GaugeView {
    /// Inlet, interstage or outlet.
    pub name: String,
    /// Digits as typed so far.
    pub value: String,
    /// Unit of those digits.
    pub unit: String,
    /// The dial.
    pub face: Face,
    /// Where the needle stands, degrees clockwise from twelve; `None` before anything is typed.
    pub needle_degrees: Option<f64>,
    /// Tone of the verdict.
    pub tone: Tone,
    /// The verdict in a word, or empty.
    pub verdict: String,
    /// What was to be expected, or empty.
    pub expected: String,
    /// Whether keys go to this gauge.
    pub is_chosen: bool,
    /// All of it in one sentence, for those who do not see the dial.
    pub spoken: String,
}

/// One thing to tick or to choose.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choice {
    /// What the screen answers with.
    pub id: String,
    /// What stands on it.
    pub label: String,
    /// Whether it is ticked or chosen.
    pub is_on: bool,
    /// What being on means.
    pub tone: Tone,
}

impl Choice {
    /// Makes a choice that is off and means nothing in particular.
    pub fn new(id: impl Into<String>, label: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            label: label.into(),
            ..Self::default()
        }
    }
}

/// One large number with its name, for reading back.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Figure {
    /// Inlet, interstage or outlet.
    pub name: String,
    /// Digits as typed.
    pub value: String,
    /// Unit of those digits.
    pub unit: String,
    /// Tone of the verdict.
    pub tone: Tone,
    /// The verdict in a word.
    pub verdict: String,
}

/// One line of a paged list; a heading cannot be touched.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ListLine {
    /// What the screen answers with.
    pub id: String,
    /// Whether it only names what follows.
    pub is_heading: bool,
    /// The short name.
    pub code: String,
    /// The long name, or the heading.
    pub name: String,
    /// Tone of the status.
    pub tone: Tone,
    /// The status in words, or empty.
    pub status: String,
    /// Whether it is what comes next.
    pub is_next: bool,
}

/// One sentence what it means, one what to do.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sentences {
    /// What it means.
    pub meaning: String,
    /// What to do.
    pub advice: String,
    /// Tone of the meaning.
    pub tone: Tone,
}

/// One plain question with its answers, the likely one first.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct QuestionView {
    /// The question.
    pub question: String,
    /// Why it is asked.
    pub detail: String,
    /// The answers.
    pub answers: Vec<Choice>,
}
