-- Pictures. Run at every start: a database of before has no such records and no such tables.

-- One row per picture, a function of its record alone.
CREATE TABLE IF NOT EXISTS attachment (
    station TEXT    NOT NULL,
    log     INTEGER NOT NULL,
    seq     INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    PRIMARY KEY (station, log, seq, id)
) STRICT, WITHOUT ROWID;

-- Where the pieces of pictures are, by the hash of their bytes: one row per record. Pieces are few
-- beside readings, so that a key in no order costs nothing here.
CREATE TABLE IF NOT EXISTS attachment_chunk (
    sha256 BLOB    NOT NULL,
    log    INTEGER NOT NULL,
    seq    INTEGER NOT NULL,
    id     BLOB    NOT NULL,
    PRIMARY KEY (sha256, log, seq, id)
) STRICT, WITHOUT ROWID;
