-- What judging a station's readings needs and keeps. Run at every start: a database of before has
-- no such records and no such tables.

-- One row per record, a function of that record alone.
CREATE TABLE IF NOT EXISTS check_answered (
    station TEXT    NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    PRIMARY KEY (station, log, seq, id)
) STRICT, WITHOUT ROWID;

-- How far each station was judged: a cache of what its events come to, in bytes of the rules'
-- version. Local, and never in a dump; it can be emptied at any time.
CREATE TABLE IF NOT EXISTS judged (
    station TEXT    PRIMARY KEY,
    -- How many events went in, in their order, how many notes they left, and the definition that
    -- the newest reading was watched under.
    events  INTEGER NOT NULL,
    notes   INTEGER NOT NULL,
    under   TEXT,
    -- The digest of the events' names.
    digest  BLOB    NOT NULL,
    state   BLOB    NOT NULL,
    -- A short digest of the state: one flipped bit of it would judge wrongly and in silence.
    checked INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Stations whose kept judgement is behind: a long merge was stopped before it got to them. Local.
CREATE TABLE IF NOT EXISTS judge_due (
    station TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;

-- What the events told on the way: flags and baseline starts, in order.
CREATE TABLE IF NOT EXISTS judged_note (
    station TEXT    NOT NULL,
    n       INTEGER NOT NULL,
    note    BLOB    NOT NULL,
    PRIMARY KEY (station, n)
) STRICT, WITHOUT ROWID;

-- Jobs closed: one row per record.
CREATE TABLE IF NOT EXISTS job_closed (
    station TEXT    NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    PRIMARY KEY (station, log, seq, id)
) STRICT, WITHOUT ROWID;
