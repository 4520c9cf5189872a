//! Views of the office as the structs of the markup.

use std::rc::Rc;

use slint::{ModelRc, SharedString, VecModel};

use super::convert::{figure, tone};
use crate::markup;
use crate::office::session::{Panel, Screen};
use crate::presenters::office_hydraulics::Part;
use crate::presenters::office_view::{
    AnswerView, AttentionLine, BundleLine, Cell, Fact, FleetLine, HandBackStage, HeldLine,
    LossLine, Page, PlaceLine, PlaceTab, ProgressView, ReadingLine, SideView, SumLine, Tally,
    TrayStage,
};

fn model<T: Clone + 'static>(rows: impl Iterator<Item = T>) -> ModelRc<T> {
    ModelRc::from(Rc::new(rows.collect::<VecModel<T>>()))
}

/// A list as a model made once.
pub fn list<V, T: Clone + 'static>(views: &[V], to: impl Fn(&V) -> T) -> ModelRc<T> {
    model(views.iter().map(to))
}

pub fn text(text: &str) -> SharedString {
    text.into()
}

pub const fn screen(screen: Screen) -> markup::OfficeScreen {
    match screen {
        Screen::Week => markup::OfficeScreen::Week,
        Screen::Tray => markup::OfficeScreen::Tray,
        Screen::Questions => markup::OfficeScreen::Questions,
        Screen::Held => markup::OfficeScreen::Held,
        Screen::Stations => markup::OfficeScreen::Stations,
        Screen::Station => markup::OfficeScreen::Station,
        Screen::Upkeep => markup::OfficeScreen::Upkeep,
        Screen::HandBack => markup::OfficeScreen::HandBack,
        Screen::About => markup::OfficeScreen::About,
        Screen::Person => markup::OfficeScreen::Person,
    }
}

pub const fn tray_stage(stage: TrayStage) -> markup::TrayStage {
    match stage {
        TrayStage::Reading => markup::TrayStage::Reading,
        TrayStage::Waiting => markup::TrayStage::Waiting,
        TrayStage::Merging => markup::TrayStage::Merging,
        TrayStage::Merged => markup::TrayStage::Merged,
    }
}

pub const fn hand_back_stage(stage: HandBackStage) -> markup::HandBackStage {
    match stage {
        HandBackStage::Ready => markup::HandBackStage::Ready,
        HandBackStage::Writing => markup::HandBackStage::Writing,
        HandBackStage::Done => markup::HandBackStage::Done,
        HandBackStage::Failed => markup::HandBackStage::Failed,
    }
}

pub const fn panel(panel: Panel) -> markup::StationPanel {
    match panel {
        Panel::Readings => markup::StationPanel::Readings,
        Panel::Hydraulics => markup::StationPanel::Hydraulics,
        Panel::Definition => markup::StationPanel::Definition,
    }
}

pub const fn panel_back(panel: markup::StationPanel) -> Panel {
    match panel {
        markup::StationPanel::Readings => Panel::Readings,
        markup::StationPanel::Hydraulics => Panel::Hydraulics,
        markup::StationPanel::Definition => Panel::Definition,
    }
}

pub const fn part_back(is_flow: bool) -> Part {
    if is_flow { Part::Flow } else { Part::Pressures }
}

pub fn page(page: &Page) -> markup::PageState {
    markup::PageState {
        text: text(&page.text),
        can_back: page.can_back,
        can_on: page.can_on,
    }
}

pub fn fact(fact: &Fact) -> markup::Fact {
    markup::Fact {
        name: text(&fact.name),
        value: text(&fact.value),
        tone: tone(fact.tone),
    }
}

pub fn progress(progress: &ProgressView) -> markup::ProgressState {
    markup::ProgressState {
        running: progress.is_running,
        share: progress.share,
        sentence: text(&progress.sentence),
        can_stop: progress.can_stop,
    }
}

pub fn place(place: &PlaceTab) -> markup::PlaceState {
    markup::PlaceState {
        id: text(&place.id),
        label: text(&place.label),
        count: text(&place.count),
        tone: tone(place.tone),
        chosen: place.is_chosen,
    }
}

pub fn tally(tally: &Tally) -> markup::TallyState {
    markup::TallyState {
        id: text(&tally.id),
        label: text(&tally.label),
        count: tally.count.to_string().into(),
        tone: tone(tally.tone),
        chosen: tally.is_chosen,
    }
}

/// The parts of a line in one sentence, for those who do not see it.
pub(super) fn spoken(parts: &[&str]) -> SharedString {
    let parts: Vec<&str> = parts
        .iter()
        .copied()
        .filter(|part| !part.is_empty())
        .collect();
    parts.join(", ").into()
}

pub fn attention(line: &AttentionLine) -> markup::AttentionLine {
    markup::AttentionLine {
        id: text(&line.id),
        tone: tone(line.tone),
        word: text(&line.word),
        code: text(&line.code),
        name: text(&line.name),
        sentence: text(&line.sentence),
        when: text(&line.when),
        chosen: line.is_chosen,
        spoken: spoken(&[&line.word, &line.code, &line.name, &line.sentence]),
    }
}

pub fn fleet(line: &FleetLine) -> markup::FleetLine {
    markup::FleetLine {
        id: text(&line.code),
        is_heading: line.is_heading,
        code: text(&line.code),
        name: text(&line.name),
        marks: list(&line.marks, |mark| tone(*mark)),
        tone: tone(line.tone),
        word: text(&line.word),
        reason: text(&line.reason),
        last_read: text(&line.last_read),
        values: text(&line.values),
        chosen: line.is_chosen,
        spoken: spoken(&[&line.code, &line.name, &line.word, &line.reason]),
    }
}

pub fn bundle(line: &BundleLine) -> markup::BundleLine {
    markup::BundleLine {
        id: text(&line.id),
        tone: tone(line.tone),
        word: text(&line.word),
        from: text(&line.from),
        file: SharedString::new(),
        records: text(&line.records),
        sentence: text(&line.sentence),
        chosen: line.is_chosen,
        spoken: spoken(&[&line.from, &line.word, &line.records, &line.sentence]),
    }
}

pub fn loss(line: &LossLine) -> markup::LossLine {
    markup::LossLine {
        tone: tone(line.tone),
        head: text(&line.head),
        sentence: text(&line.sentence),
    }
}

pub fn side(side: &SideView) -> markup::SideState {
    markup::SideState {
        name: text(&side.name),
        facts: list(&side.facts, fact),
        figures: list(&side.figures, |(one, is_same)| markup::SideFigure {
            figure: figure(one),
            is_same: *is_same,
        }),
        remark: text(&side.remark),
    }
}

pub fn answer(answer: &AnswerView) -> markup::AnswerState {
    markup::AnswerState {
        id: text(&answer.id),
        number: text(&answer.number),
        label: text(&answer.label),
        consequence: text(&answer.consequence),
        chosen: answer.is_chosen,
        column: i32::try_from(answer.column).unwrap_or(0),
        row: i32::try_from(answer.row).unwrap_or(0),
    }
}

pub fn held(line: &HeldLine) -> markup::HeldLine {
    markup::HeldLine {
        id: text(&line.id),
        label: text(&line.label),
        records: text(&line.records),
        tone: tone(line.tone),
        word: text(&line.word),
        chosen: line.is_chosen,
        spoken: spoken(&[&line.label, &line.word, &line.records]),
    }
}

fn cell(cell: &Cell) -> markup::CellState {
    markup::CellState {
        value: text(&cell.value),
        tone: tone(cell.tone),
        word: text(&cell.word),
    }
}

pub fn reading(line: &ReadingLine) -> markup::ReadingLine {
    let values: Vec<String> = line
        .cells
        .iter()
        .filter(|cell| !cell.value.is_empty())
        .map(|cell| format!("{} {}", cell.value, cell.word))
        .collect();
    markup::ReadingLine {
        id: text(&line.id),
        when: text(&line.when),
        who: text(&line.who),
        cells: list(&line.cells, cell),
        remark: text(&line.remark),
        chosen: line.is_chosen,
        spoken: spoken(&[&line.when, &values.join(", "), &line.who]),
    }
}

pub fn sum(line: &SumLine) -> markup::SumLine {
    markup::SumLine {
        what: text(&line.what),
        how: text(&line.how),
        figure: text(&line.figure),
        strong: line.is_strong,
        tone: tone(line.tone),
    }
}

pub fn place_line(line: &PlaceLine) -> markup::PlaceLine {
    markup::PlaceLine {
        id: text(&line.id),
        label: text(&line.label),
        detail: text(&line.detail),
        chosen: line.is_chosen,
    }
}
