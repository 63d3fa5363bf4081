-- The signed log: a Merkle tree (RFC 9162 §2.1) over the frames in the record.

-- The frame's place in the log, from 0; NULL until it is in it.
ALTER TABLE frames ADD COLUMN log_index INTEGER;
CREATE INDEX frames_to_log ON frames (body, received_ms, id)
    WHERE state = 1 AND log_index IS NULL;
CREATE INDEX frames_by_id ON frames (body, id);

-- How many frames are in the log.
CREATE TABLE log_size (
    body TEXT    NOT NULL PRIMARY KEY,
    size INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Roots of its whole subtrees: level 0 are the leaves, one of level n spans 2^n of them.
CREATE TABLE log_nodes (
    body  TEXT    NOT NULL,
    level INTEGER NOT NULL,
    nth   INTEGER NOT NULL,
    hash  BLOB    NOT NULL,
    PRIMARY KEY (body, level, nth)
) STRICT, WITHOUT ROWID;
