//! The closer look at a station in the tablet's window.

use std::cell::RefCell;
use std::rc::Rc;

use slint::{ComponentHandle, ModelRc, SharedString, VecModel};
use winze_core::station::Quantity;

use super::super::convert;
use super::super::rows::Rows;
use super::{Tablet, with_none, with_one};
use crate::markup::{self, CloserAdapter};
use crate::presenters::chart::{Strip, TimeTick};
use crate::presenters::finding::{CheckView, FindingView, SuspectLine};
use crate::presenters::history::{HistoryView, StripView};
use crate::presenters::office_view::SumLine;
use crate::tablet::session::{Session, Sheet};

/// The lists of the closer look, and the strips last shown.
#[derive(Default)]
pub(super) struct CloserRows {
    tabs: Rows<markup::Choice>,
    suspects: Rows<markup::SuspectLine>,
    answered: Rows<SharedString>,
    strips: Rows<markup::StripState>,
    dates: Rows<markup::ChartTick>,
    reaches: Rows<markup::Choice>,
    gauges: Rows<markup::Choice>,
    lines: Rows<markup::WorkLine>,
    /// Strips are made anew, and drawn anew, only when they change.
    shown: RefCell<Option<HistoryView>>,
}

impl Tablet {
    pub(super) fn bind_closer(self: &Rc<Self>) {
        let adapter = self.window.global::<CloserAdapter>();
        let rows = &self.closer;
        adapter.set_tabs(rows.tabs.model());
        adapter.set_suspects(rows.suspects.model());
        adapter.set_answered(rows.answered.model());
        adapter.set_strips(rows.strips.model());
        adapter.set_dates(rows.dates.model());
        adapter.set_reaches(rows.reaches.model());
        adapter.set_work_gauges(rows.gauges.model());
        adapter.set_work_lines(rows.lines.model());
        adapter.on_look_at(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.look_at(&id));
        }));
        adapter.on_lead_on(with_none(self, |tablet| tablet.act(Session::go_on)));
        adapter.on_next_finding(with_none(self, |tablet| tablet.act(Session::next_finding)));
        adapter.on_pass_check(with_none(self, |tablet| tablet.act(Session::pass_check)));
        let weak = Rc::downgrade(self);
        adapter.on_answer_check(move |code, is_yes| {
            if let Some(tablet) = weak.upgrade() {
                tablet.act(|session| session.answer_check(&code, is_yes));
            }
        });
        let weak = Rc::downgrade(self);
        adapter.on_sized(move |width, height| {
            if let Some(tablet) = weak.upgrade() {
                let (width, height) = (f64::from(width), f64::from(height));
                tablet.act(|session| session.strips_sized(width, height));
            }
        });
        adapter.on_reach(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.reach(&id));
        }));
        adapter.on_move_in_time(with_one(self, |tablet, by: i32| {
            tablet.act(|session| session.move_in_time(by));
        }));
        adapter.on_work_out(with_one(self, |tablet, id: SharedString| {
            let found = Quantity::ALL
                .into_iter()
                .find(|one| one.code() == id.as_str());
            if let Some(quantity) = found {
                tablet.act(|session| session.work_out(quantity));
            }
        }));
    }

    pub(super) fn show_closer(&self, session: &Session) {
        let (Some(view), Some(sheet)) = (session.closer_view(), session.sheet()) else {
            return;
        };
        let adapter = self.window.global::<CloserAdapter>();
        self.closer.tabs.set(view.tabs.iter().map(convert::choice));
        adapter.set_go_on(view.go_on.as_str().into());
        adapter.set_correct(view.correct.as_str().into());
        adapter.set_trouble(view.trouble.as_str().into());
        match sheet {
            Sheet::Finding => self.show_finding(&session.finding_view().unwrap_or_default()),
            Sheet::History => self.show_history(session.history_view().unwrap_or_default()),
            Sheet::WorkedOut => {
                let view = session.worked_out().unwrap_or_default();
                adapter.set_work_title(view.title.as_str().into());
                adapter.set_work_nothing(view.nothing.as_str().into());
                self.closer
                    .gauges
                    .set(view.gauges.iter().map(convert::choice));
                self.closer.lines.set(view.lines.iter().map(work_line));
            }
            _ => {}
        }
    }

    fn show_finding(&self, view: &FindingView) {
        let adapter = self.window.global::<CloserAdapter>();
        adapter.set_flag(convert::flag(&view.flag));
        adapter.set_more(view.more.as_str().into());
        self.closer.suspects.set(view.suspects.iter().map(suspect));
        self.closer
            .answered
            .set(view.answered.iter().map(SharedString::from));
        adapter.set_has_check(view.check.is_some());
        // A check is put anew only when it is another: its keys stay under the finger.
        let check = view.check.as_ref().map(check).unwrap_or_default();
        if adapter.get_check().code != check.code || adapter.get_check().hint != check.hint {
            adapter.set_check(check);
        }
        adapter.set_no_check(view.no_check.as_str().into());
        adapter.set_has_other(view.has_other);
    }

    fn show_history(&self, view: HistoryView) {
        if self.closer.shown.borrow().as_ref() == Some(&view) {
            return;
        }
        let adapter = self.window.global::<CloserAdapter>();
        adapter.set_span(view.title.as_str().into());
        adapter.set_can_earlier(view.can_earlier);
        adapter.set_can_later(view.can_later);
        self.closer.strips.set(view.strips.iter().map(strip));
        self.closer.dates.set(view.dates.iter().map(date));
        self.closer
            .reaches
            .set(view.reaches.iter().map(convert::choice));
        *self.closer.shown.borrow_mut() = Some(view);
    }
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "a share or a pixel loses nothing that shows"
)]
const fn pixel(value: f64) -> f32 {
    value as f32
}

fn suspect(line: &SuspectLine) -> markup::SuspectLine {
    markup::SuspectLine {
        what: line.what.as_str().into(),
        likelihood: line.likelihood.as_str().into(),
        figure: line.figure.as_str().into(),
        share: pixel(line.share),
        before: line.before.as_str().into(),
    }
}

fn check(check: &CheckView) -> markup::CheckState {
    markup::CheckState {
        code: check.code.as_str().into(),
        title: check.title.as_str().into(),
        act: check.act.as_str().into(),
        question: check.question.as_str().into(),
        yes: check.yes.as_str().into(),
        no: check.no.as_str().into(),
        cautions: convert::texts(&check.cautions),
        hint: check.hint.as_str().into(),
    }
}

fn date(tick: &TimeTick) -> markup::ChartTick {
    markup::ChartTick {
        at: pixel(tick.x),
        text: tick.text.as_str().into(),
    }
}

fn strip(view: &StripView) -> markup::StripState {
    let Strip {
        ticks,
        grid,
        band,
        line,
        dots,
        unsure,
        outside,
        fan,
        ahead,
        stems,
        baselines,
        marks,
    } = &view.strip;
    let ticks = ticks.iter().map(|tick| markup::ChartTick {
        at: pixel(tick.y),
        text: tick.text.as_str().into(),
    });
    let marks = marks.iter().map(|mark| markup::ChartMark {
        x: pixel(mark.x),
        y: pixel(mark.y),
        shape: convert::flag_shape(mark.shape),
        tone: convert::tone(mark.tone),
        word: mark.word.as_str().into(),
        is_left: mark.is_left,
    });
    markup::StripState {
        name: view.name.as_str().into(),
        latest: view.latest.as_str().into(),
        tone: convert::tone(view.tone),
        outlook: view.outlook.as_str().into(),
        ticks: model(ticks),
        marks: model(marks),
        grid: grid.as_str().into(),
        band: band.as_str().into(),
        line: line.as_str().into(),
        dots: dots.as_str().into(),
        unsure: unsure.as_str().into(),
        outside: outside.as_str().into(),
        fan: fan.as_str().into(),
        ahead: ahead.as_str().into(),
        stems: stems.as_str().into(),
        baselines: baselines.as_str().into(),
    }
}

fn model<T: Clone + 'static>(rows: impl Iterator<Item = T>) -> ModelRc<T> {
    ModelRc::from(Rc::new(rows.collect::<VecModel<T>>()))
}

fn work_line(line: &SumLine) -> markup::WorkLine {
    markup::WorkLine {
        what: line.what.as_str().into(),
        how: line.how.as_str().into(),
        figure: line.figure.as_str().into(),
        tone: convert::tone(line.tone),
        is_strong: line.is_strong,
    }
}
