//! The kinds of things that need the clerk, the most urgent first.
//!
//! What belongs to a kind is decided in [`super::office_attention`] and [`super::office_need`].

use super::view::Tone;

/// Why something needs the clerk, the most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Category {
    /// A pressure is not as it should be.
    Outside,
    /// A change, a gauge that never moves, a value not meant.
    Flagged,
    /// A gauge cannot tell.
    Unsure,
    /// A station was not read.
    Missed,
    /// Something was noticed on the look-round.
    Finding,
    /// A station was passed by, with a reason.
    Skipped,
    /// The records disagree.
    Question,
    /// Records are kept but not counted.
    Held,
}

impl Category {
    /// All of them, the most urgent first.
    pub const ALL: [Self; 8] = [
        Self::Outside,
        Self::Flagged,
        Self::Unsure,
        Self::Missed,
        Self::Finding,
        Self::Skipped,
        Self::Question,
        Self::Held,
    ];

    /// What the screen answers with.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Flagged => "flagged",
            Self::Unsure => "unsure",
            Self::Missed => "missed",
            Self::Finding => "finding",
            Self::Skipped => "skipped",
            Self::Question => "question",
            Self::Held => "held",
        }
    }

    /// Finds the category with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|category| category.id() == id)
    }

    pub(super) const fn plural(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Flagged => "flagged",
            Self::Unsure => "unsure",
            Self::Missed => "missed",
            Self::Finding => "findings",
            Self::Skipped => "skipped",
            Self::Question => "questions",
            Self::Held => "held",
        }
    }

    pub(super) const fn tone(self) -> Tone {
        match self {
            Self::Outside => Tone::Outside,
            Self::Unsure => Tone::Unsure,
            Self::Missed | Self::Question | Self::Held => Tone::Act,
            Self::Flagged | Self::Finding => Tone::Caution,
            Self::Skipped => Tone::None,
        }
    }
}
