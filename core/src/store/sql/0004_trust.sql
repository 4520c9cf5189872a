-- Logs that go on in others, and clocks. Run at every start: a database of before has no such records
-- and no such tables.

-- First records of logs that go on where another ended: one row per record.
CREATE TABLE IF NOT EXISTS log_continued (
    log        INTEGER NOT NULL,
    seq        INTEGER NOT NULL,
    id         BLOB    NOT NULL,
    former_log INTEGER NOT NULL,
    former_seq INTEGER NOT NULL,
    former_id  BLOB    NOT NULL,
    why        TEXT    NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

-- Offices that go on under another key: one row per record.
CREATE TABLE IF NOT EXISTS office_replaced (
    log      INTEGER NOT NULL,
    seq      INTEGER NOT NULL,
    id       BLOB    NOT NULL,
    target   INTEGER NOT NULL,
    last_seq INTEGER NOT NULL,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;

-- The logs that the own log went on from, the newest with the smallest place, and the last record of
-- each that was here. Follows from log_continued and from whose logbook this is.
CREATE TABLE IF NOT EXISTS own_former (
    log      INTEGER PRIMARY KEY,
    place    INTEGER NOT NULL,
    last_seq INTEGER NOT NULL
) STRICT;

-- What devices' clocks showed beside an office's: one row per record.
CREATE TABLE IF NOT EXISTS clock_observed (
    target       INTEGER NOT NULL,
    log          INTEGER NOT NULL,
    seq          INTEGER NOT NULL,
    id           BLOB    NOT NULL,
    boot         BLOB    NOT NULL,
    monotonic_ms INTEGER NOT NULL,
    office_ms    INTEGER NOT NULL,
    side         TEXT    NOT NULL,
    PRIMARY KEY (target, log, seq, id)
) STRICT, WITHOUT ROWID;

-- Records that were made at another time than their wall clock showed. Follows from the records of a
-- log and from what was observed of its clock. A reading's own row has the time worked out.
CREATE TABLE IF NOT EXISTS corrected_time (
    log          INTEGER NOT NULL,
    seq          INTEGER NOT NULL,
    id           BLOB    NOT NULL,
    shown_ms     INTEGER NOT NULL,
    corrected_ms INTEGER NOT NULL,
    low_ms       INTEGER,
    high_ms      INTEGER,
    PRIMARY KEY (log, seq, id)
) STRICT, WITHOUT ROWID;
