//! Upkeep in the office window: callbacks to intents, views to the adapter.

use std::cell::RefCell;
use std::rc::Rc;

use slint::ComponentHandle as _;

use super::convert::{texts, tone};
use super::office::Office;
use super::office_convert::{self as to, list, spoken, text};
use super::rows::Rows;
use crate::markup::{self, OfficeWindow, UpkeepAdapter};
use crate::office::session::Session;
use crate::presenters::office_upkeep::{ActKey, BoardDetail, BoardForm, BoardLine, Filter};

/// The lists that outlive their refreshing.
#[derive(Default)]
pub struct UpkeepRows {
    sides: Rows<markup::FilterState>,
    head_keys: Rows<markup::ActState>,
    tallies: Rows<markup::TallyState>,
    filters: Rows<markup::FilterState>,
    lines: Rows<markup::BoardLine>,
    keys: Rows<markup::ActState>,
    choices: Rows<markup::PlaceLine>,
    detail: RefCell<BoardDetail>,
}

impl UpkeepRows {
    /// Hands the lists to the markup, once.
    pub fn hand_over(&self, window: &OfficeWindow) {
        let adapter = window.global::<UpkeepAdapter>();
        adapter.set_sides(self.sides.model());
        adapter.set_head_keys(self.head_keys.model());
        adapter.set_tallies(self.tallies.model());
        adapter.set_filters(self.filters.model());
        adapter.set_lines(self.lines.model());
    }

    /// Shows it. Texts under edit are taken from the session only when it asks for it.
    pub fn show(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<UpkeepAdapter>();
        let view = session.upkeep_view();
        self.sides.set(view.sides.iter().map(filter));
        self.head_keys.set(view.head_keys.iter().map(act));
        adapter.set_has_tallies(!view.tallies.is_empty());
        self.tallies.set(view.tallies.iter().map(to::tally));
        self.filters.set(view.filters.iter().map(filter));
        adapter.set_find_label(text(&view.find_label));
        adapter.set_list_title(text(&view.list_title));
        adapter.set_nothing(text(&view.nothing));
        self.lines.set(view.lines.iter().map(line));
        adapter.set_page(to::page(&view.page));
        self.keys.set(view.detail.keys.iter().map(act));
        if *self.detail.borrow() != view.detail {
            adapter.set_detail(self.detail_state(&view.detail));
            self.detail.replace(view.detail);
        }
        adapter.set_has_form(view.form.is_some());
        if let Some(form) = &view.form {
            self.choices.set(form.choices.iter().map(to::place_line));
            adapter.set_form(self.form_state(form));
        }
        if with_fields {
            let [first, second, _] = session.form_fields();
            adapter.set_first(text(first));
            adapter.set_second(text(second));
            adapter.set_find(text(session.upkeep_find()));
        }
    }

    fn detail_state(&self, detail: &BoardDetail) -> markup::BoardDetail {
        markup::BoardDetail {
            heading: text(&detail.heading),
            place: text(&detail.place),
            tone: tone(detail.tone),
            word: text(&detail.word),
            facts: list(&detail.facts, to::fact),
            told_title: text(&detail.told_title),
            told: texts(&detail.told),
            keys: self.keys.model(),
        }
    }

    fn form_state(&self, form: &BoardForm) -> markup::BoardForm {
        markup::BoardForm {
            title: text(&form.title),
            about: text(&form.about),
            choices_title: text(&form.choices_title),
            choices: self.choices.model(),
            columns: i32::try_from(form.columns).unwrap_or(1),
            first_label: text(&form.fields[0]),
            second_label: text(&form.fields[1]),
            save_label: text(&form.save_label),
            can_save: form.can_save,
        }
    }
}

fn filter(filter: &Filter) -> markup::FilterState {
    markup::FilterState {
        id: text(&filter.id),
        label: text(&filter.label),
        chosen: filter.is_chosen,
    }
}

fn act(key: &ActKey) -> markup::ActState {
    markup::ActState {
        id: text(&key.id),
        label: text(&key.label),
        primary: key.is_primary,
    }
}

fn line(line: &BoardLine) -> markup::BoardLine {
    markup::BoardLine {
        id: text(&line.id),
        is_heading: line.is_heading,
        tone: tone(line.tone),
        word: text(&line.word),
        code: text(&line.code),
        name: text(&line.name),
        sentence: text(&line.sentence),
        when: text(&line.when),
        chosen: line.is_chosen,
        spoken: spoken(&[
            &line.word,
            &line.code,
            &line.name,
            &line.when,
            &line.sentence,
        ]),
    }
}

impl Office {
    pub(super) fn bind_upkeep(self: &Rc<Self>) {
        let adapter = self.window.global::<UpkeepAdapter>();
        adapter.on_show(self.by_id(Session::show_upkeep));
        adapter.on_choose_tally(self.by_id(Session::choose_due));
        adapter.on_filter(self.by_id(Session::filter_upkeep));
        adapter.on_found(self.by_id(Session::find_upkeep));
        adapter.on_choose(self.by_id(Session::choose_upkeep));
        adapter.on_press(self.by_id(Session::press_upkeep));
        adapter.on_choose_in_form(self.by_id(Session::choose_in_form));
        let me = Rc::downgrade(self);
        adapter.on_turn(move |by| {
            if let Some(me) = me.upgrade() {
                me.act(|session| session.turn_upkeep(by as isize));
            }
        });
        let me = Rc::downgrade(self);
        adapter.on_fits(move |rows| {
            if let Some(me) = me.upgrade() {
                let rows = usize::try_from(rows).unwrap_or(1);
                me.fit(|session| session.fit_upkeep(rows));
            }
        });
        let me = Rc::downgrade(self);
        adapter.on_save(move |first, second| {
            if let Some(me) = me.upgrade() {
                me.act(|session| session.save_form([&first, &second, ""]));
            }
        });
        let me = Rc::downgrade(self);
        adapter.on_cancel(move || {
            if let Some(me) = me.upgrade() {
                me.act(Session::cancel_form);
            }
        });
    }

    /// A callback that hands an id or a text to an intent.
    fn by_id(
        self: &Rc<Self>,
        intent: fn(&mut Session, &str),
    ) -> impl Fn(slint::SharedString) + 'static {
        let me = Rc::downgrade(self);
        move |id| {
            if let Some(me) = me.upgrade() {
                me.act(|session| intent(session, &id));
            }
        }
    }
}
