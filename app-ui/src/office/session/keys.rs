//! The keyboard: what each key does where.

use winze_core::merge::QuestionId;

use super::{Panel, Screen, Session};
use crate::presenters::office_attention::Target;
use crate::presenters::office_hydraulics::Part;
use crate::presenters::office_upkeep::UpkeepSide;
use crate::presenters::office_week::Side;

/// A key that no text field took.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "each names the key")]
pub enum Key {
    Up,
    Down,
    Left,
    Right,
    PageUp,
    PageDown,
    Home,
    End,
    Enter,
    Escape,
    /// A digit from 1 to 9.
    Digit(u8),
    /// Control with a letter, lower case, or with a digit.
    Control(char),
    /// Control with the left arrow.
    ControlLeft,
    /// Control with the right arrow.
    ControlRight,
}

/// Further than any list is long.
const FAR: isize = 1_000_000;

impl Session {
    /// Does what a key means here. Answers whether it means anything.
    pub fn key(&mut self, key: Key) -> bool {
        match key {
            Key::Escape => self.go_back(),
            Key::Control('m') => self.merge_all(),
            Key::Control('l') => {
                self.go(Screen::Tray);
                self.look_into_tray();
            }
            Key::Control(digit @ '1'..='7') => {
                let place = digit as usize - '1' as usize;
                self.go(Screen::PLACES[place]);
            }
            Key::Control(_) => return false,
            _ => return self.key_here(key),
        }
        true
    }

    fn key_here(&mut self, key: Key) -> bool {
        match self.screen {
            Screen::Week => self.key_in_week(key),
            Screen::Tray => self.key_in_tray(key),
            Screen::Questions => self.key_in_questions(key),
            Screen::Held => self.key_in_held(key),
            Screen::Stations => self.key_in_stations(key),
            Screen::Station => self.key_in_station(key),
            Screen::Upkeep => self.key_in_upkeep(key),
            Screen::HandBack | Screen::About | Screen::Person => false,
        }
    }

    fn key_in_week(&mut self, key: Key) -> bool {
        match (key, self.side) {
            (Key::Left, _) => self.side = Side::Attention,
            (Key::Right, _) => self.side = Side::Fleet,
            (Key::ControlLeft, _) => self.move_week(-1),
            (Key::ControlRight, _) => self.move_week(1),
            (Key::Enter, Side::Attention) => self.open_chosen_attention(),
            (Key::Enter, Side::Fleet) => self.open_chosen_in_fleet(),
            (Key::PageUp | Key::PageDown, Side::Attention) => {
                self.turn_attention(if key == Key::PageUp { -1 } else { 1 });
            }
            (Key::PageUp | Key::PageDown, Side::Fleet) => {
                self.turn_fleet(if key == Key::PageUp { -1 } else { 1 });
            }
            (_, Side::Attention) => match steps(key) {
                Some(by) => {
                    let length = self.shown_attention().len();
                    self.attention_at.step(by, length);
                }
                None => return false,
            },
            (_, Side::Fleet) => match steps(key) {
                Some(by) => self.week_fleet.step(by),
                None => return false,
            },
        }
        true
    }

    fn key_in_tray(&mut self, key: Key) -> bool {
        let length = self.tray.entries.len();
        match key {
            Key::PageUp => self.tray.at.turn(-1, length),
            Key::PageDown => self.tray.at.turn(1, length),
            _ => match steps(key) {
                Some(by) => self.tray.at.step(by, length),
                None => return false,
            },
        }
        true
    }

    fn key_in_questions(&mut self, key: Key) -> bool {
        match key {
            Key::Left | Key::PageUp => self.turn_question(-1),
            Key::Right | Key::PageDown => self.turn_question(1),
            Key::Digit(digit) => self.choose_answer(&(usize::from(digit) - 1).to_string()),
            Key::Enter if self.questions.chosen.is_some() => {
                let note = self.questions.note.clone();
                self.record_answer(&note);
            }
            _ => return false,
        }
        true
    }

    fn key_in_held(&mut self, key: Key) -> bool {
        match (key, steps(key)) {
            (Key::PageUp, _) => self.turn_held(-1),
            (Key::PageDown, _) => self.turn_held(1),
            (_, Some(by)) => self.step_held(by),
            (_, None) => return false,
        }
        true
    }

    fn key_in_stations(&mut self, key: Key) -> bool {
        match key {
            Key::PageUp => self.turn_register(-1),
            Key::PageDown => self.turn_register(1),
            Key::Enter => {
                if let Some(code) = self.register.chosen().map(str::to_owned) {
                    self.open_station(&code);
                }
            }
            _ => match steps(key) {
                Some(by) => self.register.step(by),
                None => return false,
            },
        }
        true
    }

    fn key_in_upkeep(&mut self, key: Key) -> bool {
        match key {
            Key::Digit(digit) => {
                let side = UpkeepSide::ALL.get(usize::from(digit).wrapping_sub(1));
                return side.map(|side| self.show_upkeep(side.id())).is_some();
            }
            Key::PageUp => self.turn_upkeep(-1),
            Key::PageDown => self.turn_upkeep(1),
            Key::Enter => return !self.is_filling_in() && self.do_first(),
            _ => match steps(key) {
                Some(by) => self.step_upkeep(by),
                None => return false,
            },
        }
        true
    }

    fn key_in_station(&mut self, key: Key) -> bool {
        if let Key::Digit(digit) = key {
            let panel = Panel::ALL.get(usize::from(digit).wrapping_sub(1));
            return panel.map(|panel| self.show_panel(*panel)).is_some();
        }
        match (key, self.panel()) {
            (Key::ControlLeft, _) => self.move_station(-1),
            (Key::ControlRight, _) => self.move_station(1),
            (_, Panel::Readings) => return self.key_in_readings(key),
            (_, Panel::Hydraulics) => return self.key_in_hydraulics(key),
            (_, Panel::Definition) => return false,
        }
        true
    }

    fn key_in_hydraulics(&mut self, key: Key) -> bool {
        match key {
            Key::Left => self.show_part(Part::Pressures),
            Key::Right => self.show_part(Part::Flow),
            Key::PageUp | Key::Up => self.turn_findings(-1),
            Key::PageDown | Key::Down => self.turn_findings(1),
            _ => return false,
        }
        true
    }

    fn key_in_readings(&mut self, key: Key) -> bool {
        match key {
            Key::PageUp => self.turn_readings(-1),
            Key::PageDown => self.turn_readings(1),
            Key::Left => self.step_gauge(-1),
            Key::Right => self.step_gauge(1),
            _ => match steps(key) {
                Some(by) => self.step_reading(by),
                None => return false,
            },
        }
        true
    }

    fn open_chosen_attention(&mut self) {
        let shown = self.shown_attention();
        let chosen = self.attention_at.chosen(shown.len());
        let target = chosen.map(|place| shown[place].target.clone());
        if let Some(target) = target {
            self.open_target(target);
        }
    }

    fn open_chosen_in_fleet(&mut self) {
        if let Some(code) = self.week_fleet.chosen().map(str::to_owned) {
            self.open_station(&code);
        }
    }

    /// Opens what a line of the attention list is about.
    pub fn open_attention(&mut self, id: &str) {
        let shown = self.shown_attention();
        if let Some(place) = shown.iter().position(|one| one.line.id == id) {
            let target = shown[place].target.clone();
            self.side = Side::Attention;
            self.attention_at.choose(place);
            self.open_target(target);
        }
    }

    fn open_target(&mut self, target: Target) {
        match target {
            Target::Station(code) => self.open_station(code.as_str()),
            Target::Question(id) => self.open_question(id),
            Target::Held(log) => {
                self.choose_held(&log.to_string());
                self.go(Screen::Held);
            }
            Target::Nothing => {}
        }
    }

    fn open_question(&mut self, id: QuestionId) {
        let is_it = |one: &crate::office::snapshot::Question| one.view.question.id == id;
        if let Some(place) = self.snapshot.questions.iter().position(is_it) {
            self.show_question(place);
            self.go(Screen::Questions);
        }
    }
}

/// How far a key moves in a list.
const fn steps(key: Key) -> Option<isize> {
    match key {
        Key::Up => Some(-1),
        Key::Down => Some(1),
        Key::Home => Some(-FAR),
        Key::End => Some(FAR),
        _ => None,
    }
}
