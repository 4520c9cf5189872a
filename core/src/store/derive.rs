//! Working out everything that depends on more than one record, for what has changed.
//!
//! The rows written here are functions of the whole set: the same set gives the same rows, whether
//! they are worked out after each record or once at the end. The rules themselves are pure and live
//! in [`crate::merge`].

use std::collections::BTreeMap;

use rusqlite::params;
use winze_sync_format::{LogId, RecordRef};

use super::database::{Database, During};
use super::facts::Own;
use super::insert::Dirty;
use super::judging::GoesOn;
use crate::Result;
use crate::merge::{
    Question, QuestionKind, QuestionState, Reach, Says, Standing, Statement, StationPlan, Trust,
    copied_log_id, plan_station, station_plan::settle, trust_of,
};
use crate::record::Role;
use crate::station::StationCode;

/// Stands for "enrolments or revocations" in the table of dirty stations; no station is called so.
const TRUST_MARK: &str = "!trust";
/// Stands for "places taken twice" in the table of dirty stations.
const FORK_MARK: &str = "!forks";
/// Stands, with the local number of a log, for its times in the table of dirty stations.
const CLOCK_MARK: &str = "!clock ";

impl Database {
    /// Remembers across a crash what is still to be worked out.
    pub(super) fn note_dirty(&self, dirty: &Dirty) -> Result<()> {
        let marks = [(dirty.trust, TRUST_MARK), (dirty.forks, FORK_MARK)];
        let marks = marks
            .iter()
            .filter(|(is_set, _)| *is_set)
            .map(|(_, mark)| *mark);
        for station in dirty.stations.iter().map(String::as_str).chain(marks) {
            self.run(
                "INSERT OR IGNORE INTO dirty (station) VALUES (?1)",
                [station],
            )?;
        }
        for log in &dirty.clocks {
            self.run(
                "INSERT OR IGNORE INTO dirty (station) VALUES (?1)",
                [format!("{CLOCK_MARK}{log}")],
            )?;
        }
        Ok(())
    }

    /// Reads what is still to be worked out.
    pub(super) fn noted_dirty(&self) -> Result<Dirty> {
        let mut dirty = Dirty::default();
        let mut query = self
            .connection
            .prepare_cached("SELECT station FROM dirty")
            .during("read what is dirty")?;
        let mut rows = query.query([]).during("read what is dirty")?;
        while let Some(row) = rows.next().during("read what is dirty")? {
            match row
                .get_ref(0)
                .and_then(|value| Ok(value.as_str()?))
                .during("read what is dirty")?
            {
                TRUST_MARK => dirty.trust = true,
                FORK_MARK => dirty.forks = true,
                other => match other.strip_prefix(CLOCK_MARK).map(str::parse) {
                    Some(Ok(log)) => drop(dirty.clocks.insert(log)),
                    _ => drop(dirty.stations.insert(other.to_owned())),
                },
            }
        }
        Ok(dirty)
    }

    /// Works out what is dirty and clears the note of it. To be called inside a transaction.
    pub(super) fn derive(&self, own: &Own, dirty: Dirty) -> Result<()> {
        self.derive_watched(own, dirty, &mut |_, _| true)
    }

    /// As [`Database::derive`]; `goes_on` is told how many stations are done and how many there are
    /// in all. Once it says no, stations are no longer judged: what is kept about them is noted as
    /// behind. Everything else is worked out all the same.
    pub(super) fn derive_watched(
        &self,
        own: &Own,
        mut dirty: Dirty,
        goes_on: &mut GoesOn<'_>,
    ) -> Result<()> {
        if dirty.trust && self.derive_trust(own)? {
            // Which records count has changed: anything may have.
            self.mark_every_station(&mut dirty)?;
            dirty.forks = true;
            dirty.clocks.extend(self.observed_logs()?);
        }
        for log in &dirty.clocks {
            dirty.stations.extend(self.derive_times(*log)?);
        }
        // Only codes that were checked when they came in are in the tables.
        let stations: Vec<StationCode> = dirty
            .stations
            .iter()
            .filter_map(|station| StationCode::parse(station).ok())
            .collect();
        self.derive_stations(own, &stations, goes_on)?;
        if dirty.forks {
            self.derive_forks(own)?;
        }
        self.run("DELETE FROM dirty", [])
    }

    fn mark_every_station(&self, dirty: &mut Dirty) -> Result<()> {
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT DISTINCT station FROM revision UNION SELECT DISTINCT station FROM reading
                 UNION SELECT code FROM station UNION SELECT DISTINCT station FROM correction
                 UNION SELECT DISTINCT station FROM check_answered
                 UNION SELECT DISTINCT station FROM procedure_record
                 UNION SELECT DISTINCT station FROM job_closed",
            )
            .during("list stations")?;
        let codes = query
            .query_map([], |row| row.get(0))
            .during("list stations")?;
        for code in codes {
            dirty.stations.insert(code.during("list stations")?);
        }
        Ok(())
    }

    /// Returns whether anything has changed.
    fn derive_trust(&self, own: &Own) -> Result<bool> {
        let own = self.own_logs(own)?;
        let trusted = trust_of(&own, &self.statements()?);
        self.derive_former(&own)?;
        let before = self.trust_rows()?;
        let mut after = BTreeMap::new();
        for (log, trust) in trusted {
            let number = self.number(log)?;
            after.insert(number, trust);
        }
        if before == after {
            return Ok(false);
        }
        self.run("DELETE FROM trust", [])?;
        for (number, trust) in after {
            let reach = match trust.reach {
                Reach::Nothing => -1,
                Reach::UpTo(seq) => i64::try_from(seq).unwrap_or(i64::MAX),
                Reach::Everything => i64::MAX,
            };
            self.run(
                "INSERT INTO trust (log, role, name, reach, is_revoked) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![number, trust.role.code(), trust.name, reach, trust.is_revoked],
            )?;
        }
        Ok(true)
    }

    fn statements(&self) -> Result<Vec<Statement>> {
        let action = "read enrolments";
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT log, seq, id, target, role, name, last_seq FROM trust_statement",
            )
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut statements = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            let get = |n: usize| row.get::<_, i64>(n).during(action);
            let by = self.reference(get(0)?, get(1)?, row.get(2).during(action)?)?;
            let target = self.log(get(3)?)?;
            let role: Option<String> = row.get(4).during(action)?;
            let name: Option<String> = row.get(5).during(action)?;
            let last_seq: Option<i64> = row.get(6).during(action)?;
            let says = match (role.as_deref().and_then(Role::from_code), name) {
                (Some(role), Some(name)) => Says::Enrolled { role, name },
                _ => Says::Revoked {
                    last_seq: last_seq.and_then(|seq| u64::try_from(seq).ok()),
                },
            };
            statements.push(Statement { by, target, says });
        }
        let mut query = self
            .connection
            .prepare_cached("SELECT log, seq, id, target, last_seq FROM office_replaced")
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        while let Some(row) = rows.next().during(action)? {
            let last_seq = row.get::<_, i64>(4).during(action)?.unsigned_abs();
            statements.push(Statement {
                by: self.reference_in(row)?,
                target: self.log(row.get(3).during(action)?)?,
                says: Says::Replaced { last_seq },
            });
        }
        Ok(statements)
    }

    fn trust_rows(&self) -> Result<BTreeMap<i64, Trust>> {
        let action = "read trust";
        let mut query = self
            .connection
            .prepare_cached("SELECT log, role, name, reach, is_revoked FROM trust")
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut trust = BTreeMap::new();
        while let Some(row) = rows.next().during(action)? {
            let role: String = row.get(1).during(action)?;
            let reach: i64 = row.get(3).during(action)?;
            let Some(role) = Role::from_code(&role) else {
                continue;
            };
            let reach = match u64::try_from(reach) {
                Err(_) => Reach::Nothing,
                Ok(_) if reach == i64::MAX => Reach::Everything,
                Ok(seq) => Reach::UpTo(seq),
            };
            let (name, is_revoked) = (row.get(2).during(action)?, row.get(4).during(action)?);
            let number = row.get(0).during(action)?;
            trust.insert(
                number,
                Trust {
                    role,
                    name,
                    reach,
                    is_revoked,
                },
            );
        }
        Ok(trust)
    }

    /// Works out everything about a station but what its events come to; returns its readings and
    /// what was planned.
    pub(super) fn derive_station(
        &self,
        own: &Own,
        code: &StationCode,
    ) -> Result<(Vec<(RecordRef, i64)>, StationPlan)> {
        let facts = self.station_facts(own, code)?;
        let readings = facts
            .readings
            .iter()
            .map(|fact| (fact.at, fact.taken_ms))
            .collect();
        let plan = plan_station(facts);
        self.run(
            "DELETE FROM reading_state WHERE station = ?1",
            [code.as_str()],
        )?;
        self.run("DELETE FROM question WHERE station = ?1", [code.as_str()])?;
        self.run("DELETE FROM station WHERE code = ?1", [code.as_str()])?;
        self.put_current(code, &plan)?;
        for (at, state) in &plan.states {
            let other = match state.standing {
                Standing::Counts | Standing::Open => None,
                Standing::Repeats(other) | Standing::SetAside(other) | Standing::Void(other) => {
                    Some(other.to_string())
                }
            };
            let (log, seq, id) = self.stored(*at)?;
            self.run(
                "INSERT INTO reading_state
                 (log, seq, id, station, standing, other, corrected, disputed)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                params![
                    log,
                    seq,
                    id,
                    code.as_str(),
                    state.standing.code(),
                    other,
                    state.corrected_by.map(|at| at.to_string()),
                    state.correction_disputed
                ],
            )?;
        }
        plan.questions
            .iter()
            .try_for_each(|question| self.put_question(question))?;
        Ok((readings, plan))
    }

    fn put_current(&self, code: &StationCode, plan: &StationPlan) -> Result<()> {
        let Some(current) = plan.current else {
            return Ok(());
        };
        let Some(definition) = self.find_definition(current)? else {
            return Ok(());
        };
        let (log, seq, id) = self.stored(current)?;
        self.run(
            "INSERT INTO station (code, walk_order, name, level, log, seq, id, disputed)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                code.as_str(),
                definition.order,
                definition.name,
                definition.level,
                log,
                seq,
                id,
                plan.definition_disputed
            ],
        )
    }

    fn put_question(&self, question: &Question) -> Result<()> {
        let about: Vec<String> = question.about.iter().map(ToString::to_string).collect();
        let answer = match &question.state {
            QuestionState::Answered { by, .. } => Some(by.to_string()),
            QuestionState::Open | QuestionState::AnsweredDifferently => None,
        };
        self.run(
            "INSERT OR REPLACE INTO question (id, kind, station, about, state, answer)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![
                &question.id.0[..],
                question.kind.code(),
                question.station.as_ref().map(StationCode::as_str),
                about.join(" "),
                question.state.code(),
                answer
            ],
        )
    }

    /// Asks one question for each log that was copied: about the first place taken twice.
    fn derive_forks(&self, own: &Own) -> Result<()> {
        self.run(
            "DELETE FROM question WHERE kind = ?1",
            [QuestionKind::CopiedLog.code()],
        )?;
        let action = "read copied logs";
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id FROM record r
                 JOIN (SELECT f.log AS log, min(f.seq) AS seq FROM fork f
                       JOIN trust t ON t.log = f.log GROUP BY f.log) first
                 ON r.log = first.log AND r.seq = first.seq",
            )
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut places: BTreeMap<LogId, Vec<RecordRef>> = BTreeMap::new();
        while let Some(row) = rows.next().during(action)? {
            let get = |n: usize| row.get::<_, i64>(n).during(action);
            let at = self.reference(get(0)?, get(1)?, row.get(2).during(action)?)?;
            places.entry(at.log).or_default().push(at);
        }
        for mut about in places.into_values() {
            about.sort_unstable();
            let id = copied_log_id(&about);
            let answers = self.answers_to(own, id)?;
            let kind = QuestionKind::CopiedLog;
            let fitting: Vec<_> = answers
                .into_iter()
                .filter(|fact| kind.allows(&fact.choice))
                .collect();
            let state = settle(&fitting);
            self.put_question(&Question {
                id,
                kind,
                station: None,
                about,
                state,
            })?;
        }
        Ok(())
    }
}
