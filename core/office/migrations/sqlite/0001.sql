-- The office's tables on SQLite. `migrations/postgres` has the same tables, and every
-- statement of the program runs on both.
--
-- `body` (the league's id) leads every key: it is what a large office spreads its data
-- by, and no statement joins two bodies. `year` comes second where a table grows with
-- the measures. Times are Unix milliseconds, days are days since 1970-01-01.

-- What phones sent, as they sent it. Never edited but for `state` and `reason`.
CREATE TABLE frames (
    body        TEXT    NOT NULL,
    year        INTEGER NOT NULL,   -- of its last event, by the phone's clock
    id          BLOB    NOT NULL,   -- SHA-256 under its own domain
    device_key  BLOB    NOT NULL,
    journal     BLOB    NOT NULL,
    from_seq    INTEGER NOT NULL,
    to_seq      INTEGER NOT NULL,
    state       INTEGER NOT NULL,   -- 1 in the record, 2 waiting for earlier ones, 3 set aside
    reason      TEXT    NOT NULL,   -- why it was set aside; else empty
    received_ms INTEGER NOT NULL,
    bytes       BLOB    NOT NULL,
    PRIMARY KEY (body, year, id)
) STRICT, WITHOUT ROWID;

-- Few frames wait or are set aside; those in the record are found by their id alone.
CREATE INDEX frames_apart ON frames (body, state, device_key, journal, from_seq)
    WHERE state <> 1;

-- How far each device's journal has come.
CREATE TABLE journals (
    body         TEXT    NOT NULL,
    device_key   BLOB    NOT NULL,
    journal      BLOB    NOT NULL,
    head_seq     INTEGER NOT NULL,  -- 0: nothing yet
    head_hash    BLOB    NOT NULL,
    league       TEXT    NOT NULL,  -- of the roster in use at the head
    session      BLOB,              -- under way at the head
    session_year INTEGER NOT NULL,  -- of that session's day; 0 without one
    PRIMARY KEY (body, device_key, journal)
) STRICT, WITHOUT ROWID;

-- Measurers' keys and numbers, as a journal introduced them.
CREATE TABLE people (
    body       TEXT    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    person     TEXT    NOT NULL,
    number     TEXT    NOT NULL,
    key        BLOB,
    PRIMARY KEY (body, device_key, journal, person)
) STRICT, WITHOUT ROWID;

-- A session as one device wrote it.
CREATE TABLE sessions (
    body       TEXT    NOT NULL,
    year       INTEGER NOT NULL,    -- of its day
    session    BLOB    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    league     TEXT    NOT NULL,
    day        INTEGER NOT NULL,
    offset_min INTEGER NOT NULL,
    venue      TEXT    NOT NULL,
    begun_ms   INTEGER NOT NULL,    -- by the phone's clock
    closed_ms  INTEGER,
    not_seen   INTEGER,             -- how many expected dogs did not come
    PRIMARY KEY (body, year, session, device_key, journal)
) STRICT, WITHOUT ROWID;

CREATE INDEX sessions_by_day ON sessions (body, day, begun_ms, session);
CREATE INDEX sessions_by_id ON sessions (body, session);

-- What was stated of each dog, newest statement of the visit.
CREATE TABLE visits (
    body        TEXT    NOT NULL,
    year        INTEGER NOT NULL,   -- of its session
    session     BLOB    NOT NULL,
    device_key  BLOB    NOT NULL,
    journal     BLOB    NOT NULL,
    visit       INTEGER NOT NULL,
    head        BLOB    NOT NULL,   -- the chain's head that is signed
    stated_ms   INTEGER NOT NULL,
    day         INTEGER NOT NULL,
    dog         TEXT    NOT NULL,
    chip        TEXT    NOT NULL,
    measurers   INTEGER NOT NULL,   -- how many have to sign
    statement   BLOB    NOT NULL,   -- as it was signed
    points      TEXT    NOT NULL,   -- what there is to look at, as JSON
    weight      INTEGER NOT NULL,   -- of the heaviest point that is not decided; 0: none
    PRIMARY KEY (body, year, session, device_key, journal, visit)
) STRICT, WITHOUT ROWID;

CREATE INDEX visits_by_chip ON visits (body, chip, day);
CREATE INDEX visits_by_head ON visits (body, head);
CREATE INDEX visits_by_session ON visits (body, session);
CREATE INDEX visits_open ON visits (body, weight, day, stated_ms) WHERE weight > 0;

-- Who signed which statement; every signature here has been checked.
CREATE TABLE signatures (
    body       TEXT    NOT NULL,
    year       INTEGER NOT NULL,    -- of its session
    session    BLOB    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    visit      INTEGER NOT NULL,
    person     TEXT    NOT NULL,
    number     TEXT    NOT NULL,
    seq        INTEGER NOT NULL,    -- of the event: the order of signing
    signed_ms  INTEGER NOT NULL,
    signature  BLOB    NOT NULL,
    PRIMARY KEY (body, year, session, device_key, journal, visit, person)
) STRICT, WITHOUT ROWID;

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
    body      TEXT    NOT NULL,
    account   TEXT    NOT NULL,     -- what they sign in with
    name      TEXT    NOT NULL,
    role      TEXT    NOT NULL,
    password  TEXT    NOT NULL,     -- argon2id, PHC string
    active    INTEGER NOT NULL,
    misses    INTEGER NOT NULL,     -- wrong passwords in a row
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
