//! Upkeep in the session: which side, what the lists are narrowed to, whose steps are looked at, and
//! which documents are made already.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::upkeep_forms::Form;
use super::{Screen, Session};
use crate::messages::{counted, logbook_failed};
use crate::office::board::Board;
use crate::office::board_list::BoardList;
use crate::presenters::office_due::{self, Narrowed};
use crate::presenters::office_upkeep::{ActKey, BoardDetail, Filter, UpkeepSide, UpkeepView};
use crate::presenters::{office_jobs, office_papers, office_procedures, office_steps};

/// The folder in the logbook's own where documents and calendars are written.
const PAPERS: &str = "papers";

/// Opens a folder in the desktop's own program.
pub type Opener = fn(&Path) -> std::io::Result<()>;

pub(super) struct UpkeepDesk {
    pub(super) board: Option<Board>,
    pub(super) side: UpkeepSide,
    pub(super) list: BoardList,
    /// The procedure whose steps are looked at, and the list it was opened from.
    steps: Option<(String, BoardList)>,
    due: Narrowed,
    jobs: String,
    procedures: String,
    papers: String,
    find: String,
    pub(super) form: Option<Form>,
    /// The line to be chosen as soon as it is there.
    pub(super) wanted: Option<String>,
    pub(super) folder: PathBuf,
    made: BTreeSet<String>,
    pub(super) opener: Opener,
}

impl UpkeepDesk {
    pub(super) fn new(dir: &Path) -> Self {
        Self {
            board: None,
            side: UpkeepSide::default(),
            list: BoardList::default(),
            steps: None,
            due: Narrowed::default(),
            jobs: office_jobs::OPEN.to_owned(),
            procedures: office_procedures::OPEN.to_owned(),
            papers: office_papers::ALL.to_owned(),
            find: String::new(),
            form: None,
            wanted: None,
            folder: dir.join(PAPERS),
            made: BTreeSet::new(),
            opener: crate::office::folder::show,
        }
    }

    /// Puts what is known into the list.
    pub(super) fn fill(&mut self) {
        let Some(board) = &self.board else {
            return;
        };
        let lines = match (&self.steps, self.side) {
            (Some((id, _)), _) => {
                office_procedures::find(board, id).map_or_else(Vec::new, office_steps::steps)
            }
            (None, UpkeepSide::Due) => office_due::lines(board, &self.due),
            (None, UpkeepSide::Jobs) => office_jobs::lines(board, &self.jobs, &self.find),
            (None, UpkeepSide::Procedures) => {
                office_procedures::lines(board, &self.procedures, &self.find)
            }
            (None, UpkeepSide::Papers) => {
                let is_made = |file: &str| self.made.contains(file);
                office_papers::lines(board, &self.papers, &self.find, &is_made)
            }
        };
        self.list.fill(lines);
        if let Some(wanted) = self.wanted.take() {
            self.list.choose(&wanted);
        }
    }

    /// Which documents are made.
    pub(super) fn look_for_papers(&mut self) {
        // A folder that is not there has none.
        let entries = std::fs::read_dir(&self.folder).into_iter().flatten();
        let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
        self.made = names.collect();
    }

    pub(super) fn detail(&self) -> BoardDetail {
        let (Some(board), Some(id)) = (&self.board, self.list.chosen()) else {
            return BoardDetail::default();
        };
        match (&self.steps, self.side) {
            (Some((of, _)), _) => office_procedures::find(board, of)
                .map_or_else(BoardDetail::default, |view| {
                    office_steps::step_detail(board, view, id)
                }),
            (None, UpkeepSide::Due) => office_due::detail(board, id),
            (None, UpkeepSide::Jobs) => office_jobs::detail(board, id),
            (None, UpkeepSide::Procedures) => office_procedures::detail(board, id),
            (None, UpkeepSide::Papers) => {
                let is_made = |file: &str| self.made.contains(file);
                office_papers::detail(board, id, &self.folder, &is_made)
            }
        }
    }

    fn filters(&self, board: &Board) -> Vec<Filter> {
        match self.side {
            _ if self.steps.is_some() => Vec::new(),
            UpkeepSide::Due => office_due::filters(&self.due),
            UpkeepSide::Jobs => office_jobs::filters(board, &self.jobs),
            UpkeepSide::Procedures => office_procedures::filters(board, &self.procedures),
            UpkeepSide::Papers => office_papers::filters(board, &self.papers),
        }
    }

    fn head_keys(&self) -> Vec<ActKey> {
        match self.side {
            _ if self.steps.is_some() => {
                vec![ActKey::new(office_procedures::BACK, "Back to the list")]
            }
            UpkeepSide::Due => office_due::head_keys(),
            UpkeepSide::Jobs => vec![ActKey::new(office_jobs::RAISE, "Raise a job")],
            UpkeepSide::Procedures | UpkeepSide::Papers => Vec::new(),
        }
    }

    fn list_title(&self, board: &Board) -> String {
        let shown = self.list.count();
        let shown_of = |one, many| counted(shown as u64, one, many);
        match (&self.steps, self.side) {
            (Some((of, _)), _) => {
                let detail = office_procedures::detail(board, of);
                format!("{}, {}", detail.heading, shown_of("step", "steps"))
            }
            (None, UpkeepSide::Due) => office_due::title(board, &self.due, shown),
            (None, UpkeepSide::Jobs) => shown_of("job", "jobs"),
            (None, UpkeepSide::Procedures) => shown_of("procedure", "procedures"),
            (None, UpkeepSide::Papers) => shown_of("document", "documents"),
        }
    }

    fn nothing(&self) -> &'static str {
        if self.list.count() > 0 {
            return "";
        }
        match self.side {
            _ if !self.find.is_empty() => "Nothing is found. Empty the field to see all.",
            UpkeepSide::Due => "Nothing stands so.",
            UpkeepSide::Jobs => "There is no such job.",
            UpkeepSide::Procedures => "There is no such procedure.",
            UpkeepSide::Papers => "No procedure with such a document has ended.",
        }
    }
}

impl Session {
    /// Takes another way of opening folders before the window is shown.
    pub fn take_opener(&mut self, opener: Opener) {
        self.upkeep.opener = opener;
    }

    /// How much of upkeep presses.
    pub(super) fn upkeep_pressing(&self) -> usize {
        self.upkeep.board.as_ref().map_or(0, Board::pressing)
    }

    /// Reads upkeep anew.
    pub(super) fn reload_board(&mut self) {
        let Some(logbook) = &self.logbook else {
            return;
        };
        match Board::load(logbook) {
            Ok(board) => {
                self.upkeep.board = Some(board);
                self.upkeep.fill();
            }
            Err(error) => self.failed(&logbook_failed(&error)),
        }
    }

    pub(super) fn upkeep_opened(&mut self) {
        self.upkeep.look_for_papers();
        self.upkeep.fill();
    }

    /// Shows another side of upkeep.
    pub fn show_upkeep(&mut self, id: &str) {
        let Some(side) = UpkeepSide::from_id(id) else {
            return;
        };
        let desk = &mut self.upkeep;
        if side == desk.side && desk.steps.is_none() {
            return;
        }
        desk.side = side;
        desk.steps = None;
        desk.form = None;
        desk.find.clear();
        desk.due.find.clear();
        desk.look_for_papers();
        desk.fill();
        desk.list.start();
        self.fields += 1;
    }

    /// Narrows the list of what is due to tasks that stand so, or widens it again.
    pub fn choose_due(&mut self, id: &str) {
        let status = office_due::status_of(id);
        let due = &mut self.upkeep.due;
        due.status = status.filter(|status| due.status != Some(*status));
        self.narrowed();
    }

    /// Narrows the list in another way.
    pub fn filter_upkeep(&mut self, id: &str) {
        let desk = &mut self.upkeep;
        let filter = match desk.side {
            UpkeepSide::Due => &mut desk.due.task,
            UpkeepSide::Jobs => &mut desk.jobs,
            UpkeepSide::Procedures => &mut desk.procedures,
            UpkeepSide::Papers => &mut desk.papers,
        };
        id.clone_into(filter);
        self.narrowed();
    }

    fn narrowed(&mut self) {
        self.upkeep.form = None;
        self.upkeep.fill();
        self.upkeep.list.start();
    }

    /// Narrows the list to what a text finds.
    pub fn find_upkeep(&mut self, text: &str) {
        text.clone_into(&mut self.upkeep.find);
        text.clone_into(&mut self.upkeep.due.find);
        self.upkeep.fill();
    }

    /// What was typed to find.
    #[must_use]
    pub fn upkeep_find(&self) -> &str {
        &self.upkeep.find
    }

    /// Chooses a line.
    pub fn choose_upkeep(&mut self, id: &str) {
        self.upkeep.list.choose(id);
        self.leave_form();
    }

    /// Turns the pages of the list.
    pub fn turn_upkeep(&mut self, by: isize) {
        self.upkeep.list.turn(by);
        self.leave_form();
    }

    pub(super) fn step_upkeep(&mut self, by: isize) {
        self.upkeep.list.step(by);
        self.leave_form();
    }

    /// Takes in how many rows the list has room for.
    pub fn fit_upkeep(&mut self, rows: usize) -> bool {
        self.upkeep.list.fit(rows)
    }

    /// What is filled in is about the line that was chosen before.
    fn leave_form(&mut self) {
        if self.upkeep.form.take().is_some() {
            self.fields += 1;
        }
    }

    /// Leaves what is filled in, or the steps. Answers whether there was either.
    pub(super) fn leave_upkeep_part(&mut self) -> bool {
        if self.upkeep.form.is_some() {
            self.leave_form();
            return true;
        }
        let Some((id, list)) = self.upkeep.steps.take() else {
            return false;
        };
        self.upkeep.list = list;
        self.upkeep.fill();
        self.upkeep.list.choose(&id);
        true
    }

    /// The first thing that can be done about the chosen line.
    pub(super) fn do_first(&mut self) -> bool {
        let keys = self.upkeep.detail().keys;
        let first = keys.first().map(|key| key.id.clone());
        first.map(|id| self.press_upkeep(&id)).is_some()
    }

    /// Does what one of the keys says.
    pub fn press_upkeep(&mut self, id: &str) {
        match id {
            office_due::STATION => self.open_upkeep_station(),
            office_due::CALENDAR => self.write_with(Self::write_calendar),
            office_due::PRINT => self.write_with(Self::write_due_list),
            office_papers::MAKE => self.write_with(Self::write_paper),
            office_papers::FOLDER => self.open_folder(),
            office_procedures::STEPS => self.open_steps(),
            office_procedures::BACK => {
                self.leave_upkeep_part();
            }
            other => self.open_form(other),
        }
    }

    fn open_upkeep_station(&mut self) {
        let Some(id) = self.upkeep.list.chosen().map(str::to_owned) else {
            return;
        };
        let code = self.upkeep.board.as_ref().and_then(|board| {
            let due = office_due::find(board, &id).map(|(station, _)| &station.code);
            let job = office_jobs::find(board, &id).map(|one| &one.job.station);
            let hint = office_jobs::find_suggestion(board, &id).map(|one| &one.station);
            let work = office_procedures::find(board, &id).map(|view| &view.station);
            due.or(job).or(hint).or(work).cloned()
        });
        if let Some(code) = code {
            self.open_station(code.as_str());
        }
    }

    fn open_steps(&mut self) {
        let desk = &mut self.upkeep;
        let Some(id) = desk.list.chosen().map(str::to_owned) else {
            return;
        };
        let mut list = BoardList::default();
        list.fit(desk.list.rows());
        let before = std::mem::replace(&mut desk.list, list);
        desk.steps = Some((id, before));
        desk.fill();
        desk.list.start();
        self.fields += 1;
    }

    /// Names what is shown: another name whenever fields come or go.
    pub(super) fn upkeep_spot(&self) -> String {
        let desk = &self.upkeep;
        format!(
            "{} {} {}",
            desk.side.id(),
            desk.steps.is_some(),
            desk.form.is_some()
        )
    }

    /// Upkeep.
    #[must_use]
    pub fn upkeep_view(&self) -> UpkeepView {
        let desk = &self.upkeep;
        let sides = UpkeepSide::ALL
            .map(|side| Filter::new(side.id(), side.label(), desk.side.id()))
            .to_vec();
        let Some(board) = &desk.board else {
            return UpkeepView {
                sides,
                ..UpkeepView::default()
            };
        };
        let (lines, page) = desk.list.view();
        let is_steps = desk.steps.is_some();
        UpkeepView {
            sides,
            head_keys: desk.head_keys(),
            tallies: if desk.side == UpkeepSide::Due && !is_steps {
                office_due::tallies(board, &desk.due)
            } else {
                Vec::new()
            },
            filters: desk.filters(board),
            find_label: match desk.side {
                _ if is_steps => "",
                UpkeepSide::Due => "Find by station, level or task",
                _ => "Find by station or words",
            }
            .to_owned(),
            list_title: desk.list_title(board),
            nothing: desk.nothing().to_owned(),
            lines,
            page,
            detail: desk.detail(),
            form: desk.form.as_ref().map(|form| form.view(board)),
        }
    }

    /// Whether upkeep is on and something is being filled in.
    #[must_use]
    pub fn is_filling_in(&self) -> bool {
        self.screen == Screen::Upkeep && self.upkeep.form.is_some()
    }
}
