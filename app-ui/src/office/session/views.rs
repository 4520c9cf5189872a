//! What the screens are given.

use winze_core::actions::Stage;

use super::{Panel, Screen, Session};
use crate::messages::{counted, grouped};
use crate::office::work::HowFar;
use crate::presenters::office_fleet::Order;
use crate::presenters::office_hydraulics::{HydraulicsView, hydraulics};
use crate::presenters::office_view::{
    FleetLine, HandBackView, HeldView, Notice, PlaceTab, ProgressView, QuestionPage, StationPage,
    StationsView, TrayStage, TrayView, WeekView,
};
use crate::presenters::office_week::Side;
use crate::presenters::view::Tone;
use crate::presenters::{
    office_hand_back, office_held, office_questions, office_station, office_tray, office_week,
};

impl Session {
    /// What the own logbook is called.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.snapshot.label
    }

    /// What went wrong or was done last.
    #[must_use]
    pub const fn notice(&self) -> &Notice {
        &self.notice
    }

    /// The places at the head of the window.
    #[must_use]
    pub fn places(&self) -> Vec<PlaceTab> {
        let shown = match self.screen {
            Screen::Station => Screen::Stations,
            other => other,
        };
        let place = |screen: Screen| {
            let (label, count) = match screen {
                Screen::Week => ("Week", 0),
                Screen::Tray => ("Tray", self.bundles_with_news()),
                Screen::Questions => ("Questions", self.snapshot.open_questions()),
                Screen::Held => ("Held", self.snapshot.held().len()),
                Screen::Stations => ("Stations", 0),
                Screen::Upkeep => ("Upkeep", self.upkeep_pressing()),
                _ => ("To tablets", 0),
            };
            PlaceTab {
                id: screen.id().to_owned(),
                label: label.to_owned(),
                count: if count == 0 {
                    String::new()
                } else {
                    count.to_string()
                },
                tone: if count == 0 { Tone::None } else { Tone::Act },
                is_chosen: screen == shown,
            }
        };
        Screen::PLACES.into_iter().map(place).collect()
    }

    /// Names the screen and what it does at the moment: another name whenever fields come or go.
    #[must_use]
    pub fn spot(&self) -> String {
        let stage = match self.screen {
            Screen::Tray => format!("{:?}", self.tray.stage),
            Screen::HandBack => format!("{:?}", self.hand_back.stage),
            Screen::Station => format!("{:?}", self.panel()),
            Screen::Upkeep => self.upkeep_spot(),
            _ => String::new(),
        };
        format!("{} {stage}", self.screen.id())
    }

    /// The keys that work here, for the foot of the window.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self.screen {
            Screen::Week => {
                "Arrows choose, Enter opens, left and right change the list. Ctrl+M merges all, Ctrl+1 to 7 change the place."
            }
            Screen::Tray => {
                "Ctrl+M merges all, Ctrl+L looks again, arrows choose a bundle, Esc goes to the week."
            }
            Screen::Questions => {
                "1 to 9 choose an answer, Enter records it, left and right change the question, Esc goes to the week."
            }
            Screen::Held => "Arrows choose a logbook, Esc goes to the week.",
            Screen::Stations => {
                "Arrows choose, Enter opens, Page up and Page down turn, Esc goes to the week."
            }
            Screen::Station => match self.panel() {
                Panel::Readings => {
                    "Up and down change the reading, left and right the gauge, 1 to 3 the side, Ctrl with left and right the station, Esc goes back."
                }
                Panel::Hydraulics => {
                    "Left and right change the part, 1 to 3 the side, Ctrl with left and right the station, Esc goes back."
                }
                Panel::Definition => {
                    "1 to 3 change the side, Ctrl with left and right the station, Esc goes back."
                }
            },
            Screen::Upkeep if self.is_filling_in() => {
                "Tab changes the field, Esc leaves it without writing anything."
            }
            Screen::Upkeep => {
                "Arrows choose, Enter does the first act, 1 to 4 change the side, Page up and Page down turn, Esc goes back."
            }
            Screen::HandBack | Screen::About | Screen::Person => {
                "Tab changes the field, Enter does it, Esc goes back."
            }
        }
    }

    /// The week at a glance.
    #[must_use]
    pub fn week_view(&self) -> WeekView {
        let mut view = office_week::week(
            &self.snapshot,
            &self.attention,
            self.category,
            self.side,
            self.attention_at,
        );
        (view.fleet, view.fleet_page) = self.week_fleet.view(self.side == Side::Fleet);
        view
    }

    /// The register.
    #[must_use]
    pub fn stations_view(&self) -> StationsView {
        let (stations, page) = self.register.view(true);
        let all = self.snapshot.stations.len();
        let found = self.register.count();
        StationsView {
            title: counted(all as u64, "station", "stations"),
            is_by_need: self.order == Order::Need,
            list_title: if found == all {
                let needs = |line: &&FleetLine| !line.reason.is_empty();
                let count = self.register.lines().iter().filter(needs).count();
                match self.order {
                    Order::Walk => "Level by level, as they are walked".to_owned(),
                    Order::Need if count == 0 => "None needs attention".to_owned(),
                    Order::Need => format!("{count} of them need attention"),
                }
            } else {
                format!("{found} found")
            },
            stations,
            page,
        }
    }

    /// What was typed to find stations.
    #[must_use]
    pub fn find_text(&self) -> &str {
        &self.find
    }

    /// The tray.
    #[must_use]
    pub fn tray_view(&self) -> TrayView {
        let tray = &self.tray;
        let chosen = tray.at.chosen(tray.entries.len());
        let lines = tray.at.shown(tray.entries.len()).map(|place| {
            let is_chosen = chosen == Some(place);
            office_tray::line(
                &self.snapshot,
                &tray.entries[place],
                self.news_of(place),
                is_chosen,
            )
        });
        let entry = chosen.map(|place| &tray.entries[place]);
        let to_merge = self.to_merge().len();
        TrayView {
            stage: tray.stage,
            folder: tray.folder.display().to_string(),
            title: self.tray_title(),
            nothing: tray.nothing.clone(),
            bundles: lines.collect(),
            page: tray.at.page(tray.entries.len()),
            merge_label: match to_merge {
                0 => "Nothing to merge".to_owned(),
                1 => "Merge 1 bundle".to_owned(),
                many => format!("Merge all {many} bundles"),
            },
            can_merge: to_merge > 0 && self.logbook.is_some(),
            progress: progress(tray.how_far, "Reading the tray", true),
            chosen_title: entry.map_or_else(String::new, crate::office::tray::TrayEntry::name),
            chosen_facts: entry
                .map_or_else(Vec::new, |entry| office_tray::facts(&self.snapshot, entry)),
            chosen_losses: entry.map_or_else(Vec::new, |entry| {
                office_tray::losses(&self.snapshot, "This file", entry.report())
            }),
            result: self.tray_figures(),
            losses: tray.report.as_ref().map_or_else(Vec::new, |report| {
                office_tray::result_losses(&self.snapshot, report)
            }),
            no_losses: match &tray.report {
                Some(report) if report.is_whole() => {
                    "Every bundle was whole; nothing was lost.".to_owned()
                }
                _ => String::new(),
            },
        }
    }

    fn tray_title(&self) -> String {
        let count = self.tray.entries.len() as u64;
        match self.tray.stage {
            TrayStage::Reading => "Reading the tray".to_owned(),
            TrayStage::Merging => "Merging".to_owned(),
            TrayStage::Merged => match &self.tray.report {
                Some(report) if report.was_cancelled => "Merged in part".to_owned(),
                _ => "Merged".to_owned(),
            },
            TrayStage::Waiting if count == 0 => "The tray is empty".to_owned(),
            TrayStage::Waiting => {
                let news = self.bundles_with_news();
                let bundles = counted(count, "bundle", "bundles");
                if news == 0 {
                    format!("{bundles} in the tray, nothing new")
                } else {
                    format!("{bundles} in the tray, {news} with something new")
                }
            }
        }
    }

    /// The question shown.
    #[must_use]
    pub fn question_view(&self) -> QuestionPage {
        let chosen = self.questions.chosen.as_ref();
        office_questions::question(&self.snapshot, self.questions.at, chosen)
    }

    /// The note typed to the question.
    #[must_use]
    pub fn question_note(&self) -> &str {
        &self.questions.note
    }

    /// The held logbooks.
    #[must_use]
    pub fn held_view(&self) -> HeldView {
        office_held::held(&self.snapshot, self.held.at, self.held_name())
    }

    /// The name typed for the held logbook; at first what it calls itself.
    #[must_use]
    pub fn held_name(&self) -> &str {
        &self.held.name
    }

    /// The station shown.
    #[must_use]
    pub fn station_page(&self) -> StationPage {
        let Some(desk) = &self.station else {
            return StationPage::default();
        };
        let offset = self.snapshot.week.utc_offset_minutes;
        let shown = office_station::Shown {
            detail: &desk.detail,
            visits: &desk.visits,
            chosen: desk.chosen(),
            quantity: desk.quantity,
            utc_offset_minutes: offset,
        };
        let mut page = office_station::station(&shown);
        let length = desk.visits.len();
        let chosen = desk.at.chosen(length);
        page.readings = desk
            .at
            .shown(length)
            .map(|place| {
                office_station::reading(&desk.visits[place], offset, chosen == Some(place))
            })
            .collect();
        page.page = desk.at.page(length);
        office_station::put_change(&mut page, &desk.detail.definition, &desk.change);
        page
    }

    /// Where going back from a station leads.
    #[must_use]
    pub const fn back_label(&self) -> &'static str {
        match self.before {
            Screen::Stations => "Stations",
            Screen::Upkeep => "Upkeep",
            _ => "Week",
        }
    }

    /// Which side of the station is shown.
    #[must_use]
    pub fn panel(&self) -> Panel {
        self.station
            .as_ref()
            .map_or_else(Panel::default, |desk| desk.panel)
    }

    /// The hydraulic check of the station.
    #[must_use]
    pub fn hydraulics_view(&self) -> HydraulicsView {
        let Some(desk) = &self.station else {
            return HydraulicsView::default();
        };
        let sheet = desk.sheet;
        hydraulics(&desk.checked, sheet.part, sheet.room, sheet.page)
    }

    /// The change typed: set point and band.
    #[must_use]
    pub fn change(&self) -> (&str, &str) {
        self.station
            .as_ref()
            .map_or(("", ""), |desk| (&desk.change.set_point, &desk.change.band))
    }

    /// The way back.
    #[must_use]
    pub fn hand_back_view(&self) -> HandBackView {
        let desk = &self.hand_back;
        HandBackView {
            stage: desk.stage,
            title: "A bundle for the tablets".to_owned(),
            carries: office_hand_back::carries(&self.snapshot),
            reaches: office_hand_back::reaches(&self.snapshot),
            places: office_hand_back::places(&desk.places, &desk.folder),
            places_hint: "No stick is in. Put one in and come back here, or name a folder."
                .to_owned(),
            can_write: self.logbook.is_some(),
            progress: progress(desk.how_far, "Writing the bundle", true),
            safe: desk.safe.clone(),
            result: desk.result.clone(),
            result_facts: desk.facts.clone(),
        }
    }

    /// Where the bundle for the tablets goes.
    #[must_use]
    pub fn hand_back_folder(&self) -> &str {
        &self.hand_back.folder
    }
}

#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "a share of a bar, not a figure"
)]
fn progress(how_far: Option<HowFar>, at_first: &str, can_stop: bool) -> ProgressView {
    let Some(HowFar { stage, done, total }) = how_far else {
        return ProgressView {
            is_running: true,
            share: 0.0,
            sentence: at_first.to_owned(),
            can_stop,
        };
    };
    let what = match stage {
        Stage::Reading => "Reading and checking signatures",
        Stage::Writing => "Writing down records",
        Stage::WorkingOut => "Working out what they come to",
        Stage::ReadingBack => "Reading back what was written",
    };
    let amount = |number: u64| match stage {
        Stage::Reading => format!("{:.1}", number as f64 / 1e6),
        _ => grouped(number),
    };
    let unit = match stage {
        Stage::Reading => "MB",
        _ => "records",
    };
    ProgressView {
        is_running: true,
        share: total.map_or(0.0, |total| (done as f64 / total.max(1) as f64) as f32),
        sentence: match total {
            Some(total) => format!("{what}: {} of {} {unit}", amount(done), amount(total)),
            None => format!("{what}: {} {unit}", amount(done)),
        },
        can_stop,
    }
}
