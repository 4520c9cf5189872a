//! The projection as text: the same set of records gives the same bytes.
//!
//! Logs are written by their names, never by their local numbers, and every section is in ascending
//! order of names. Local things (drafts, which merge brought what) are left out.

use std::fmt::Write as _;

use rusqlite::types::ValueRef;

use super::Logbook;
use super::database::{Database, During};
use crate::Result;

/// Each section: its name and the query of its rows. Every log is joined to its name.
const SECTIONS: [(&str, &str); 28] = [
    (
        "record",
        "SELECT l.id, r.seq, r.id, r.kind FROM record r JOIN log l ON l.n = r.log
         ORDER BY l.id, r.seq, r.id",
    ),
    (
        "not-understood",
        "SELECT l.id, r.seq, r.id, r.kind FROM not_understood r JOIN log l ON l.n = r.log
         ORDER BY l.id, r.seq, r.id",
    ),
    (
        "log-opened",
        "SELECT l.id, r.seq, r.id, r.role, r.label, r.wall_ms FROM log_opened r
         JOIN log l ON l.n = r.log ORDER BY l.id, r.seq, r.id",
    ),
    (
        "trust-statement",
        "SELECT l.id, r.seq, r.id, t.id, r.role, r.name, r.last_seq FROM trust_statement r
         JOIN log l ON l.n = r.log JOIN log t ON t.n = r.target ORDER BY l.id, r.seq, r.id",
    ),
    (
        "revision",
        "SELECT r.station, l.id, r.seq, r.id, r.wall_ms FROM revision r
         JOIN log l ON l.n = r.log ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "round",
        "SELECT l.id, r.seq, r.id, r.title, r.opened_ms FROM round r JOIN log l ON l.n = r.log
         ORDER BY l.id, r.seq, r.id",
    ),
    (
        "round-closed",
        "SELECT o.id, r.round_seq, r.round_id, l.id, r.seq, r.id, r.wall_ms FROM round_closed r
         JOIN log l ON l.n = r.log JOIN log o ON o.n = r.round_log
         ORDER BY o.id, r.round_seq, r.round_id, l.id, r.seq, r.id",
    ),
    (
        "skipped",
        "SELECT o.id, r.round_seq, r.round_id, r.station, l.id, r.seq, r.id, r.reason, r.wall_ms
         FROM skipped r JOIN log l ON l.n = r.log JOIN log o ON o.n = r.round_log
         ORDER BY o.id, r.round_seq, r.round_id, r.station, l.id, r.seq, r.id",
    ),
    (
        "reading",
        "SELECT r.station, r.taken_ms, l.id, r.seq, r.id, o.id, r.round_seq, r.round_id,
                r.inlet_pa, r.interstage_pa, r.outlet_pa, r.digit_inlet, r.digit_inter,
                r.digit_outlet, r.worst, r.row_digest, r.nonce
         FROM reading r JOIN log l ON l.n = r.log LEFT JOIN log o ON o.n = r.round_log
         ORDER BY r.station, r.taken_ms, l.id, r.seq, r.id",
    ),
    (
        "correction",
        "SELECT r.station, l.id, r.seq, r.id FROM correction r JOIN log l ON l.n = r.log
         ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "check-answered",
        "SELECT r.station, l.id, r.seq, r.id FROM check_answered r JOIN log l ON l.n = r.log
         ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "procedure-record",
        "SELECT r.station, l.id, r.seq, r.id FROM procedure_record r JOIN log l ON l.n = r.log
         ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "attachment",
        "SELECT r.station, l.id, r.seq, r.id FROM attachment r JOIN log l ON l.n = r.log
         ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "attachment-chunk",
        "SELECT r.sha256, l.id, r.seq, r.id FROM attachment_chunk r JOIN log l ON l.n = r.log
         ORDER BY r.sha256, l.id, r.seq, r.id",
    ),
    (
        "job-closed",
        "SELECT r.station, l.id, r.seq, r.id FROM job_closed r JOIN log l ON l.n = r.log
         ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "answer",
        "SELECT r.question, l.id, r.seq, r.id, r.station FROM answer r
         JOIN log l ON l.n = r.log ORDER BY r.question, l.id, r.seq, r.id",
    ),
    (
        "acknowledgement",
        "SELECT t.id, l.id, r.seq, r.id, r.to_seq, r.to_id, r.wall_ms FROM acknowledgement r
         JOIN log l ON l.n = r.log JOIN log t ON t.n = r.target
         ORDER BY t.id, l.id, r.seq, r.id",
    ),
    (
        "backed-up",
        "SELECT t.id, l.id, r.seq, r.id, r.to_seq, r.to_id, r.wall_ms FROM backed_up r
         JOIN log l ON l.n = r.log JOIN log t ON t.n = r.target
         ORDER BY t.id, l.id, r.seq, r.id",
    ),
    (
        "trust",
        "SELECT l.id, r.role, r.name, r.reach, r.is_revoked FROM trust r
         JOIN log l ON l.n = r.log ORDER BY l.id",
    ),
    (
        "station",
        "SELECT r.code, r.walk_order, r.name, r.level, l.id, r.seq, r.id, r.disputed
         FROM station r JOIN log l ON l.n = r.log ORDER BY r.code",
    ),
    (
        "reading-state",
        "SELECT r.station, l.id, r.seq, r.id, r.standing, r.other, r.corrected, r.disputed
         FROM reading_state r JOIN log l ON l.n = r.log ORDER BY r.station, l.id, r.seq, r.id",
    ),
    (
        "question",
        "SELECT r.id, r.kind, r.station, r.about, r.state, r.answer FROM question r ORDER BY r.id",
    ),
    (
        "log-continued",
        "SELECT l.id, r.seq, r.id, f.id, r.former_seq, r.former_id, r.why FROM log_continued r
         JOIN log l ON l.n = r.log JOIN log f ON f.n = r.former_log ORDER BY l.id, r.seq, r.id",
    ),
    (
        "office-replaced",
        "SELECT l.id, r.seq, r.id, t.id, r.last_seq FROM office_replaced r
         JOIN log l ON l.n = r.log JOIN log t ON t.n = r.target ORDER BY l.id, r.seq, r.id",
    ),
    (
        "own-former",
        "SELECT l.id, r.place, r.last_seq FROM own_former r JOIN log l ON l.n = r.log
         ORDER BY r.place",
    ),
    (
        "clock-observed",
        "SELECT t.id, l.id, r.seq, r.id, r.boot, r.monotonic_ms, r.office_ms, r.side
         FROM clock_observed r JOIN log l ON l.n = r.log JOIN log t ON t.n = r.target
         ORDER BY t.id, l.id, r.seq, r.id",
    ),
    (
        "corrected-time",
        "SELECT l.id, r.seq, r.id, r.shown_ms, r.corrected_ms, r.low_ms, r.high_ms
         FROM corrected_time r JOIN log l ON l.n = r.log ORDER BY l.id, r.seq, r.id",
    ),
    (
        "fork",
        "SELECT l.id, r.seq FROM fork r JOIN log l ON l.n = r.log ORDER BY l.id, r.seq",
    ),
];

impl Logbook {
    /// Writes the projection as text: the same set of records in a logbook of the same log gives the
    /// same bytes, whatever the order in which they came, and however often.
    ///
    /// # Shape
    /// One line per row: section, then the columns, separated by tabs; bytes in hex, texts quoted,
    /// absent values as `-`.
    ///
    /// # Errors
    /// The database's.
    pub fn dump_projection(&self) -> Result<String> {
        let mut out = format!("winze projection 1\nown\t{}\n", self.own.log);
        self.database.dump(&mut out)?;
        Ok(out)
    }
}

impl Database {
    /// Appends every section.
    pub(super) fn dump(&self, out: &mut String) -> Result<()> {
        for (section, sql) in SECTIONS {
            let mut query = self.connection.prepare(sql).during("dump")?;
            let columns = query.column_count();
            let mut rows = query.query([]).during("dump")?;
            while let Some(row) = rows.next().during("dump")? {
                out.push_str(section);
                for column in 0..columns {
                    out.push('\t');
                    write_value(out, row.get_ref(column).during("dump")?);
                }
                out.push('\n');
            }
        }
        Ok(())
    }
}

fn write_value(out: &mut String, value: ValueRef<'_>) {
    // Writing to a string cannot fail.
    let _ = match value {
        ValueRef::Null => write!(out, "-"),
        ValueRef::Integer(number) => write!(out, "{number}"),
        ValueRef::Real(number) => write!(out, "{number:?}"),
        ValueRef::Text(text) => write!(out, "{:?}", String::from_utf8_lossy(text)),
        ValueRef::Blob(bytes) => bytes.iter().try_for_each(|byte| write!(out, "{byte:02x}")),
    };
}
