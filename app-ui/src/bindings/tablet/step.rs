//! The screen of one step in the tablet's window, and the calibration assistant.

use std::cell::RefCell;
use std::rc::Rc;

use slint::{ComponentHandle, SharedString};
use winze_core::station::Quantity;

use super::super::convert::{self, KeptFace};
use super::super::rows::Rows;
use super::work::{offer, saying};
use super::{Tablet, with_none, with_one};
use crate::markup::{self, AssistAdapter, StepAdapter};
use crate::presenters::turns_plot::TurnsPlot;
use crate::presenters::work_view::{AssistBody, FieldView, StepBody, StepMark, StripMark};
use crate::tablet::session::Session;

/// The lists of a step, and its dial faces.
#[derive(Default)]
pub(super) struct StepRows {
    faces: RefCell<[KeptFace; 3]>,
    marks: Rows<markup::StripMark>,
    cautions: Rows<SharedString>,
    ticks: Rows<markup::Choice>,
    offers: Rows<markup::Offer>,
    fields: Rows<markup::FieldState>,
    first_pick: Rows<markup::Choice>,
    second_pick: Rows<markup::Choice>,
    figures: Rows<markup::Saying>,
    notes: Rows<markup::Saying>,
    told: Rows<markup::Told>,
    draw_off: Rows<markup::Choice>,
    steady: Rows<markup::Choice>,
    turn_keys: Rows<markup::Choice>,
}

fn mark(mark: StripMark) -> markup::StripMark {
    markup::StripMark {
        mark: match mark.mark {
            StepMark::Open => markup::StepMark::Open,
            StepMark::Done => markup::StepMark::Done,
            StepMark::Passed => markup::StepMark::Passed,
            StepMark::Begun => markup::StepMark::Begun,
        },
        is_here: mark.is_here,
    }
}

fn field(field: &FieldView) -> markup::FieldState {
    markup::FieldState {
        id: field.id.as_str().into(),
        name: field.name.as_str().into(),
        value: field.value.as_str().into(),
        unit: field.unit.as_str().into(),
        chosen: field.is_chosen,
    }
}

fn plot(plot: &TurnsPlot) -> markup::TurnsPlot {
    markup::TurnsPlot {
        band: plot.band.as_str().into(),
        target: plot.target.as_str().into(),
        line: plot.line.as_str().into(),
        dots: plot.dots.as_str().into(),
        newest: plot.newest.as_str().into(),
        ahead: plot.ahead.as_str().into(),
    }
}

impl Tablet {
    pub(super) fn bind_step(self: &Rc<Self>) {
        let adapter = self.window.global::<StepAdapter>();
        let rows = &self.step;
        adapter.set_marks(rows.marks.model());
        adapter.set_cautions(rows.cautions.model());
        adapter.set_ticks(rows.ticks.model());
        adapter.set_offers(rows.offers.model());
        adapter.set_fields(rows.fields.model());
        adapter.set_first_pick(rows.first_pick.model());
        adapter.set_second_pick(rows.second_pick.model());
        adapter.set_figures(rows.figures.model());
        adapter.on_typed(with_one(self, |tablet, key: SharedString| {
            if let Some(key) = key.chars().next() {
                tablet.act(|session| session.work_key(key));
            }
        }));
        adapter.on_erase(with_none(self, |tablet| tablet.act(Session::work_erase)));
        adapter.on_next(with_none(self, |tablet| tablet.act(Session::work_next)));
        let weak = Rc::downgrade(self);
        adapter.on_touched(move |gauge, x, y| {
            if let Some(tablet) = weak.upgrade() {
                let quantity = match gauge {
                    0 => Quantity::Inlet,
                    1 => Quantity::Interstage,
                    _ => Quantity::Outlet,
                };
                let (x, y) = (f64::from(x), f64::from(y));
                tablet.act(|session| session.work_touch_dial(quantity, x, y));
            }
        });
        adapter.on_released(with_none(self, |tablet| {
            tablet.act(Session::work_release_dial);
        }));
        let adapter = self.window.global::<AssistAdapter>();
        adapter.set_notes(rows.notes.model());
        adapter.set_figures(rows.told.model());
        adapter.set_draw_off(rows.draw_off.model());
        adapter.set_steady(rows.steady.model());
        adapter.set_turn_keys(rows.turn_keys.model());
    }

    pub(super) fn show_step(&self, step: &StepBody) {
        let adapter = self.window.global::<StepAdapter>();
        let rows = &self.step;
        rows.marks.set(step.marks.iter().copied().map(mark));
        adapter.set_heading(step.heading.as_str().into());
        adapter.set_what(step.what.as_str().into());
        adapter.set_why(step.why.as_str().into());
        rows.cautions
            .set(step.cautions.iter().map(SharedString::from));
        adapter.set_notice(step.notice.as_str().into());
        rows.ticks.set(step.ticks.iter().map(convert::choice));
        rows.offers.set(step.offers.iter().map(offer));
        adapter.set_has_gauges(step.gauges.is_some());
        if let Some([inlet, interstage, outlet]) = &step.gauges {
            let mut faces = rows.faces.borrow_mut();
            adapter.set_inlet(faces[0].gauge(inlet));
            adapter.set_interstage(faces[1].gauge(interstage));
            adapter.set_outlet(faces[2].gauge(outlet));
        }
        rows.fields.set(step.fields.iter().map(field));
        adapter.set_first_name(step.first_pick.name.as_str().into());
        let pick = step.first_pick.choices.iter();
        rows.first_pick.set(pick.map(convert::choice));
        adapter.set_second_name(step.second_pick.name.as_str().into());
        let pick = step.second_pick.choices.iter();
        rows.second_pick.set(pick.map(convert::choice));
        adapter.set_has_figures(!step.figures_say.text.is_empty());
        rows.figures.set(step.figures.iter().map(saying));
        adapter.set_figures_say(saying(&step.figures_say));
        adapter.set_has_keypad(step.has_keypad);
        adapter.set_next_field(step.next_field.as_str().into());
        adapter.set_act(step.act.as_str().into());
        adapter.set_can_act(step.can_act);
        adapter.set_can_pass(step.can_pass);
        adapter.set_can_back(step.can_back);
        adapter.set_can_forward(step.can_forward);
        adapter.set_note(step.note.as_str().into());
    }

    pub(super) fn show_assist(&self, assist: &AssistBody, session: &Session) {
        let rows = &self.step;
        rows.marks.set(assist.marks.iter().copied().map(mark));
        let step = self.window.global::<StepAdapter>();
        let has_note = session
            .step_entry()
            .is_some_and(|entry| !entry.note.is_empty());
        step.set_note(if has_note { "Note, written" } else { "Note" }.into());
        step.set_can_back(true);
        step.set_can_forward(true);
        step.set_can_pass(true);
        let adapter = self.window.global::<AssistAdapter>();
        adapter.set_heading(assist.heading.as_str().into());
        adapter.set_detail(assist.detail.as_str().into());
        adapter.set_tone(convert::tone(assist.tone));
        rows.notes.set(assist.notes.iter().map(saying));
        rows.told
            .set(assist.figures.iter().map(|(what, figure)| markup::Told {
                what: what.as_str().into(),
                figure: figure.as_str().into(),
            }));
        adapter.set_plot(plot(&assist.plot));
        if let [outlet, interstage] = &assist.fields[..] {
            adapter.set_outlet(field(outlet));
            adapter.set_interstage(field(interstage));
        }
        rows.draw_off
            .set(assist.draw_off.iter().map(convert::choice));
        rows.steady.set(assist.steady.iter().map(convert::choice));
        adapter.set_turned(assist.turned.as_str().into());
        rows.turn_keys
            .set(assist.turn_keys.iter().map(convert::choice));
        adapter.set_keep(assist.keep.as_str().into());
        adapter.set_can_keep(assist.can_keep);
        adapter.set_finish(assist.finish.as_str().into());
        adapter.set_can_finish(assist.can_finish);
        adapter.set_can_take_back(assist.can_take_back);
    }
}
