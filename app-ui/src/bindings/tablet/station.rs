//! The station screen of the tablet's window.

use std::cell::RefCell;
use std::rc::Rc;

use slint::{ComponentHandle, SharedString};
use winze_core::station::Quantity;

use super::super::convert::{self, KeptFace};
use super::super::rows::Rows;
use super::{Tablet, with_none, with_one};
use crate::markup::{self, PipeState, StationAdapter};
use crate::presenters::{correction, station};
use crate::tablet::session::{Session, Sheet};

/// The lists of the station screen, and its dial faces.
#[derive(Default)]
pub(super) struct StationRows {
    faces: RefCell<[KeptFace; 3]>,
    look_round: Rows<markup::Choice>,
    flow: Rows<markup::Choice>,
    answers: Rows<markup::Choice>,
    figures: Rows<markup::Figure>,
    skip_reasons: Rows<markup::Choice>,
    correction_reasons: Rows<markup::Choice>,
    phrases: Rows<markup::Choice>,
}

fn quantity(index: i32) -> Quantity {
    match index {
        0 => Quantity::Inlet,
        1 => Quantity::Interstage,
        _ => Quantity::Outlet,
    }
}

impl Tablet {
    pub(super) fn bind_station(self: &Rc<Self>) {
        let adapter = self.window.global::<StationAdapter>();
        let rows = &self.station;
        adapter.set_look_round(rows.look_round.model());
        adapter.set_flow(rows.flow.model());
        adapter.set_answers(rows.answers.model());
        adapter.set_figures(rows.figures.model());
        adapter.set_skip_reasons(rows.skip_reasons.model());
        adapter.set_phrases(rows.phrases.model());
        adapter.set_correction_reasons(rows.correction_reasons.model());
        rows.correction_reasons
            .set(correction::reasons().iter().map(convert::choice));
        rows.skip_reasons
            .set(station::skip_reasons().iter().map(convert::choice));
        rows.phrases
            .set(station::phrases().iter().map(convert::choice));
        self.bind_entry();
        self.bind_sheets();
    }

    fn bind_entry(self: &Rc<Self>) {
        let adapter = self.window.global::<StationAdapter>();
        adapter.on_go_back(with_none(self, |tablet| tablet.act(Session::go_to_round)));
        adapter.on_go_to_hand_over(with_none(self, |tablet| {
            tablet.act(Session::go_to_hand_over);
        }));
        adapter.on_go_to_work(with_none(self, |tablet| {
            tablet.act(Session::go_to_station_work);
        }));
        let weak = Rc::downgrade(self);
        adapter.on_touched(move |gauge, x, y| {
            if let Some(tablet) = weak.upgrade() {
                let (x, y) = (f64::from(x), f64::from(y));
                tablet.act(|session| session.touch_dial(quantity(gauge), x, y));
            }
        });
        let weak = Rc::downgrade(self);
        adapter.on_released(move |_, _, _| {
            if let Some(tablet) = weak.upgrade() {
                tablet.act(Session::release_dial);
            }
        });
        adapter.on_typed(with_one(self, |tablet, key: SharedString| {
            if let Some(key) = key.chars().next() {
                tablet.act(|session| session.key(key));
            }
        }));
        adapter.on_erase(with_none(self, |tablet| tablet.act(Session::erase)));
        adapter.on_nudge(with_one(self, |tablet, by| {
            tablet.act(|session| session.nudge(i64::from(by)));
        }));
        adapter.on_next(with_none(self, |tablet| tablet.act(Session::next_gauge)));
        adapter.on_toggle_look_round(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.toggle_look_round(&id));
        }));
        adapter.on_toggle_flow(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.toggle_flow(&id));
        }));
    }

    fn bind_sheets(self: &Rc<Self>) {
        let adapter = self.window.global::<StationAdapter>();
        adapter.on_ask_read_back(with_none(self, |tablet| {
            tablet.act(Session::ask_read_back);
        }));
        adapter.on_answer(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.answer(&id));
        }));
        adapter.on_change(with_none(self, |tablet| tablet.act(Session::change)));
        adapter.on_save(with_none(self, |tablet| tablet.act(Session::save)));
        adapter.on_look_closer(with_none(self, |tablet| tablet.act(Session::look_closer)));
        adapter.on_start_correction(with_none(self, |tablet| {
            tablet.act(Session::start_correction);
        }));
        adapter.on_correct_because(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.correct(&id));
        }));
        adapter.on_ask_skip(with_none(self, |tablet| tablet.act(Session::ask_skip)));
        adapter.on_skip(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.skip(&id));
        }));
        adapter.on_ask_note(with_none(self, |tablet| {
            let note = tablet
                .session
                .borrow()
                .entry()
                .map(|entry| entry.note().to_owned());
            let adapter = tablet.window.global::<StationAdapter>();
            adapter.set_note(note.unwrap_or_default().as_str().into());
            tablet.act(Session::ask_note);
        }));
        adapter.on_note_edited(with_one(self, |tablet, text: SharedString| {
            tablet.act(|session| session.note_so_far(&text));
        }));
        adapter.on_add_phrase(with_one(self, |tablet, phrase: SharedString| {
            let adapter = tablet.window.global::<StationAdapter>();
            let note = Session::with_phrase(&adapter.get_note(), &phrase);
            adapter.set_note(note.as_str().into());
            tablet.act(|session| session.note_so_far(&note));
        }));
        adapter.on_note_done(with_one(self, |tablet, text: SharedString| {
            tablet.act(|session| session.note_done(&text));
        }));
    }

    pub(super) fn show_station(&self, session: &Session) {
        let (Some(view), Some(sheet)) = (session.station_view(), session.sheet()) else {
            return;
        };
        let adapter = self.window.global::<StationAdapter>();
        let rows = &self.station;
        adapter.set_code(view.code.as_str().into());
        adapter.set_name(view.name.as_str().into());
        adapter.set_position(view.position.as_str().into());
        adapter.set_waiting(view.waiting.as_str().into());
        let mut faces = rows.faces.borrow_mut();
        let [inlet, interstage, outlet] = &view.gauges;
        adapter.set_inlet(faces[0].gauge(inlet));
        adapter.set_interstage(faces[1].gauge(interstage));
        adapter.set_outlet(faces[2].gauge(outlet));
        adapter.set_pipe(PipeState {
            first_stage: view.first_stage.as_str().into(),
            second_stage: view.second_stage.as_str().into(),
        });
        rows.look_round
            .set(view.look_round.iter().map(convert::choice));
        rows.flow.set(view.flow.iter().map(convert::choice));
        adapter.set_has_note(view.has_note);
        adapter.set_meaning(view.sentences.meaning.as_str().into());
        adapter.set_advice(view.sentences.advice.as_str().into());
        adapter.set_sentence_tone(convert::tone(view.sentences.tone));
        adapter.set_next_gauge(view.next_gauge.as_str().into());
        adapter.set_read_back(view.read_back.as_str().into());
        // Words are broken for the eye; the ear hears one line.
        adapter.set_read_back_spoken(view.read_back.replace('\n', " ").into());
        adapter.set_flag(convert::flag(&view.flag));
        adapter.set_closer(view.closer.as_str().into());
        adapter.set_closer_spoken(view.closer.replace('\n', " ").into());
        adapter.set_correct(view.correct.as_str().into());
        adapter.set_skip_label(view.skip.as_str().into());
        adapter.set_can_read_back(view.can_read_back);
        adapter.set_nudge_step(view.nudge_step.as_str().into());
        adapter.set_can_skip(session.can_skip());
        adapter.set_trouble(session.station_trouble().as_str().into());
        if sheet == Sheet::Question
            && let Some(question) = session.question()
        {
            adapter.set_question(question.question.as_str().into());
            adapter.set_question_detail(question.detail.as_str().into());
            rows.answers
                .set(question.answers.iter().map(convert::choice));
        }
        if sheet == Sheet::ReadBack
            && let Some(back) = session.read_back()
        {
            rows.figures.set(back.figures.iter().map(convert::figure));
            adapter.set_looked_round(back.looked_round.as_str().into());
            adapter.set_note_read_back(back.note.as_str().into());
            adapter.set_flag_read_back(convert::flag(&back.flag));
            adapter.set_save_label(back.save.as_str().into());
        }
        if session.is_looking_closer() {
            self.show_closer(session);
        }
        adapter.set_sheet(convert::sheet(sheet));
    }
}
