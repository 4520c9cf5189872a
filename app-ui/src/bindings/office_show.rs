//! Shows the screen that is on: views into the adapters of the markup.

use std::cell::RefCell;

use slint::ComponentHandle as _;

use super::convert::{KeptFace, figure, texts, tone};
use super::office_convert::{self as to, list, text};
use super::office_upkeep::UpkeepRows;
use super::rows::Rows;
use crate::markup::{
    self, HandBackAdapter, HeldAdapter, OfficeAdapter, OfficeStationAdapter, OfficeWindow,
    PersonAdapter, QuestionAdapter, StationsAdapter, TrayAdapter, WeekAdapter,
};
use crate::office::session::{Screen, Session};
use crate::presenters::office_view::SideView;

/// The lists that outlive their refreshing.
#[derive(Default)]
pub struct Lists {
    places: Rows<markup::PlaceState>,
    tallies: Rows<markup::TallyState>,
    attention: Rows<markup::AttentionLine>,
    fleet: Rows<markup::FleetLine>,
    register: Rows<markup::FleetLine>,
    bundles: Rows<markup::BundleLine>,
    answers: Rows<markup::AnswerState>,
    held: Rows<markup::HeldLine>,
    pub(super) readings: Rows<markup::ReadingLine>,
    targets: Rows<markup::PlaceLine>,
    upkeep: UpkeepRows,
    pub(super) faces: RefCell<[KeptFace; 3]>,
    sides: RefCell<Vec<SideView>>,
}

impl Lists {
    /// Hands the lists to the markup, once.
    pub fn hand_over(&self, window: &OfficeWindow) {
        window
            .global::<OfficeAdapter>()
            .set_places(self.places.model());
        let week = window.global::<WeekAdapter>();
        week.set_tallies(self.tallies.model());
        week.set_attention(self.attention.model());
        week.set_fleet(self.fleet.model());
        window
            .global::<StationsAdapter>()
            .set_stations(self.register.model());
        window
            .global::<TrayAdapter>()
            .set_bundles(self.bundles.model());
        window
            .global::<QuestionAdapter>()
            .set_answers(self.answers.model());
        window.global::<HeldAdapter>().set_logs(self.held.model());
        window
            .global::<OfficeStationAdapter>()
            .set_readings(self.readings.model());
        window
            .global::<HandBackAdapter>()
            .set_places(self.targets.model());
        self.upkeep.hand_over(window);
    }

    /// Shows the screen that is on. Texts under edit are taken from the session only when it
    /// asks for it, so that nothing is typed over.
    pub fn show(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        self.show_frame(window, session);
        match session.screen() {
            Screen::Week => self.show_week(window, session),
            Screen::Tray => self.show_tray(window, session, with_fields),
            Screen::Questions => self.show_questions(window, session, with_fields),
            Screen::Held => self.show_held(window, session, with_fields),
            Screen::Stations => self.show_stations(window, session, with_fields),
            Screen::Station => self.show_station(window, session, with_fields),
            Screen::Upkeep => self.upkeep.show(window, session, with_fields),
            Screen::HandBack => self.show_hand_back(window, session, with_fields),
            Screen::About => {}
            Screen::Person => show_person(window, session, with_fields),
        }
        window
            .global::<OfficeAdapter>()
            .set_screen(to::screen(session.screen()));
    }

    fn show_frame(&self, window: &OfficeWindow, session: &Session) {
        let adapter = window.global::<OfficeAdapter>();
        self.places.set(session.places().iter().map(to::place));
        adapter.set_logbook(text(session.label()));
        adapter.set_person(if session.person().is_empty() {
            text("Who are you?")
        } else {
            text(session.person())
        });
        adapter.set_spot(text(&session.spot()));
        adapter.set_hint(text(session.hint()));
        let notice = session.notice();
        adapter.set_message(text(&notice.what));
        adapter.set_message_advice(text(&notice.advice));
        adapter.set_message_tone(tone(notice.tone));
        adapter.set_version(text(env!("CARGO_PKG_VERSION")));
        adapter.set_folder(session.dir().display().to_string().into());
    }

    fn show_week(&self, window: &OfficeWindow, session: &Session) {
        let adapter = window.global::<WeekAdapter>();
        let view = session.week_view();
        adapter.set_title(text(&view.title));
        adapter.set_detail(text(&view.detail));
        adapter.set_can_later(view.can_later);
        self.tallies.set(view.tallies.iter().map(to::tally));
        adapter.set_attention_title(text(&view.attention_title));
        adapter.set_nothing(text(&view.nothing));
        adapter.set_first_steps(text(&view.first_steps));
        self.attention.set(view.attention.iter().map(to::attention));
        adapter.set_attention_page(to::page(&view.attention_page));
        adapter.set_fleet_title(text(&view.fleet_title));
        self.fleet.set(view.fleet.iter().map(to::fleet));
        adapter.set_fleet_page(to::page(&view.fleet_page));
    }

    fn show_tray(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<TrayAdapter>();
        let view = session.tray_view();
        adapter.set_stage(to::tray_stage(view.stage));
        if with_fields {
            adapter.set_folder(text(&view.folder));
        }
        adapter.set_title(text(&view.title));
        adapter.set_nothing(text(&view.nothing));
        self.bundles.set(view.bundles.iter().map(to::bundle));
        adapter.set_page(to::page(&view.page));
        adapter.set_merge_label(text(&view.merge_label));
        adapter.set_can_merge(view.can_merge);
        adapter.set_progress(to::progress(&view.progress));
        adapter.set_chosen_title(text(&view.chosen_title));
        adapter.set_chosen_facts(list(&view.chosen_facts, to::fact));
        adapter.set_chosen_losses(list(&view.chosen_losses, to::loss));
        adapter.set_result(list(&view.result, figure));
        adapter.set_losses(list(&view.losses, to::loss));
        adapter.set_no_losses(text(&view.no_losses));
    }

    fn show_questions(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<QuestionAdapter>();
        let view = session.question_view();
        adapter.set_position(text(&view.position));
        adapter.set_heading(text(&view.heading));
        adapter.set_detail(text(&view.detail));
        adapter.set_nothing(text(&view.nothing));
        if *self.sides.borrow() != view.sides {
            adapter.set_sides(list(&view.sides, to::side));
            self.sides.replace(view.sides);
        }
        self.answers.set(view.answers.iter().map(to::answer));
        let rows = view.answers.iter().map(|answer| answer.row + 1).max();
        adapter.set_answer_rows(i32::try_from(rows.unwrap_or(0)).unwrap_or(0));
        adapter.set_answered(text(&view.answered));
        adapter.set_record_label(text(&view.record_label));
        adapter.set_can_record(view.can_record);
        adapter.set_can_before(view.can_before);
        adapter.set_can_after(view.can_after);
        if with_fields {
            adapter.set_note(text(session.question_note()));
        }
    }

    fn show_held(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<HeldAdapter>();
        let view = session.held_view();
        adapter.set_title(text(&view.title));
        adapter.set_nothing(text(&view.nothing));
        self.held.set(view.logs.iter().map(to::held));
        adapter.set_heading(text(&view.heading));
        adapter.set_facts(list(&view.facts, to::fact));
        adapter.set_words_title(text(&view.words_title));
        adapter.set_words(texts(&view.words));
        adapter.set_instruction(text(&view.instruction));
        adapter.set_enrol_label(text(&view.enrol_label));
        adapter.set_can_enrol(view.can_enrol);
        adapter.set_caution(text(&view.caution));
        adapter.set_own_title(text(&view.own_title));
        adapter.set_own_words(text(&view.own_words));
        adapter.set_page(to::page(&view.page));
        if with_fields {
            adapter.set_name(text(session.held_name()));
        }
    }

    fn show_stations(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<StationsAdapter>();
        let view = session.stations_view();
        adapter.set_title(text(&view.title));
        adapter.set_list_title(text(&view.list_title));
        adapter.set_by_need(view.is_by_need);
        self.register.set(view.stations.iter().map(to::fleet));
        adapter.set_page(to::page(&view.page));
        if with_fields {
            adapter.set_find(text(session.find_text()));
        }
    }

    fn show_hand_back(&self, window: &OfficeWindow, session: &Session, with_fields: bool) {
        let adapter = window.global::<HandBackAdapter>();
        let view = session.hand_back_view();
        adapter.set_stage(to::hand_back_stage(view.stage));
        adapter.set_title(text(&view.title));
        adapter.set_carries(list(&view.carries, to::fact));
        adapter.set_reaches(list(&view.reaches, to::fact));
        self.targets.set(view.places.iter().map(to::place_line));
        adapter.set_places_hint(text(&view.places_hint));
        adapter.set_can_write(view.can_write);
        adapter.set_progress(to::progress(&view.progress));
        adapter.set_safe(text(&view.safe));
        adapter.set_result(text(&view.result));
        adapter.set_result_facts(list(&view.result_facts, to::fact));
        if with_fields {
            adapter.set_folder(text(session.hand_back_folder()));
        }
    }
}

fn show_person(window: &OfficeWindow, session: &Session, with_fields: bool) {
    let adapter = window.global::<PersonAdapter>();
    adapter.set_why(text(
        "Every answer, enrolment, definition and bundle carries the name of who made it.",
    ));
    if with_fields {
        adapter.set_name(text(session.person()));
    }
}
