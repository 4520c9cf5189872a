//! Looking after stations: the pages, how they lead to one another, and what each shows.
//!
//! Whatever is touched comes in by its id through [`Session::work_act`]; the acts stand in the
//! modules below by what they are about.

mod acts;
mod care;
mod entry;
mod going;
mod writing;

use winze_core::actions::Ended;
use winze_core::procedures::ProcedureCode;
use winze_core::query::{self, DueList, ProcedureView, StationDue, Visit};
use winze_core::record::PartUsed;
use winze_core::station::{Station, StationCode};
use winze_core::upkeep::{Job, JobWork, Proposal, Task};
use winze_sync_format::RecordRef;

use super::{Screen, Session};
use crate::messages;
use crate::presenters::paging::{self, Room};
use crate::presenters::view::Tone;
use crate::presenters::work_view::{
    Body, ChoicesBody, DetailBody, ListBody, Offer, Saying, WorkScreen,
};
use crate::presenters::{assistant, care as shown, doubt, procedure, step, words};
pub(super) use going::Going;

/// What is asked for with a stated reason of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Because {
    PassOver,
    OutOfOrder,
    Despite,
}

/// What is asked for with a reason in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Worded {
    /// A step taken back, or only one record of it.
    Undo(Option<RecordRef>),
    GiveUp,
    NotNeeded(RecordRef),
}

/// What is being written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Writing {
    StepNote,
    Because(Because),
    Worded(Worded),
    OpenNote(ProcedureCode),
    JobNote,
    Part(RecordRef),
    DoneBy,
    SeenBy,
    Day(Task),
}

/// What is on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Page {
    /// What is due on the walk.
    #[default]
    Walk,
    /// What there is to do at one station.
    Hub,
    Task(Task),
    Days(Task),
    Job(RecordRef),
    Raise,
    Choose,
    WhyOpen(ProcedureCode),
    /// A step, to be done or settled.
    Step,
    Doubt,
    ReadBack,
    Steps,
    Because(Because),
    Worded(Worded),
    Writing(Writing),
    Closing,
    Ended,
}

/// The station that is looked after.
pub(super) struct Here {
    pub code: StationCode,
    pub definition: Station,
    pub due: StationDue,
    pub open: Vec<ProcedureView>,
    pub proposals: Vec<Proposal>,
    /// The newest reading.
    pub newest: Option<Visit>,
}

/// What is looked after, and how far.
#[derive(Default)]
pub(super) struct Work {
    pub page: Page,
    pub list_page: usize,
    pub room: Room,
    pub with_early: bool,
    pub said: Saying,
    pub text: String,
    pub walk: Option<DueList>,
    pub walk_open: Vec<ProcedureView>,
    pub here: Option<Here>,
    pub going: Option<Going>,
    pub ended: Option<Ended>,
    pub parts: Vec<PartUsed>,
    /// Whether the station screen led here.
    pub is_from_station: bool,
    /// The work that a new job is for, while its note is written.
    pub raising: Option<JobWork>,
}

impl Work {
    pub(super) fn job(&self, at: RecordRef) -> Option<&Job> {
        let mut jobs = self.here.as_ref()?.due.jobs.iter();
        jobs.find(|job| job.raised.at == at)
    }
}

impl Session {
    /// Shows another page of the work.
    pub(super) fn show_page(&mut self, page: Page) {
        self.work.page = page;
        self.work.list_page = 0;
    }

    /// Says that something did not happen.
    pub(super) fn work_failed(&mut self, error: &winze_core::Error) {
        let said = messages::logbook_failed(error).to_string();
        self.work.said = Saying::of(Tone::Outside, said);
    }

    /// Goes to what is due on the walk.
    pub fn go_to_due(&mut self) {
        self.screen = Screen::Work;
        self.station = None;
        self.work.is_from_station = false;
        self.work.said = Saying::default();
        self.show_page(Page::Walk);
        self.read_walk();
    }

    /// Goes to what there is to do at the open station.
    pub fn go_to_station_work(&mut self) {
        let Some(open) = &self.station else {
            return;
        };
        let code = open.code.clone();
        self.work.said = Saying::default();
        if self.open_here(&code) {
            self.work.is_from_station = true;
        }
    }

    fn read_walk(&mut self) {
        let Some(logbook) = &self.logbook else {
            return;
        };
        let read =
            query::due(logbook).and_then(|list| Ok((list, query::open_procedures(logbook)?)));
        match read {
            Ok((list, open)) => {
                self.work.walk = Some(list);
                self.work.walk_open = open;
            }
            Err(error) => self.work_failed(&error),
        }
    }

    /// Opens the page of a station; answers whether it is on.
    pub(super) fn open_here(&mut self, code: &StationCode) -> bool {
        if !self.read_here(code) {
            return false;
        }
        self.screen = Screen::Work;
        self.station = None;
        self.work.going = None;
        self.work.parts.clear();
        self.show_page(Page::Hub);
        true
    }

    /// Reads what is known of a station anew.
    pub(super) fn read_here(&mut self, code: &StationCode) -> bool {
        let Some(logbook) = &self.logbook else {
            return false;
        };
        let unknown = || winze_core::Error::UnknownStation {
            station: code.clone(),
        };
        let read = query::station(logbook, code)
            .and_then(|found| found.ok_or_else(unknown))
            .and_then(|found| {
                let mut open = query::procedures_at(logbook, code)?;
                open.retain(ProcedureView::is_open);
                let newest = query::past_readings(logbook, code, 1)?;
                Ok(Here {
                    code: code.clone(),
                    definition: found.definition,
                    due: query::due_at(logbook, code, query::today(logbook))?,
                    open,
                    proposals: query::job_proposals(logbook, code)?,
                    newest: newest.into_iter().next(),
                })
            });
        match read {
            Ok(here) => {
                self.work.here = Some(here);
                true
            }
            Err(error) => {
                self.work_failed(&error);
                false
            }
        }
    }

    /// The window tells how much a page holds.
    pub fn work_sized(&mut self, half_lines: usize) {
        self.work.room.half_lines = half_lines;
    }

    /// The window tells how much text a page holds.
    pub fn work_text_sized(&mut self, chars: usize, lines: usize) {
        self.work.room.chars = chars;
        self.work.room.lines = lines;
    }

    /// Turns the page of a list or of a text.
    pub fn turn_work_page(&mut self, by: isize) {
        self.work.list_page = self.work.list_page.saturating_add_signed(by);
    }

    /// Leads back.
    pub fn work_back(&mut self) {
        self.work.said = Saying::default();
        match self.work.page {
            Page::Walk => self.go_to_round(),
            Page::Hub => self.leave_here(),
            Page::Task(_) | Page::Job(_) | Page::Raise | Page::Choose | Page::Ended => {
                self.show_hub();
            }
            Page::Days(task) => self.show_page(Page::Task(task)),
            Page::WhyOpen(_) => self.show_page(Page::Choose),
            Page::Step | Page::Closing => self.leave_procedure(),
            Page::Doubt | Page::ReadBack | Page::Steps | Page::Because(_) => {
                self.show_page(Page::Step);
            }
            Page::Worded(worded) => self.leave_worded(worded),
            Page::Writing(writing) => self.leave_writing(writing),
        }
    }

    fn leave_here(&mut self) {
        let code = self.work.here.as_ref().map(|here| here.code.clone());
        match (self.work.is_from_station, code) {
            (true, Some(code)) => self.open_station(&code),
            _ => self.go_to_due(),
        }
    }

    /// Goes to the page of the station, read anew.
    pub(super) fn show_hub(&mut self) {
        let here = self.work.here.as_ref().map(|here| here.code.clone());
        let going = self.work.going.as_ref();
        let code = going.map(|going| going.view.station.clone()).or(here);
        let said = self.work.said.clone();
        if let Some(code) = code {
            self.open_here(&code);
        }
        if self.work.said == Saying::default() {
            self.work.said = said;
        }
    }

    /// What is being written, for the text field of the window.
    #[must_use]
    pub fn work_text(&self) -> &str {
        &self.work.text
    }

    /// What the screen shows, with the page of it and how many there are.
    #[must_use]
    pub fn work_screen(&self) -> (WorkScreen, usize, usize) {
        let mut screen = WorkScreen {
            back: self.back_label(),
            title: self.work_title(),
            detail: self.work_detail(),
            position: self.work_position(),
            waiting: self.waiting(),
            said: self.work.said.clone(),
            body: self.work_body(),
        };
        let room = self.work.room;
        let pages = match &mut screen.body {
            Body::List(list) => {
                let mut pages = paging::lines(&list.lines, room);
                let at = self.work.list_page.min(pages.len() - 1);
                list.lines = pages.swap_remove(at);
                (at, pages.len() + 1)
            }
            Body::Detail(DetailBody { sayings, .. }) => {
                let mut pages = paging::sayings(sayings, room);
                let at = self.work.list_page.min(pages.len() - 1);
                *sayings = pages.swap_remove(at);
                (at, pages.len() + 1)
            }
            Body::Step(step) if !step.figures.is_empty() => {
                let mut pages = paging::sayings(&step.figures, room);
                let at = self.work.list_page.min(pages.len() - 1);
                step.figures = pages.swap_remove(at);
                (at, pages.len() + 1)
            }
            _ => (0, 1),
        };
        (screen, pages.0, pages.1)
    }

    fn back_label(&self) -> String {
        let here = self.work.here.as_ref().map(|here| here.code.to_string());
        match self.work.page {
            Page::Walk => "Round".to_owned(),
            Page::Hub if self.work.is_from_station => "Gauges".to_owned(),
            Page::Hub => "Due".to_owned(),
            Page::Task(_)
            | Page::Job(_)
            | Page::Raise
            | Page::Choose
            | Page::Ended
            | Page::Step
            | Page::Closing => here.unwrap_or_else(|| "Station".to_owned()),
            _ => "Back".to_owned(),
        }
    }

    fn work_title(&self) -> String {
        match (&self.work.page, &self.work.going, &self.work.here) {
            (Page::Walk, _, _) => "What is due".to_owned(),
            (_, Some(going), _) => words::capital(messages::procedures::procedure(going.view.code)),
            (_, None, Some(here)) => here.code.to_string(),
            (_, None, None) => String::new(),
        }
    }

    fn work_detail(&self) -> String {
        match (&self.work.page, &self.work.walk) {
            (Page::Walk, Some(list)) => shown::counts(list),
            _ => self
                .work
                .here
                .as_ref()
                .map_or_else(String::new, |here| words::place(&here.definition)),
        }
    }

    fn work_position(&self) -> String {
        let is_step = !matches!(self.work.page, Page::Walk | Page::Hub | Page::Ended);
        match (&self.work.going, is_step) {
            (Some(going), true) => step::position(going.state(), going.here()),
            _ => String::new(),
        }
    }

    fn work_body(&self) -> Body {
        let work = &self.work;
        match (work.page, &work.here, &work.going) {
            (Page::Walk, _, _) => Body::List(match &work.walk {
                Some(list) => shown::walk(list, &work.walk_open, work.with_early),
                None => ListBody::default(),
            }),
            (Page::Hub, Some(here), _) => {
                Body::List(shown::station(&here.due, &here.open, &here.proposals))
            }
            (Page::Task(task), Some(here), _) => {
                let found = here.due.tasks.iter().find(|one| one.task == task);
                Body::Detail(found.map_or_else(DetailBody::default, shown::task))
            }
            (Page::Days(task), Some(here), _) => {
                let today = self.logbook.as_ref().map(query::today);
                let _ = here;
                Body::Choices(today.map_or_else(ChoicesBody::default, |day| shown::days(task, day)))
            }
            (Page::Job(at), _, _) => Body::Detail(self.job_body(at)),
            (Page::Raise, Some(here), _) => Body::Choices(shown::raise(here.code.as_str())),
            (Page::Choose, Some(here), _) => {
                Body::Choices(procedure::choose(here.code.as_str(), &here.open))
            }
            (Page::WhyOpen(code), _, _) => Body::Choices(procedure::why_open(code)),
            (Page::Writing(writing), _, _) => Body::Writing(Self::writing_body(writing)),
            (Page::Worded(worded), _, _) => Body::Choices(self.worded_body(worded)),
            (page, _, Some(going)) => self.going_body(page, going),
            _ => Body::List(ListBody::default()),
        }
    }

    fn job_body(&self, at: RecordRef) -> DetailBody {
        let Some(job) = self.work.job(at) else {
            return DetailBody::default();
        };
        shown::job(job, self.left_after(job), &self.work.parts, self.now())
    }

    fn going_body(&self, page: Page, going: &Going) -> Body {
        match page {
            Page::Steps => Body::List(procedure::all_steps(going.state(), self.now())),
            Page::Closing => Body::Detail(procedure::closing(
                &going.view,
                &going.done_by,
                &going.seen_by,
            )),
            Page::Ended => Body::Detail(match &self.work.ended {
                Some(ended) => procedure::ended(&going.view, ended),
                None => DetailBody::default(),
            }),
            Page::ReadBack => Body::Back(step::back(&going.station, &going.entry)),
            Page::Doubt => Body::Choices(doubt_body(going)),
            Page::Because(because) => Body::Choices(going.because_body(because)),
            _ => match going.state().step(going.here()) {
                Some(one) if one.status.is_settled() || going.is_disputed() => {
                    Body::Detail(procedure::settled(going.state(), one, self.now()))
                }
                _ if going.is_calibrating() => {
                    let points = going.state().turns();
                    let mut body =
                        assistant::assistant(&going.station, &going.setting, &points, &going.entry);
                    body.marks = step::marks(going.state(), going.here());
                    Body::Assist(Box::new(body))
                }
                _ => Body::Step(Box::new(step::step(&going.around(), &going.entry))),
            },
        }
    }
}

fn doubt_body(going: &Going) -> ChoicesBody {
    let (Some(found), Some(gauges)) = (&going.doubt, &going.entry.gauges) else {
        return ChoicesBody::default();
    };
    let asked = doubt::question(&going.station, &gauges.entry(), found);
    ChoicesBody {
        heading: asked.question,
        under: asked.detail,
        offers: asked
            .answers
            .into_iter()
            .map(|answer| Offer {
                is_on: answer.is_on,
                ..Offer::new(format!("doubt:{}", answer.id), answer.label)
            })
            .collect(),
        leave: String::new(),
    }
}
