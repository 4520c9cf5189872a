-- Procedures. Run at every start: a database of before has no such records and no such table.

-- One row per record about a procedure, a function of that record alone: what happened where. What
-- it comes to is folded from the records themselves.
CREATE TABLE IF NOT EXISTS procedure_record (
    station TEXT    NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    PRIMARY KEY (station, log, seq, id)
) STRICT, WITHOUT ROWID;
