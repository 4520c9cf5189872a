//! What each kind of document says, in which order.

mod due;
mod gauges;
mod history;
mod hydraulics;
mod persons;
mod setting;
mod steps;
mod week;

#[cfg(test)]
pub(crate) mod samples;

pub use due::due_sheet;
pub use week::week_sheet;

use super::document::{Block, Cell, Dated, Document, Fact, Line, Opening, Sign, Table};
use super::work::{Act, Ending, StepState, WorkDone, WorkKind};
use crate::messages::number::amount;
use crate::messages::reports as words;
use crate::presenters::words as trade;

/// Turns an account of work into a document.
#[must_use]
pub fn document(work: &WorkDone) -> Document {
    let title = words::title(work.kind).to_owned();
    let end = work
        .closed
        .as_ref()
        .map_or(&work.opened, |closed| &closed.act);
    let last = last_act(work).unwrap_or(end);
    Document {
        running: words::running(&subject(work), &words::date(last)),
        about: words::about(work.kind, &subject(work), &words::date(last)),
        id: work.opened.at.id.to_string(),
        id_of: words::ID_OF.to_owned(),
        dated: Dated {
            wall_ms: last.wall_ms,
            utc_offset_minutes: last.utc_offset_minutes,
        },
        opening: opening(work),
        blocks: blocks(work),
        title,
    }
}

fn blocks(work: &WorkDone) -> Vec<Block> {
    let mut all = vec![Block::Facts(facts(work))];
    all.extend(notes(work));
    all.extend(gauges::blocks(work));
    match work.kind {
        WorkKind::SetUp => {
            all.extend(setting::decision(work));
            all.extend(setting::blocks(work));
        }
        WorkKind::Recalibration => all.extend(setting::blocks(work)),
        WorkKind::YearlyClean | WorkKind::Inspection => {
            all.extend(found(work));
            all.extend(history::blocks(work));
        }
    }
    all.extend(steps::passed_over(work));
    all.extend(persons::blocks(work));
    if work.kind == WorkKind::SetUp {
        all.push(hydraulics::page(work));
    }
    all.extend(steps::cautions(work));
    all.extend(steps::table(work));
    if matches!(work.kind, WorkKind::SetUp | WorkKind::Recalibration) {
        all.extend(setting::points(work));
    }
    all.extend(persons::records(work));
    all.push(Block::Heading(words::ABOUT_HEADING.to_owned()));
    all.extend(
        words::ABOUT_LINES
            .iter()
            .map(|&text| Block::Text(Line::quiet(text))),
    );
    all
}

/// The code and name of the station.
fn subject(work: &WorkDone) -> String {
    let station = &work.station;
    format!("{} {}", station.code, station.name)
        .trim()
        .to_owned()
}

/// The last thing that was recorded, by time.
fn last_act(work: &WorkDone) -> Option<&Act> {
    let acts = work.records.iter().map(|record| &record.act);
    acts.max_by_key(|act| (act.wall_ms, act.at))
}

fn opening(work: &WorkDone) -> Opening {
    let passed = work
        .steps
        .iter()
        .filter(|step| matches!(step.state, StepState::PassedOver { .. }))
        .count();
    let open = work
        .steps
        .iter()
        .filter(|step| !matches!(step.state, StepState::Done | StepState::PassedOver { .. }))
        .count();
    let mut states = vec![match &work.closed {
        Some(closed) => {
            let sign = match closed.ending {
                Ending::Completed => Sign::Done,
                Ending::Abandoned => Sign::TakenBack,
            };
            Line::strong(words::ended(closed.ending, &closed.act)).signed(sign)
        }
        None => Line::strong(words::NOT_ENDED).signed(Sign::Open),
    }];
    states.extend(gauges::worst_line(work));
    if passed > 0 {
        states.push(Line::plain(words::steps_passed_over(passed)).signed(Sign::PassedOver));
    }
    if work.kind == WorkKind::Inspection {
        states.push(Line::plain(words::SET_UP_FOLLOWS).signed(Sign::Open));
    }
    if open > 0 {
        states.push(Line::plain(words::steps_open(open)).signed(Sign::Open));
    }
    Opening {
        subject: subject(work),
        place: work.station.level.clone(),
        states,
    }
}

fn facts(work: &WorkDone) -> Vec<Fact> {
    let station = &work.station;
    let unit = station.unit;
    let mut all = Vec::new();
    let mut fact = |label: &str, value: String| {
        if !value.is_empty() {
            all.push(Fact {
                label: label.to_owned(),
                value: Cell::plain(value),
            });
        }
    };
    fact(words::BEGUN, words::moment_and_person(&work.opened));
    if let Some(closed) = &work.closed {
        fact(
            words::ended_label(closed.ending),
            words::moment_and_person(&closed.act),
        );
    }
    fact(words::DONE_BY, work.done_by.clone());
    fact(words::SEEN_BY, work.seen_by.clone());
    fact(words::REASON, work.reason.clone());
    let second = &station.second_stage;
    fact(
        words::SET_POINT,
        words::plus_minus(
            &amount(second.set_point.to_pressure(), unit),
            &amount(second.band.to_pressure(), unit),
        ),
    );
    let spring = second.spring_range.map(|(low, high)| {
        words::range(
            &amount(low.to_pressure(), unit),
            &amount(high.to_pressure(), unit),
        )
    });
    fact(words::SPRING, spring.unwrap_or(words::NOT_KNOWN.to_owned()));
    let first = &station.first_stage;
    fact(
        words::RATIO,
        words::ratio(first.ratio, first.ratio_tolerance_percent),
    );
    let ratio = gauges::as_left_ratio(work);
    if let Some(ratio) = ratio {
        fact(words::RATIO_LEFT, ratio);
    }
    fact(
        words::INLET_USUAL,
        words::range(
            &amount(station.inlet_usual.low.to_pressure(), unit),
            &amount(station.inlet_usual.high.to_pressure(), unit),
        ),
    );
    let site = &station.site;
    let limits = [
        (words::DOWNSTREAM_MAX, site.downstream_max),
        (words::RELIEF, site.relief_set),
    ];
    for (label, value) in limits {
        fact(
            label,
            value.map_or(words::NOT_KNOWN.to_owned(), trade::typed),
        );
    }
    fact(
        words::DEFINITION,
        work.revision
            .map_or(words::NOT_KNOWN.to_owned(), |at| at.id.short()),
    );
    all
}

fn notes(work: &WorkDone) -> Vec<Block> {
    let mut all = Vec::new();
    if let Some(closed) = &work.closed
        && !closed.note.is_empty()
    {
        all.push(Block::Text(Line::plain(words::closing_note(&closed.note))));
    }
    all
}

/// Findings and parts.
fn found(work: &WorkDone) -> Vec<Block> {
    let mut all = vec![Block::Heading(words::FINDINGS.to_owned())];
    if work.findings.is_empty() {
        all.push(Block::Text(Line::plain(words::NO_FINDINGS)));
    } else {
        let findings = work.findings.iter().map(|finding| Fact {
            label: finding.what.clone(),
            value: if finding.is_notable {
                Cell::strong(&finding.how)
            } else {
                Cell::plain(&finding.how)
            },
        });
        all.push(Block::Facts(findings.collect()));
    }
    if !work.parts.is_empty() {
        let rows = work.parts.iter().map(|part| vec![Cell::plain(part)]);
        all.push(Block::Table(Table {
            columns: vec![super::document::Column::left(words::PARTS, 1.0)],
            rows: rows.collect(),
            is_ruled: true,
            ..Table::default()
        }));
    }
    all
}
