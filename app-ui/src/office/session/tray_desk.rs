//! The tray in the session: what was found, what is under way, what came of it.

use std::path::{Path, PathBuf};

use winze_core::actions::MergeReport;
use winze_core::query::holds;
use winze_sync_format::RecordRef;

use super::{Launch, Screen, Session};
use crate::messages::{file_failed, logbook_failed};
use crate::office::cursor::Cursor;
use crate::office::tray::{Condition, TrayEntry};
use crate::office::work::{Done, HowFar, Job, Stop};
use crate::presenters::office_view::{HandBackStage, TrayStage};
use crate::presenters::{office_hand_back, office_tray};

pub(super) struct TrayDesk {
    pub(super) folder: PathBuf,
    pub(super) entries: Vec<TrayEntry>,
    pub(super) stage: TrayStage,
    pub(super) how_far: Option<HowFar>,
    pub(super) at: Cursor,
    pub(super) report: Option<MergeReport>,
    /// Said instead of an empty list.
    pub(super) nothing: String,
    /// How many records of each bundle are not here yet.
    news: Vec<usize>,
    /// Merge as soon as the folder is read.
    merge_next: bool,
    /// Names and sizes at the last look, to see whether something came.
    seen: Vec<(PathBuf, u64)>,
}

impl TrayDesk {
    pub(super) fn new(folder: PathBuf) -> Self {
        Self {
            folder,
            entries: Vec::new(),
            stage: TrayStage::Reading,
            how_far: None,
            at: Cursor::default(),
            report: None,
            nothing: String::new(),
            news: Vec::new(),
            merge_next: false,
            seen: Vec::new(),
        }
    }
}

impl Session {
    /// Takes another folder for the tray before the window is shown.
    pub fn take_tray(&mut self, folder: &Path) {
        folder.clone_into(&mut self.tray.folder);
        self.launch(Job::ReadTray {
            folder: folder.to_owned(),
        });
    }

    /// Looks into a folder or stick for bundles.
    pub fn look_into(&mut self, folder: &str) {
        let folder = folder.trim();
        if !folder.is_empty() {
            self.tray.folder = PathBuf::from(folder);
        }
        self.look_into_tray();
    }

    /// Whether work is under way.
    #[must_use]
    pub const fn is_working(&self) -> bool {
        self.running.is_some()
    }

    /// The folder that is worth looking at for bundles that came or went; none while it is being
    /// read, or while the result of a merge is shown.
    #[must_use]
    pub fn peek_at(&self) -> Option<PathBuf> {
        let is_idle = self.running.is_none() && self.tray.stage == TrayStage::Waiting;
        is_idle.then(|| self.tray.folder.clone())
    }

    /// Looks into the tray again if names and sizes in it are no longer those last seen.
    pub fn look_if_changed(&mut self, seen: &[(PathBuf, u64)]) {
        if self.peek_at().is_some() && self.tray.seen != seen {
            self.look_into_tray();
        }
    }

    pub(super) fn tray_opened(&mut self) {
        if self.tray.stage == TrayStage::Merged {
            self.look_into_tray();
        }
    }

    pub(super) fn look_into_tray(&mut self) {
        if self.running.is_some() {
            self.busy();
            return;
        }
        self.tray.stage = TrayStage::Reading;
        self.tray.how_far = None;
        self.tray.report = None;
        let folder = self.tray.folder.clone();
        self.launch(Job::ReadTray { folder });
    }

    pub(super) fn launch(&mut self, job: Job) {
        let stop = Stop::default();
        self.running = Some(stop.clone());
        self.launch = Some(Launch { job, stop });
    }

    /// Chooses a bundle, to see what it holds and lacks.
    pub fn choose_bundle(&mut self, id: &str) {
        let is_it = |entry: &TrayEntry| entry.path.display().to_string() == id;
        if let Some(place) = self.tray.entries.iter().position(is_it) {
            self.tray.at.choose(place);
        }
    }

    /// Takes in how many lines the tray has room for.
    pub fn fit_tray(&mut self, lines: usize) -> bool {
        self.tray.at.fit(lines)
    }

    /// Turns the pages of the tray.
    pub fn turn_tray(&mut self, by: isize) {
        self.tray.at.turn(by, self.tray.entries.len());
    }

    /// The bundles that a merge would take in.
    pub(super) fn to_merge(&self) -> Vec<PathBuf> {
        let is_readable = |entry: &&TrayEntry| {
            !matches!(
                entry.condition(),
                Condition::Unreadable | Condition::NotABundle
            )
        };
        self.tray
            .entries
            .iter()
            .filter(is_readable)
            .map(|entry| entry.path.clone())
            .collect()
    }

    /// Takes in every bundle of the tray; one act, one key.
    pub fn merge_all(&mut self) {
        self.go(Screen::Tray);
        match self.tray.stage {
            TrayStage::Reading => self.tray.merge_next = true,
            TrayStage::Merging => {}
            TrayStage::Merged | TrayStage::Waiting => self.start_merge(),
        }
    }

    fn start_merge(&mut self) {
        let paths = self.to_merge();
        if paths.is_empty() {
            return;
        }
        if self.running.is_some() {
            self.busy();
            return;
        }
        let Some(logbook) = self.logbook.take() else {
            self.busy();
            return;
        };
        self.tray.stage = TrayStage::Merging;
        self.tray.how_far = None;
        self.dismiss();
        self.launch(Job::Merge { logbook, paths });
    }

    /// Asks the work under way to stop at its next safe point.
    pub fn stop(&mut self) {
        if let Some(stop) = &self.running {
            stop.ask();
        }
    }

    /// Leaves the result of a merge for what it means.
    pub fn merge_seen(&mut self) {
        self.go(Screen::Week);
        self.look_into_tray();
    }

    /// Takes in how far the work under way has come.
    pub fn advance(&mut self, how_far: HowFar) {
        if self.hand_back.stage == HandBackStage::Writing {
            self.hand_back.how_far = Some(how_far);
        } else {
            self.tray.how_far = Some(how_far);
        }
    }

    /// Takes in what the work came to.
    pub fn finish(&mut self, done: Done) {
        self.running = None;
        match done {
            Done::TrayRead { folder, entries } => self.tray_read(&folder, entries),
            Done::Merged { logbook, result } => {
                self.logbook = Some(logbook);
                match result {
                    Ok(report) => {
                        self.tray.stage = TrayStage::Merged;
                        self.tray.report = Some(report);
                    }
                    Err(error) => {
                        self.tray.stage = TrayStage::Waiting;
                        self.failed(&logbook_failed(&error));
                    }
                }
                self.reload();
            }
            Done::Packed { logbook, result } => {
                self.logbook = Some(logbook);
                match result {
                    Ok(packed) => {
                        let (result, facts) = office_hand_back::packed(&packed);
                        self.hand_back.stage = HandBackStage::Done;
                        "Safe to remove".clone_into(&mut self.hand_back.safe);
                        self.hand_back.result = result;
                        self.hand_back.facts = facts;
                    }
                    Err(error) => {
                        let message = logbook_failed(&error);
                        self.hand_back.stage = HandBackStage::Failed;
                        self.hand_back.safe = message.what;
                        self.hand_back.result = format!("{} {}", message.safe, message.next);
                        self.hand_back.facts = Vec::new();
                    }
                }
                self.reload();
            }
            Done::Lost => {
                self.tray.stage = TrayStage::Waiting;
                self.hand_back.stage = HandBackStage::Ready;
                self.failed(&crate::messages::UserMessage::new(
                    "The work broke off.",
                    "What was taken in until then is kept.",
                    "Close this window and open it again.",
                ));
            }
        }
    }

    fn tray_read(&mut self, folder: &Path, entries: Option<std::io::Result<Vec<TrayEntry>>>) {
        self.tray.stage = TrayStage::Waiting;
        self.fields += 1;
        self.tray.nothing.clear();
        match entries {
            None => "Stopped before the end. Look again to see what is here."
                .clone_into(&mut self.tray.nothing),
            Some(Err(error)) => {
                self.tray.entries.clear();
                self.tray.seen.clear();
                let message = file_failed("read", folder, &error);
                self.tray.nothing = message.to_string();
            }
            Some(Ok(entries)) => {
                let seen = entries
                    .iter()
                    .map(|entry| (entry.path.clone(), entry.bytes));
                self.tray.seen = seen.collect();
                self.tray.entries = entries;
                if self.tray.entries.is_empty() {
                    "No bundle is in this folder. Put the stick in and name its folder above."
                        .clone_into(&mut self.tray.nothing);
                }
            }
        }
        self.count_news();
        if std::mem::take(&mut self.tray.merge_next) {
            self.start_merge();
        }
    }

    /// Counts what each bundle holds that is not here yet.
    pub(super) fn count_news(&mut self) {
        let is_new = |at: &RecordRef| match self.snapshot.holds_place(*at) {
            Some(is_held) => !is_held,
            None => !self
                .logbook
                .as_ref()
                .is_some_and(|logbook| holds(logbook, *at).unwrap_or(false)),
        };
        let count = |entry: &TrayEntry| entry.records().iter().filter(|at| is_new(at)).count();
        self.tray.news = self.tray.entries.iter().map(count).collect();
    }

    /// How many records of a bundle are not here yet.
    pub(super) fn news_of(&self, place: usize) -> u64 {
        self.tray.news.get(place).copied().unwrap_or(0) as u64
    }

    /// How many bundles hold something that is not here yet.
    pub(super) fn bundles_with_news(&self) -> usize {
        self.tray.news.iter().filter(|news| **news > 0).count()
    }

    pub(super) fn tray_figures(&self) -> Vec<crate::presenters::view::Figure> {
        self.tray
            .report
            .as_ref()
            .map_or_else(Vec::new, office_tray::result)
    }
}
