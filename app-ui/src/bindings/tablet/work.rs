//! The pages for looking after stations in the tablet's window.

use std::rc::Rc;

use slint::{ComponentHandle, SharedString};

use super::super::convert;
use super::super::rows::Rows;
use super::{Tablet, with_none, with_one, with_two};
use crate::markup::{self, WorkAdapter, WorkBody};
use crate::presenters::view::{Choice, Tone};
use crate::presenters::work_view::{Body, Offer, Saying, TaskLine};
use crate::tablet::session::Session;

/// The lists of those pages.
#[derive(Default)]
pub(super) struct WorkRows {
    lines: Rows<markup::TaskLine>,
    keys: Rows<markup::Choice>,
    offers: Rows<markup::Offer>,
    sayings: Rows<markup::Saying>,
    figures: Rows<markup::Figure>,
    phrases: Rows<markup::Choice>,
}

/// An offer as the markup has it.
pub(super) fn offer(offer: &Offer) -> markup::Offer {
    markup::Offer {
        id: offer.id.as_str().into(),
        label: offer.label.as_str().into(),
        detail: offer.detail.as_str().into(),
        on: offer.is_on,
    }
}

/// A sentence as the markup has it.
pub(super) fn saying(saying: &Saying) -> markup::Saying {
    markup::Saying {
        tone: convert::tone(saying.tone),
        text: saying.text.as_str().into(),
    }
}

fn line(line: &TaskLine) -> markup::TaskLine {
    markup::TaskLine {
        id: line.id.as_str().into(),
        is_heading: line.is_heading,
        title: line.title.as_str().into(),
        detail: line.detail.as_str().into(),
        tone: convert::tone(line.tone),
        status: line.status.as_str().into(),
        is_next: line.is_next,
    }
}

fn counted(count: i32) -> usize {
    usize::try_from(count).unwrap_or(0)
}

impl Tablet {
    pub(super) fn bind_work(self: &Rc<Self>) {
        let adapter = self.window.global::<WorkAdapter>();
        let rows = &self.work;
        adapter.set_lines(rows.lines.model());
        adapter.set_keys(rows.keys.model());
        adapter.set_offers(rows.offers.model());
        adapter.set_sayings(rows.sayings.model());
        adapter.set_figures(rows.figures.model());
        adapter.set_phrases(rows.phrases.model());
        adapter.on_go_back(with_none(self, |tablet| tablet.act(Session::work_back)));
        adapter.on_go_to_hand_over(with_none(self, |tablet| {
            tablet.act(Session::go_to_hand_over);
        }));
        adapter.on_act(with_one(self, |tablet, id: SharedString| {
            tablet.act(|session| session.work_act(&id));
        }));
        adapter.on_turn_page(with_one(self, |tablet, by: i32| {
            let by = isize::try_from(by).unwrap_or(0);
            tablet.act(|session| session.turn_work_page(by));
        }));
        adapter.on_list_sized(with_one(self, |tablet, half_lines| {
            tablet.act(|session| session.work_sized(counted(half_lines)));
        }));
        adapter.on_text_sized(with_two(self, |tablet, chars, lines| {
            tablet.act(|session| session.work_text_sized(counted(chars), counted(lines)));
        }));
        adapter.on_text_edited(with_one(self, |tablet, text: SharedString| {
            tablet.act(|session| session.work_text_so_far(&text));
        }));
    }

    fn show_keys(&self, keys: &[Choice]) {
        self.work.keys.set(keys.iter().map(convert::choice));
    }

    pub(super) fn show_work(&self, session: &Session) {
        let (screen, page, pages) = session.work_screen();
        let adapter = self.window.global::<WorkAdapter>();
        adapter.set_back(screen.back.as_str().into());
        adapter.set_title(screen.title.as_str().into());
        adapter.set_detail(screen.detail.as_str().into());
        adapter.set_position(screen.position.as_str().into());
        adapter.set_waiting(screen.waiting.as_str().into());
        adapter.set_said(saying(&screen.said));
        adapter.set_page(format!("page {} of {pages}", page + 1).into());
        adapter.set_can_page_back(page > 0);
        adapter.set_can_page_on(page + 1 < pages);
        let heading = |heading: &str, under: &str| {
            adapter.set_heading(heading.into());
            adapter.set_under(under.into());
        };
        let body = match &screen.body {
            Body::List(list) => {
                self.work.lines.set(list.lines.iter().map(line));
                adapter.set_nothing(list.nothing.as_str().into());
                self.show_keys(&list.keys);
                WorkBody::List
            }
            Body::Choices(choices) => {
                heading(&choices.heading, &choices.under);
                self.work.offers.set(choices.offers.iter().map(offer));
                adapter.set_leave(choices.leave.as_str().into());
                WorkBody::Choices
            }
            Body::Writing(writing) => {
                heading(&writing.heading, &writing.under);
                self.work
                    .phrases
                    .set(writing.phrases.iter().map(convert::choice));
                adapter.set_keep(writing.keep.as_str().into());
                adapter.set_leave(writing.leave.as_str().into());
                if adapter.get_text() != session.work_text() {
                    adapter.set_text(session.work_text().into());
                }
                WorkBody::Writing
            }
            Body::Detail(detail) => {
                heading(&detail.heading, "");
                adapter.set_tone(convert::tone(detail.tone));
                adapter.set_status(detail.status.as_str().into());
                self.work.sayings.set(detail.sayings.iter().map(saying));
                self.show_keys(&detail.keys);
                WorkBody::Detail
            }
            Body::Back(back) => {
                heading(&back.heading, "");
                adapter.set_tone(convert::tone(Tone::None));
                self.work
                    .figures
                    .set(back.figures.iter().map(convert::figure));
                self.work.sayings.set(back.sayings.iter().map(saying));
                adapter.set_keep(back.save.as_str().into());
                WorkBody::ReadBack
            }
            Body::Step(step) => {
                self.show_step(step);
                WorkBody::Step
            }
            Body::Assist(assist) => {
                self.show_assist(assist, session);
                WorkBody::Assist
            }
        };
        adapter.set_body(body);
    }
}
