//! Views as the structs of the markup.

use std::rc::Rc;

use slint::{ModelRc, SharedString, VecModel};

use crate::markup;
use crate::presenters::dial::Face;
use crate::presenters::flag::{FlagLine, FlagShape};
use crate::presenters::round::{Mark, Stage};
use crate::presenters::view::{Choice, Figure, GaugeView, ListLine, Tone};
use crate::tablet::session::{Screen, Sheet};

/// A tone.
#[must_use]
pub const fn tone(tone: Tone) -> markup::Tone {
    match tone {
        Tone::None => markup::Tone::None,
        Tone::Within => markup::Tone::Within,
        Tone::Unsure => markup::Tone::Unsure,
        Tone::Outside => markup::Tone::Outside,
        Tone::Caution => markup::Tone::Caution,
        Tone::Act => markup::Tone::Act,
    }
}

/// The shape of a flag.
#[must_use]
pub const fn flag_shape(shape: FlagShape) -> markup::FlagShape {
    match shape {
        FlagShape::None => markup::FlagShape::None,
        FlagShape::Drift => markup::FlagShape::Drift,
        FlagShape::Jump => markup::FlagShape::Jump,
        FlagShape::Stuck => markup::FlagShape::Stuck,
        FlagShape::Outside => markup::FlagShape::Outside,
        FlagShape::Slip => markup::FlagShape::Slip,
        FlagShape::Baseline => markup::FlagShape::Baseline,
    }
}

/// A flag with its words.
#[must_use]
pub fn flag(flag: &FlagLine) -> markup::FlagState {
    markup::FlagState {
        shape: flag_shape(flag.shape),
        tone: tone(flag.tone),
        heading: flag.heading.as_str().into(),
        detail: flag.detail.as_str().into(),
    }
}

/// A choice.
#[must_use]
pub fn choice(choice: &Choice) -> markup::Choice {
    markup::Choice {
        id: choice.id.as_str().into(),
        label: choice.label.as_str().into(),
        on: choice.is_on,
        tone: tone(choice.tone),
    }
}

/// A figure.
#[must_use]
pub fn figure(figure: &Figure) -> markup::Figure {
    markup::Figure {
        name: figure.name.as_str().into(),
        value: figure.value.as_str().into(),
        unit: figure.unit.as_str().into(),
        tone: tone(figure.tone),
        verdict: figure.verdict.as_str().into(),
    }
}

/// A line of a paged list.
#[must_use]
pub fn line(line: &ListLine) -> markup::ListLine {
    markup::ListLine {
        id: line.id.as_str().into(),
        is_heading: line.is_heading,
        code: line.code.as_str().into(),
        name: line.name.as_str().into(),
        tone: tone(line.tone),
        status: line.status.as_str().into(),
        is_next: line.is_next,
    }
}

/// A mark of the strip that shows the whole round.
#[must_use]
pub const fn mark(mark: Mark) -> markup::RoundMark {
    markup::RoundMark {
        tone: tone(mark.tone),
        is_done: mark.is_done,
        is_next: mark.is_next,
    }
}

/// Where the round stands.
#[must_use]
pub const fn stage(stage: Stage) -> markup::RoundStage {
    match stage {
        Stage::NoStations => markup::RoundStage::NoStations,
        Stage::NotOpen => markup::RoundStage::NotOpen,
        Stage::Open => markup::RoundStage::Open,
        Stage::AllDone => markup::RoundStage::AllDone,
    }
}

/// A screen.
#[must_use]
pub const fn screen(screen: Screen) -> markup::Screen {
    match screen {
        Screen::Round => markup::Screen::Round,
        Screen::Station => markup::Screen::Station,
        Screen::Work => markup::Screen::Work,
        Screen::HandOver => markup::Screen::HandOver,
        Screen::Who => markup::Screen::Who,
        Screen::About => markup::Screen::About,
    }
}

/// A sheet of the station screen.
#[must_use]
pub const fn sheet(sheet: Sheet) -> markup::StationSheet {
    match sheet {
        Sheet::Gauges => markup::StationSheet::Gauges,
        Sheet::Question => markup::StationSheet::Doubt,
        Sheet::ReadBack => markup::StationSheet::ReadBack,
        Sheet::Skip => markup::StationSheet::Skip,
        Sheet::Note => markup::StationSheet::Note,
        Sheet::Finding => markup::StationSheet::Finding,
        Sheet::History => markup::StationSheet::History,
        Sheet::WorkedOut => markup::StationSheet::WorkedOut,
        Sheet::Why => markup::StationSheet::Why,
    }
}

/// Texts as a model made once.
#[must_use]
pub fn texts(texts: &[String]) -> ModelRc<SharedString> {
    let texts: Vec<SharedString> = texts.iter().map(SharedString::from).collect();
    ModelRc::from(Rc::new(VecModel::from(texts)))
}

/// One dial face, kept while it stays the same, so that a keystroke does not make its numerals
/// anew.
#[derive(Default)]
pub struct KeptFace {
    face: Face,
    shown: Option<markup::DialFace>,
}

impl KeptFace {
    #[allow(
        clippy::cast_possible_truncation,
        reason = "places on a square of 200 lose nothing that shows"
    )]
    fn shown(&mut self, face: &Face) -> markup::DialFace {
        if let Some(shown) = &self.shown
            && self.face == *face
        {
            return shown.clone();
        }
        let numerals = match &self.shown {
            Some(shown) if self.face.numerals == face.numerals => shown.numerals.clone(),
            _ => {
                let numerals = face.numerals.iter().map(|numeral| markup::DialNumeral {
                    x: numeral.x as f32,
                    y: numeral.y as f32,
                    text: numeral.text.as_str().into(),
                });
                ModelRc::from(Rc::new(numerals.collect::<VecModel<_>>()))
            }
        };
        let shown = markup::DialFace {
            scale: face.scale.as_str().into(),
            major: face.major.as_str().into(),
            minor: face.minor.as_str().into(),
            band: face.band.as_str().into(),
            numerals,
        };
        self.face = face.clone();
        self.shown = Some(shown.clone());
        shown
    }

    /// A gauge with this face kept. Without a needle it rests at the foot of the scale, so that
    /// it moves up from there to the first value.
    #[allow(
        clippy::cast_possible_truncation,
        reason = "an angle in degrees loses nothing that shows"
    )]
    pub fn gauge(&mut self, gauge: &GaugeView) -> markup::GaugeState {
        markup::GaugeState {
            name: gauge.name.as_str().into(),
            value: gauge.value.as_str().into(),
            unit: gauge.unit.as_str().into(),
            face: self.shown(&gauge.face),
            has_needle: gauge.needle_degrees.is_some(),
            needle_degrees: gauge.needle_degrees.unwrap_or(-135.0) as f32,
            tone: tone(gauge.tone),
            verdict: gauge.verdict.as_str().into(),
            expected: gauge.expected.as_str().into(),
            chosen: gauge.is_chosen,
            spoken: gauge.spoken.as_str().into(),
        }
    }
}
