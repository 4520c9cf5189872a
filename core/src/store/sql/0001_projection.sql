-- Projection of a logbook, version 1. Everything but the last section can be dropped and made again
-- from the records; the last section is local to this folder and never leaves it.
--
-- Logs carry a small local number (log.n) that depends on the order of arrival. It keeps the
-- clustered keys short and never appears in a dump or an answer.

CREATE TABLE log (
    n  INTEGER PRIMARY KEY,
    id BLOB NOT NULL UNIQUE
) STRICT;

-- The set of records. Clustered on (log, seq, id): an index of hashes would cost 7 to 18 times as
-- much per insert. kind 0 stands for an item of a newer format version.
CREATE TABLE record (
    log  INTEGER NOT NULL,
    seq  INTEGER NOT NULL,
    id   BLOB    NOT NULL,
    kind INTEGER NOT NULL,
    item BLOB    NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

-- Kinds that are folded from their records when asked for, and have no table of their own. A query
-- must repeat the condition word for word for the index to be used.
CREATE INDEX record_by_kind ON record (kind) WHERE kind > 41 AND kind <> 50 AND kind <> 51;

-- One row per record, a function of that record alone ------------------------------------------

-- Records kept without being understood: unknown kinds and bodies in another spelling.
CREATE TABLE not_understood (
    log  INTEGER NOT NULL,
    seq  INTEGER NOT NULL,
    id   BLOB    NOT NULL,
    kind INTEGER NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE log_opened (
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    role    TEXT    NOT NULL,
    label   TEXT    NOT NULL,
    wall_ms INTEGER NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

-- Enrolments (role and name) and revocations (last_seq, or nothing at all).
CREATE TABLE trust_statement (
    log      INTEGER NOT NULL,
    seq      INTEGER NOT NULL,
    id       BLOB    NOT NULL,
    target   INTEGER NOT NULL,
    role     TEXT,
    name     TEXT,
    last_seq INTEGER,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE revision (
    station TEXT    NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    wall_ms INTEGER NOT NULL,
    PRIMARY KEY (station, log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE round (
    log       INTEGER NOT NULL,
    seq       INTEGER NOT NULL,
    id        BLOB    NOT NULL,
    title     TEXT    NOT NULL,
    opened_ms INTEGER NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE round_closed (
    round_log INTEGER NOT NULL,
    round_seq INTEGER NOT NULL,
    round_id  BLOB    NOT NULL,
    log       INTEGER NOT NULL,
    seq       INTEGER NOT NULL,
    id        BLOB    NOT NULL,
    wall_ms   INTEGER NOT NULL,
    PRIMARY KEY (round_log, round_seq, round_id, log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE skipped (
    round_log INTEGER NOT NULL,
    round_seq INTEGER NOT NULL,
    round_id  BLOB    NOT NULL,
    station   TEXT    NOT NULL,
    log       INTEGER NOT NULL,
    seq       INTEGER NOT NULL,
    id        BLOB    NOT NULL,
    reason    TEXT    NOT NULL,
    wall_ms   INTEGER NOT NULL,
    PRIMARY KEY (round_log, round_seq, round_id, station, log, seq, id)
) STRICT, WITHOUT ROWID;

-- Clustered so that a station's history is one run of pages. Values in pascals, digit_* one step of
-- the last digit typed; verdicts by their numbers. A row of a sheet has its digest.
CREATE TABLE reading (
    station       TEXT    NOT NULL,
    taken_ms      INTEGER NOT NULL,
    log           INTEGER NOT NULL,
    seq           INTEGER NOT NULL,
    id            BLOB    NOT NULL,
    round_log     INTEGER,
    round_seq     INTEGER,
    round_id      BLOB,
    inlet_pa      INTEGER,
    interstage_pa INTEGER,
    outlet_pa     INTEGER,
    digit_inlet   INTEGER,
    digit_inter   INTEGER,
    digit_outlet  INTEGER,
    worst         INTEGER,
    row_digest    BLOB,
    nonce         BLOB    NOT NULL,
    PRIMARY KEY (station, taken_ms, log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE INDEX reading_by_round ON reading (round_log, round_seq, round_id, station)
    WHERE round_log IS NOT NULL;

CREATE TABLE correction (
    station TEXT    NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    PRIMARY KEY (station, log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE answer (
    question BLOB    NOT NULL,
    log      INTEGER NOT NULL,
    seq      INTEGER NOT NULL,
    id       BLOB    NOT NULL,
    station  TEXT,
    PRIMARY KEY (question, log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE INDEX answer_by_station ON answer (station) WHERE station IS NOT NULL;

CREATE TABLE acknowledgement (
    target  INTEGER NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    to_seq  INTEGER NOT NULL,
    to_id   BLOB    NOT NULL,
    wall_ms INTEGER NOT NULL,
    PRIMARY KEY (target, log, seq, id)
) STRICT, WITHOUT ROWID;

-- Functions of the whole set -------------------------------------------------------------------

-- Places in a log that hold more than one record: the logbook was copied.
CREATE TABLE fork (
    log INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (log, seq)
) STRICT, WITHOUT ROWID;

-- Logs that count, up to and including seq = reach.
CREATE TABLE trust (
    log        INTEGER PRIMARY KEY,
    role       TEXT    NOT NULL,
    name       TEXT    NOT NULL,
    reach      INTEGER NOT NULL,
    is_revoked INTEGER NOT NULL
) STRICT;

CREATE TABLE station (
    code       TEXT    PRIMARY KEY,
    walk_order INTEGER NOT NULL,
    name       TEXT    NOT NULL,
    level      TEXT    NOT NULL,
    log        INTEGER NOT NULL,
    seq        INTEGER NOT NULL,
    id         BLOB    NOT NULL,
    disputed   INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Readings that stand otherwise than plainly counting. `other` names the record that says why.
CREATE TABLE reading_state (
    log       INTEGER NOT NULL,
    seq       INTEGER NOT NULL,
    id        BLOB    NOT NULL,
    station   TEXT    NOT NULL,
    standing  TEXT    NOT NULL,
    other     TEXT,
    corrected TEXT,
    disputed  INTEGER NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

CREATE INDEX reading_state_by_station ON reading_state (station);

CREATE TABLE question (
    id      BLOB PRIMARY KEY,
    kind    TEXT NOT NULL,
    station TEXT,
    about   TEXT NOT NULL,
    state   TEXT NOT NULL,
    answer  TEXT
) STRICT, WITHOUT ROWID;

CREATE INDEX question_by_station ON question (station);

-- Local to this folder, not part of the projection -----------------------------------------------

-- Stations whose derived rows must be worked out again; empty between actions.
CREATE TABLE dirty (
    station TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;

CREATE TABLE draft (
    name     TEXT PRIMARY KEY,
    saved_ms INTEGER NOT NULL,
    content  TEXT    NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE merge_run (
    n            INTEGER PRIMARY KEY,
    finished_ms  INTEGER NOT NULL,
    bundles      INTEGER NOT NULL,
    new_records  INTEGER NOT NULL,
    new_readings INTEGER NOT NULL
) STRICT;

-- Readings that the newest merge brought.
CREATE TABLE arrived (
    log INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    id  BLOB    NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;
