//! What a strip is drawn from and what comes of it, as plain values.

use crate::presenters::flag::FlagShape;
use crate::presenters::view::Tone;

/// The stretch of time that is shown, milliseconds since 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// At the left edge.
    pub from_ms: i64,
    /// At the right edge; later than `from_ms`.
    pub to_ms: i64,
}

/// Size of a plot in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Plot {
    /// From left to right.
    pub width: f64,
    /// From top to bottom, rows of flags included.
    pub height: f64,
}

/// How a reading stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// As it should, or not judged.
    Usual,
    /// Too close to tell.
    Unsure,
    /// Outside.
    Outside,
}

/// One visit in a strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// When, milliseconds since 1970.
    pub at_ms: i64,
    /// The value, if read.
    pub value: Option<f64>,
    /// What was expected.
    pub band: Option<(f64, f64)>,
    /// How the value stands.
    pub stand: Stand,
}

/// A flag or the start of a baseline, with its word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sign {
    /// When, milliseconds since 1970.
    pub at_ms: i64,
    /// Its shape.
    pub shape: FlagShape,
    /// Its colour.
    pub tone: Tone,
    /// Its word.
    pub word: String,
}

/// One moment of a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FanPoint {
    /// When, milliseconds since 1970.
    pub at_ms: i64,
    /// The lowest course.
    pub low: f64,
    /// The likely course.
    pub likely: f64,
    /// The highest course.
    pub high: f64,
}

/// What a strip is drawn from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Visits in time order.
    pub points: Vec<Point>,
    /// Flags and baselines in time order.
    pub signs: Vec<Sign>,
    /// The forecast from now on, if there is one.
    pub fan: Vec<FanPoint>,
}

/// A numeral beside the plot.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueTick {
    /// From the upper edge, pixels.
    pub y: f64,
    /// As printed.
    pub text: String,
}

/// A sign at its place in the rows over the plot.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Middle of the mark, from the left edge, pixels.
    pub x: f64,
    /// Upper edge of its row, pixels.
    pub y: f64,
    /// Its shape.
    pub shape: FlagShape,
    /// Its colour.
    pub tone: Tone,
    /// Its word, or empty where it found no place.
    pub word: String,
    /// Whether the word stands to the left of the mark.
    pub is_left: bool,
}

/// A strip, ready to draw.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Strip {
    /// Numerals of the values.
    pub ticks: Vec<ValueTick>,
    /// Lines across at the numerals.
    pub grid: String,
    /// The expected band, to be filled.
    pub band: String,
    /// The line through the readings.
    pub line: String,
    /// Readings as they should be.
    pub dots: String,
    /// Readings too close to tell, open rings.
    pub unsure: String,
    /// Readings outside, diamonds.
    pub outside: String,
    /// Between the earliest and the latest course, to be filled.
    pub fan: String,
    /// The likely course.
    pub ahead: String,
    /// From each flag down to its reading.
    pub stems: String,
    /// Where baselines begin, from top to bottom.
    pub baselines: String,
    /// Flags and baselines over the plot.
    pub marks: Vec<Mark>,
}
