//! What a document says, as plain values: an opening, then blocks one below the other.
//!
//! Pure: made from core values by `certificate` and its neighbours, laid out by
//! [`super::layout`]. Texts are ready to show.

use super::figures::{Dial, History, Turns};

/// A document.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// What kind of document it is.
    pub title: String,
    /// One line at the head of every page but the first.
    pub running: String,
    /// What it is about, in a sentence.
    pub about: String,
    /// The id that its QR code and its foot carry; empty for a document about more than one record,
    /// which has no code.
    pub id: String,
    /// What the id belongs to, in a word or two; without an id, what the foot says instead.
    pub id_of: String,
    /// When what it tells about was over: stands for the time it was made, so that the same records
    /// give the same bytes.
    pub dated: Dated,
    /// The opening.
    pub opening: Opening,
    /// Everything below.
    pub blocks: Vec<Block>,
}

/// A moment with its zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dated {
    /// Milliseconds since 1970-01-01T00:00:00Z.
    pub wall_ms: i64,
    /// Minutes east of Greenwich.
    pub utc_offset_minutes: i16,
}

/// The head of the first page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opening {
    /// What the document is about: a station.
    pub subject: String,
    /// Where that is.
    pub place: String,
    /// How things stand, each with its sign.
    pub states: Vec<Line>,
}

/// A sign that stands with a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// An open ring: within its band.
    Within,
    /// A half-filled ring: too close to tell.
    Unsure,
    /// A solid diamond: outside its band.
    Outside,
    /// A tick: done.
    Done,
    /// A bar: passed over.
    PassedOver,
    /// A cross: taken back.
    TakenBack,
    /// An open square: not done yet.
    Open,
    /// A triangle: a caution.
    Caution,
}

/// How loud a line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// As usual.
    #[default]
    Plain,
    /// What matters.
    Strong,
    /// What explains.
    Quiet,
}

/// A line of text with its sign, if it has one. It is broken where it is too long.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Line {
    /// What it says.
    pub text: String,
    /// How loud.
    pub tone: Tone,
    /// Its sign.
    pub sign: Option<Sign>,
}

impl Line {
    /// A line as usual.
    pub fn plain(text: impl Into<String>) -> Self {
        let text = text.into();
        Self {
            text,
            ..Self::default()
        }
    }

    /// A line that matters.
    pub fn strong(text: impl Into<String>) -> Self {
        Self {
            tone: Tone::Strong,
            ..Self::plain(text)
        }
    }

    /// A line that explains.
    pub fn quiet(text: impl Into<String>) -> Self {
        Self {
            tone: Tone::Quiet,
            ..Self::plain(text)
        }
    }

    /// The same with a sign before it.
    #[must_use]
    pub fn signed(self, sign: Sign) -> Self {
        Self {
            sign: Some(sign),
            ..self
        }
    }
}

/// What stands in one place of a table.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cell(pub Vec<Line>);

impl Cell {
    /// One plain line.
    pub fn plain(text: impl Into<String>) -> Self {
        Self(vec![Line::plain(text)])
    }

    /// One line that matters.
    pub fn strong(text: impl Into<String>) -> Self {
        Self(vec![Line::strong(text)])
    }

    /// One line that explains.
    pub fn quiet(text: impl Into<String>) -> Self {
        Self(vec![Line::quiet(text)])
    }

    /// The same with another line below, unless that is empty.
    #[must_use]
    pub fn and(mut self, line: Line) -> Self {
        if !line.text.is_empty() {
            self.0.push(line);
        }
        self
    }
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its head; may be empty.
    pub head: String,
    /// Its share of the width; only its relation to the others counts.
    pub share: f32,
    /// Whether its lines end at the right.
    pub is_right: bool,
}

impl Column {
    /// A column whose lines start at the left.
    pub fn left(head: impl Into<String>, share: f32) -> Self {
        Self {
            head: head.into(),
            share,
            is_right: false,
        }
    }

    /// A column whose lines end at the right.
    pub fn right(head: impl Into<String>, share: f32) -> Self {
        Self {
            is_right: true,
            ..Self::left(head, share)
        }
    }
}

/// A title over several columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The title.
    pub title: String,
    /// The first column, from 0.
    pub from: usize,
    /// The column after the last.
    pub to: usize,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Its columns. With no head at all no head is drawn.
    pub columns: Vec<Column>,
    /// Titles over columns.
    pub groups: Vec<Group>,
    /// Its rows, a cell for each column.
    pub rows: Vec<Vec<Cell>>,
    /// Whether the lines are set smaller.
    pub is_small: bool,
    /// Whether a hairline stands under each row.
    pub is_ruled: bool,
}

/// A label and what it stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// The label.
    pub label: String,
    /// The value.
    pub value: Cell,
}

/// One block of a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading; stays with what follows.
    Heading(String),
    /// A heading of a part; stays with what follows.
    Subheading(String),
    /// Something to read.
    Text(Line),
    /// Labels with values, in two columns.
    Facts(Vec<Fact>),
    /// A table.
    Table(Table),
    /// Dials side by side.
    Dials(Vec<Dial>),
    /// Turns against pressure.
    Turns(Turns),
    /// Pressures over time.
    History(History),
    /// Ruled lines to write on by hand, each with what belongs there.
    ToFill(Vec<[String; 3]>),
    /// What must stay together on one page; it is set smaller where that lets it.
    OnePage(Vec<Block>),
}
