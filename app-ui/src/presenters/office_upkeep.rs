//! What the four sides of upkeep share: lines of a list, particulars of the chosen one, keys, and a
//! form. Each side fills them in a file of its own: `office_due`, `office_jobs`,
//! `office_procedures` with `office_steps`, `office_papers`.

use chrono::NaiveDate;

use super::office_view::{Fact, Page, PlaceLine, Tally};
use super::view::Tone;

/// Which side of upkeep is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum UpkeepSide {
    /// What comes round again.
    #[default]
    Due,
    /// What is to be put right once.
    Jobs,
    /// Procedures, open and ended.
    Procedures,
    /// The documents of ended procedures.
    Papers,
}

impl UpkeepSide {
    /// All of them, in the order of their number keys.
    pub const ALL: [Self; 4] = [Self::Due, Self::Jobs, Self::Procedures, Self::Papers];

    /// What the screen answers with.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Due => "due",
            Self::Jobs => "jobs",
            Self::Procedures => "procedures",
            Self::Papers => "papers",
        }
    }

    /// Its name.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Due => "Due",
            Self::Jobs => "Jobs",
            Self::Procedures => "Procedures",
            Self::Papers => "Certificates",
        }
    }

    /// Finds the side with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|side| side.id() == id)
    }
}

/// One line of a list, or the level that the lines below it belong to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BoardLine {
    /// What the screen answers with.
    pub id: String,
    /// Whether it only names a level.
    pub is_heading: bool,
    /// How it stands.
    pub tone: Tone,
    /// The same in a word.
    pub word: String,
    /// The station, or the number of a step.
    pub code: String,
    /// What it is.
    pub name: String,
    /// Why, or what it waits for.
    pub sentence: String,
    /// When.
    pub when: String,
    /// Whether it is the chosen one.
    pub is_chosen: bool,
}

/// One way of narrowing the list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filter {
    /// What the screen answers with.
    pub id: String,
    /// Its name, with how many there are.
    pub label: String,
    /// Whether it is the one in use.
    pub is_chosen: bool,
}

impl Filter {
    /// Makes one.
    #[must_use]
    pub fn new(id: &str, label: impl Into<String>, chosen: &str) -> Self {
        Self {
            id: id.to_owned(),
            label: label.into(),
            is_chosen: id == chosen,
        }
    }
}

/// Something that can be done.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ActKey {
    /// What the screen answers with.
    pub id: String,
    /// What the key says.
    pub label: String,
    /// Whether it is the one next act.
    pub is_primary: bool,
}

impl ActKey {
    /// A key among others.
    #[must_use]
    pub fn new(id: &str, label: &str) -> Self {
        Self {
            id: id.to_owned(),
            label: label.to_owned(),
            is_primary: false,
        }
    }

    /// The one next act.
    #[must_use]
    pub fn primary(id: &str, label: &str) -> Self {
        Self {
            is_primary: true,
            ..Self::new(id, label)
        }
    }
}

/// The particulars of the chosen line.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BoardDetail {
    /// What it is.
    pub heading: String,
    /// Where.
    pub place: String,
    /// How it stands.
    pub tone: Tone,
    /// The same in words.
    pub word: String,
    /// What is known of it.
    pub facts: Vec<Fact>,
    /// Names the sentences below.
    pub told_title: String,
    /// Sentences.
    pub told: Vec<String>,
    /// What can be done about it, the next act first.
    pub keys: Vec<ActKey>,
}

/// What the clerk fills in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BoardForm {
    /// What will be written down.
    pub title: String,
    /// What to know before.
    pub about: String,
    /// Names the choices; empty for none.
    pub choices_title: String,
    /// What can be chosen.
    pub choices: Vec<PlaceLine>,
    /// In how many columns they stand.
    pub columns: usize,
    /// Names the fields; empty for those not used.
    pub fields: [String; 3],
    /// What the saving key says.
    pub save_label: String,
    /// Whether it can be saved.
    pub can_save: bool,
}

/// The whole screen.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct UpkeepView {
    /// The sides.
    pub sides: Vec<Filter>,
    /// What can be done with the whole list.
    pub head_keys: Vec<ActKey>,
    /// Numbers that narrow the list; empty for none.
    pub tallies: Vec<Tally>,
    /// Other ways of narrowing it.
    pub filters: Vec<Filter>,
    /// Names the field that finds; empty for none.
    pub find_label: String,
    /// What the list holds.
    pub list_title: String,
    /// Said instead of an empty list.
    pub nothing: String,
    /// The list.
    pub lines: Vec<BoardLine>,
    /// Which part of it.
    pub page: Page,
    /// The chosen line.
    pub detail: BoardDetail,
    /// What is being filled in.
    pub form: Option<BoardForm>,
}

/// "1 Oct 2026".
#[must_use]
pub fn on(day: NaiveDate) -> String {
    day.format("%-d %b %Y").to_string()
}

/// Whether all words typed are found somewhere in the texts, capitals or not.
#[must_use]
pub fn is_found(find: &str, texts: &[&str]) -> bool {
    let all = texts.join(" ").to_lowercase();
    let find = find.to_lowercase();
    find.split_whitespace().all(|word| all.contains(word))
}

/// Puts sentences behind each other, leaving out what is empty.
#[must_use]
pub fn sentences<'a>(all: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = all.into_iter().filter(|one| !one.is_empty()).collect();
    known.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_typed_must_be_found() {
        let texts = ["T-07", "north drive", "Level 420", "internal inspection"];
        for find in ["", "420", "insp north", "t-07 LEVEL"] {
            assert!(is_found(find, &texts), "{find}");
        }
        assert!(!is_found("420 south", &texts));
    }

    #[test]
    fn sides_are_found_by_their_ids() {
        for side in UpkeepSide::ALL {
            assert_eq!(UpkeepSide::from_id(side.id()), Some(side));
        }
        assert_eq!(UpkeepSide::from_id("week"), None);
    }
}
