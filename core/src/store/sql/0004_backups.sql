-- Acknowledgements of the second level: in a verified backup of an office. Run at every start: a
-- database of before has no such records and no such table.
CREATE TABLE IF NOT EXISTS backed_up (
    target  INTEGER NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    to_seq  INTEGER NOT NULL,
    to_id   BLOB    NOT NULL,
    wall_ms INTEGER NOT NULL,
    PRIMARY KEY (target, log, seq, id)
) STRICT, WITHOUT ROWID;
