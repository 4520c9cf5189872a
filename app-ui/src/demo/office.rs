//! The demo's office: takes over the old sheets, lets tablets in, merges, answers, sends back.

use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use winze_core::Logbook;
use winze_core::actions::{
    MergeReport, NewAnswer, PackFor, Packed, answer_question, enrol_logbook, merge_bundles,
    pack_bundle,
};
use winze_core::query::{LogStanding, LogView, Overview, logs, overview, questions, visit};
use winze_core::record::{Choice, Role};
use winze_core::sheet::SheetOptions;
use winze_core::station::StationCode;
use winze_sync_format::{LogId, RecordRef};

use super::folders::{DayClock, Folders};
use super::mine::{Mine, WEEKS};
use super::summary::{History, OfficeSummary, QuestionSummary};
use super::{unexpected, upkeep};
use crate::messages::{self, UserMessage, logbook_failed};
use crate::sheets;
use crate::statements;

/// Who sits in the office.
const CLERK: &str = "M. Clerk";

/// The office with its logbook.
pub struct Office {
    /// Its logbook's folder.
    pub folder: PathBuf,
    logbook: Option<Logbook>,
    clock: DayClock,
}

#[allow(
    clippy::needless_pass_by_value,
    reason = "so that `map_err` takes it as it is"
)]
fn failed(error: winze_core::Error) -> UserMessage {
    logbook_failed(&error)
}

impl Office {
    /// Makes the office and takes over the register and the old sheets, twice.
    pub fn make(
        folders: &Folders,
        mine: &Mine,
        clock: &DayClock,
        history: &mut History,
    ) -> Result<Self, UserMessage> {
        let folder = folders.logbook("office");
        let logbook = Some(clock.create(&folder, Role::Office, "Tarrow Deep office")?);
        let mut office = Self {
            folder,
            logbook,
            clock: clock.clone(),
        };
        let register = folders.sheets.join("register.csv");
        let sheets = [
            (folders.sheets.join("readings-older.csv"), mine.older_csv()),
            (folders.sheets.join("readings-newer.csv"), mine.newer_csv()),
        ];
        folders.write(&register, mine.register_csv().as_bytes())?;
        for (path, text) in &sheets {
            folders.write(path, text.as_bytes())?;
        }
        history.weeks = WEEKS;
        let paths = sheets.map(|(path, _)| path);
        history.readings = office.load(&register, &paths, Some(history))?;
        history.added_when_loaded_again = office.load(&register, &paths, None)?;
        if history.readings != mine.history_count() as u64 || history.added_when_loaded_again > 0 {
            return Err(unexpected(
                "the old sheets were not taken over whole and once.",
            ));
        }
        Ok(office)
    }

    /// Takes over sheets; answers how many readings were new.
    fn load(
        &mut self,
        register: &Path,
        sheets: &[PathBuf],
        mut history: Option<&mut History>,
    ) -> Result<u64, UserMessage> {
        let options = SheetOptions::default();
        let logbook = self.logbook_mut()?;
        let register = sheets::read_register(register, options)?;
        sheets::take_register(logbook, &register, CLERK)?;
        if let Some(history) = &mut history {
            history.notices.extend(
                register
                    .notices
                    .iter()
                    .map(|n| messages::notice(n).to_string()),
            );
        }
        let mut added = 0;
        for path in sheets {
            let readings = sheets::open_readings(path, options)?;
            let taken = sheets::take_readings(logbook, readings, CLERK, &mut |_, _| {})?;
            added += taken.added;
            if let Some(history) = &mut history {
                let name = path
                    .file_name()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned();
                let refused = taken.refused.iter().map(messages::row_refused);
                history
                    .refused
                    .extend(refused.map(|message| format!("{name}: {message}")));
            }
        }
        Ok(added)
    }

    /// The logbook.
    pub fn logbook(&self) -> Result<&Logbook, UserMessage> {
        self.logbook
            .as_ref()
            .ok_or_else(|| unexpected("the office is closed"))
    }

    fn logbook_mut(&mut self) -> Result<&mut Logbook, UserMessage> {
        self.logbook
            .as_mut()
            .ok_or_else(|| unexpected("the office is closed"))
    }

    /// Acts on the logbook.
    pub fn on_logbook<T>(
        &mut self,
        act: impl FnOnce(&mut Logbook) -> Result<T, UserMessage>,
    ) -> Result<T, UserMessage> {
        act(self.logbook_mut()?)
    }

    /// Closes the office for as long as `act` lasts.
    pub fn while_closed<T>(
        &mut self,
        act: impl FnOnce(&Path) -> Result<T, UserMessage>,
    ) -> Result<T, UserMessage> {
        self.logbook = None;
        let result = act(&self.folder)?;
        self.logbook = Some(self.clock.open(&self.folder)?);
        Ok(result)
    }

    /// Lets a tablet count, after its words were compared.
    pub fn enrol(&mut self, log: LogId, name: &str) -> Result<(), UserMessage> {
        let logbook = self.logbook_mut()?;
        enrol_logbook(
            logbook,
            log,
            name.to_owned(),
            Role::Tablet,
            CLERK.to_owned(),
        )
        .map(|_| ())
        .map_err(failed)
    }

    /// Packs for the tablets.
    pub fn pack(&mut self, bundles: &Path) -> Result<Packed, UserMessage> {
        pack_bundle(
            self.logbook_mut()?,
            bundles,
            PackFor::Tablets,
            CLERK,
            &mut |_| true,
        )
        .map_err(failed)
    }

    /// Takes in bundles.
    pub fn merge(&mut self, bundles: &[PathBuf]) -> Result<MergeReport, UserMessage> {
        merge_bundles(self.logbook_mut()?, bundles, &mut |_| true).map_err(failed)
    }

    /// What matters now.
    pub fn overview(&self) -> Result<Overview, UserMessage> {
        overview(self.logbook()?).map_err(failed)
    }

    /// The logbook that is held, of which there must be one.
    pub fn held_log(&self) -> Result<LogView, UserMessage> {
        let all = logs(self.logbook()?).map_err(failed)?;
        let mut held = all
            .into_iter()
            .filter(|log| log.standing == LogStanding::Held);
        match (held.next(), held.next()) {
            (Some(log), None) => Ok(log),
            _ => Err(unexpected("there is not exactly one unknown logbook.")),
        }
    }

    /// Answers the one open question in favour of the reading by `preferred`.
    pub fn answer(&mut self, preferred: LogId) -> Result<QuestionSummary, UserMessage> {
        let open = questions(self.logbook()?, false).map_err(failed)?;
        let [view] = open.as_slice() else {
            return Err(unexpected(format!(
                "{} questions are open, not one.",
                open.len()
            )));
        };
        let question = &view.question;
        let station = question
            .station
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default();
        let mut readings = Vec::new();
        for at in &question.about {
            let visit = visit(self.logbook()?, *at).map_err(failed)?;
            readings.push(format!(
                "{}: {}",
                visit.log_name,
                statements::entry(&visit.entry)
            ));
        }
        // In order of name, because logs are in order of their random keys.
        readings.sort();
        let stands: RecordRef = question
            .about
            .iter()
            .copied()
            .find(|at| at.log == preferred)
            .ok_or_else(|| unexpected("the question is about other tablets."))?;
        let new = NewAnswer {
            question: question.id,
            choice: Choice::Prefer(stands),
            note: "read again on the way out".to_owned(),
            by: CLERK.to_owned(),
        };
        answer_question(self.logbook_mut()?, new).map_err(failed)?;
        let visit = visit(self.logbook()?, stands).map_err(failed)?;
        Ok(QuestionSummary {
            station,
            readings,
            answer: format!("the reading of {} stands", visit.log_name),
        })
    }

    /// Notes what the old book says was done.
    pub fn note_the_old_book(
        &mut self,
        mine: &Mine,
        day: DateTime<Utc>,
    ) -> Result<(), UserMessage> {
        upkeep::note_the_old_book(self.logbook_mut()?, mine, day, CLERK)
    }

    /// Raises the job that suggests itself at a station.
    pub fn raise_a_job(&mut self, code: &StationCode) -> Result<(), UserMessage> {
        upkeep::raise_a_job(self.logbook_mut()?, code, CLERK)
    }

    /// What the office sees.
    pub fn summary(&self) -> Result<OfficeSummary, UserMessage> {
        let view = self.overview()?;
        let codes = |concerns: &[winze_core::query::StationConcern]| {
            concerns
                .iter()
                .map(|concern| concern.visit.station.to_string())
                .collect()
        };
        Ok(OfficeSummary {
            readings: view.readings,
            outside: codes(&view.outside),
            unsure: codes(&view.unsure),
            missed: view
                .missed
                .iter()
                .map(|missed| missed.code.to_string())
                .collect(),
            questions: view.questions.len(),
            held: view.held.iter().map(|log| log.held).sum(),
        })
    }
}
