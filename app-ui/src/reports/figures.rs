//! Figures of a document as plain numbers: dials, turns against pressure, pressures over time.
//!
//! Values are in the unit that the figure names. Painting is in `dials` and
//! `charts`.

/// A gauge dial with what it showed before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    /// Which gauge.
    pub title: String,
    /// What its scale is in.
    pub unit: String,
    /// Value at the low end of the scale.
    pub low: f64,
    /// Value at the high end.
    pub high: f64,
    /// Distance between neighbouring marks.
    pub division: f64,
    /// Where it ought to stand as left.
    pub band: Option<(f64, f64)>,
    /// The broken needle: as found.
    pub found: Option<Shown>,
    /// The solid needle: as left.
    pub left: Option<Shown>,
}

/// A value and its text.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// Where the needle stands.
    pub value: f64,
    /// What is written beside it.
    pub text: String,
}

/// A point of the setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurnsPoint {
    /// Turns of the screw in from where it was first read; negative is further out.
    pub turns: f64,
    /// The outlet pressure then.
    pub pressure: f64,
    /// Whether it was read with the usual draw-off; else it is drawn open.
    pub is_usual_flow: bool,
}

/// Turns of the screw against the outlet pressure, in the order they were made.
#[derive(Debug, Clone, PartialEq)]
pub struct Turns {
    /// What it shows, for whoever cannot see it.
    pub alt: String,
    /// What the pressures are in.
    pub unit: String,
    /// What stands along the foot.
    pub foot: String,
    /// What stands over the scale.
    pub side: String,
    /// Label of the band around the set point.
    pub band_label: String,
    /// The allowed band and the set point in it: low, set point, high.
    pub band: (f64, f64, f64),
    /// The points in order.
    pub points: Vec<TurnsPoint>,
    /// The line through them, as two points, where one was found.
    pub line: Option<[(f64, f64); 2]>,
    /// Legend: what a filled and an open point mean; the open one is left out where none is.
    pub legend: [String; 2],
}

/// How a point of the history stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// An open ring.
    Within,
    /// A half-filled ring.
    Unsure,
    /// A solid diamond.
    Outside,
    /// A small dot: nothing was expected.
    NotJudged,
}

/// A visit in a strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// Days from the work; before it negative.
    pub days: f64,
    /// What the gauge showed.
    pub value: f64,
    /// How that stood.
    pub standing: Standing,
}

/// One gauge over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Which gauge.
    pub title: String,
    /// Where it ought to lie now.
    pub band: Option<(f64, f64)>,
    /// The visits in order of time.
    pub visits: Vec<Visit>,
}

/// Pressures before and after the work.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// What it shows, for whoever cannot see it.
    pub alt: String,
    /// What the pressures are in.
    pub unit: String,
    /// What stands at the line of the work.
    pub work: String,
    /// Days with what is written under them.
    pub days: Vec<(f64, String)>,
    /// One strip for each gauge.
    pub strips: Vec<Strip>,
}
