-- What needs a decision, who may decide, and what was decided.

-- Points to look at, as JSON; `weight` is that of the heaviest one still open, 0 for none.
ALTER TABLE visits ADD COLUMN points TEXT NOT NULL DEFAULT '[]';
ALTER TABLE visits ADD COLUMN weight INTEGER NOT NULL DEFAULT 0;
CREATE INDEX visits_open ON visits (body, weight DESC, day, stated_ms) WHERE weight > 0;
CREATE INDEX visits_by_head ON visits (body, head);

-- Which edition of the rules for points the rows were last worked out by.
CREATE TABLE derived (
    body    TEXT    NOT NULL PRIMARY KEY,
    edition INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Decisions are only ever added. The newest of a subject is the one in force.
CREATE TABLE decisions (
    body       TEXT    NOT NULL,
    subject    BLOB    NOT NULL,    -- the head of a statement, or the id of a frame set aside
    nth        INTEGER NOT NULL,    -- 1, 2, … of this subject
    decided_ms INTEGER NOT NULL,    -- by the office's clock
    account    TEXT    NOT NULL,
    name       TEXT    NOT NULL,    -- as it was then
    verdict    TEXT    NOT NULL,
    reason     TEXT    NOT NULL,
    covers     TEXT    NOT NULL,    -- the points it decides, as JSON
    PRIMARY KEY (body, subject, nth)
) STRICT, WITHOUT ROWID;

-- People who work at the office.
CREATE TABLE accounts (
    body     TEXT    NOT NULL,
    account  TEXT    NOT NULL,      -- what they sign in with
    name     TEXT    NOT NULL,
    role     TEXT    NOT NULL,
    password TEXT    NOT NULL,      -- argon2id, PHC string
    active   INTEGER NOT NULL,
    misses   INTEGER NOT NULL,      -- wrong passwords in a row
    missed_ms INTEGER NOT NULL,     -- when the last one was
    PRIMARY KEY (body, account)
) STRICT, WITHOUT ROWID;

-- Who is signed in. Only hashes of the cookies' values are kept.
CREATE TABLE logins (
    body     TEXT    NOT NULL,
    token    BLOB    NOT NULL,
    account  TEXT    NOT NULL,
    until_ms INTEGER NOT NULL,
    PRIMARY KEY (body, token)
) STRICT, WITHOUT ROWID;
