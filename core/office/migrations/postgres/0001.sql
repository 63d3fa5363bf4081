-- The office's tables on PostgreSQL. `migrations/sqlite` has the same tables, and every
-- statement of the program runs on both. What grows with the measures is partitioned by
-- body and then by year; the program makes the partitions.
--
-- `body` (the league's id) leads every key: it is what a large office spreads its data
-- by, and no statement joins two bodies. `year` comes second where a table grows with
-- the measures. Times are Unix milliseconds, days are days since 1970-01-01.

-- What phones sent, as they sent it. Never edited but for `state` and `reason`.
CREATE TABLE frames (
    body        TEXT    NOT NULL,
    year        BIGINT  NOT NULL,   -- of its last event, by the phone's clock
    id          BYTEA   NOT NULL,   -- SHA-256 under its own domain
    device_key  BYTEA   NOT NULL,
    journal     BYTEA   NOT NULL,
    from_seq    BIGINT  NOT NULL,
    to_seq      BIGINT  NOT NULL,
    state       BIGINT  NOT NULL,   -- 1 in the record, 2 waiting for earlier ones, 3 set aside
    reason      TEXT    NOT NULL,   -- why it was set aside; else empty
    received_ms BIGINT  NOT NULL,
    bytes       BYTEA   NOT NULL,
    PRIMARY KEY (body, year, id)
) PARTITION BY LIST (body);

-- Few frames wait or are set aside; those in the record are found by their id alone.
CREATE INDEX frames_apart ON frames (body, state, device_key, journal, from_seq)
    WHERE state <> 1;

-- How far each device's journal has come.
CREATE TABLE journals (
    body         TEXT    NOT NULL,
    device_key   BYTEA   NOT NULL,
    journal      BYTEA   NOT NULL,
    head_seq     BIGINT  NOT NULL,  -- 0: nothing yet
    head_hash    BYTEA   NOT NULL,
    league       TEXT    NOT NULL,  -- of the roster in use at the head
    session      BYTEA,              -- under way at the head
    session_year BIGINT  NOT NULL,  -- of that session's day; 0 without one
    PRIMARY KEY (body, device_key, journal)
);

-- Measurers' keys and numbers, as a journal introduced them.
CREATE TABLE people (
    body       TEXT    NOT NULL,
    device_key BYTEA   NOT NULL,
    journal    BYTEA   NOT NULL,
    person     TEXT    NOT NULL,
    number     TEXT    NOT NULL,
    key        BYTEA,
    PRIMARY KEY (body, device_key, journal, person)
);

-- A session as one device wrote it.
CREATE TABLE sessions (
    body       TEXT    NOT NULL,
    year       BIGINT  NOT NULL,    -- of its day
    session    BYTEA   NOT NULL,
    device_key BYTEA   NOT NULL,
    journal    BYTEA   NOT NULL,
    league     TEXT    NOT NULL,
    day        BIGINT  NOT NULL,
    offset_min BIGINT  NOT NULL,
    venue      TEXT    NOT NULL,
    begun_ms   BIGINT  NOT NULL,    -- by the phone's clock
    closed_ms  BIGINT,
    not_seen   BIGINT,             -- how many expected dogs did not come
    PRIMARY KEY (body, year, session, device_key, journal)
) PARTITION BY LIST (body);

CREATE INDEX sessions_by_day ON sessions (body, day, begun_ms, session);
CREATE INDEX sessions_by_id ON sessions (body, session);

-- What was stated of each dog, newest statement of the visit.
CREATE TABLE visits (
    body        TEXT    NOT NULL,
    year        BIGINT  NOT NULL,   -- of its session
    session     BYTEA   NOT NULL,
    device_key  BYTEA   NOT NULL,
    journal     BYTEA   NOT NULL,
    visit       BIGINT  NOT NULL,
    head        BYTEA   NOT NULL,   -- the chain's head that is signed
    stated_ms   BIGINT  NOT NULL,
    day         BIGINT  NOT NULL,
    dog         TEXT    NOT NULL,
    chip        TEXT    COLLATE "C" NOT NULL,
    measurers   BIGINT  NOT NULL,   -- how many have to sign
    statement   BYTEA   NOT NULL,   -- as it was signed
    points      TEXT    NOT NULL,   -- what there is to look at, as JSON
    weight      BIGINT  NOT NULL,   -- of the heaviest point that is not decided; 0: none
    PRIMARY KEY (body, year, session, device_key, journal, visit)
) PARTITION BY LIST (body);

CREATE INDEX visits_by_chip ON visits (body, chip, day);
CREATE INDEX visits_by_head ON visits (body, head);
CREATE INDEX visits_by_session ON visits (body, session);
CREATE INDEX visits_open ON visits (body, weight, day, stated_ms) WHERE weight > 0;

-- Who signed which statement; every signature here has been checked.
CREATE TABLE signatures (
    body       TEXT    NOT NULL,
    year       BIGINT  NOT NULL,    -- of its session
    session    BYTEA   NOT NULL,
    device_key BYTEA   NOT NULL,
    journal    BYTEA   NOT NULL,
    visit      BIGINT  NOT NULL,
    person     TEXT    NOT NULL,
    number     TEXT    NOT NULL,
    seq        BIGINT  NOT NULL,    -- of the event: the order of signing
    signed_ms  BIGINT  NOT NULL,
    signature  BYTEA   NOT NULL,
    PRIMARY KEY (body, year, session, device_key, journal, visit, person)
) PARTITION BY LIST (body);

-- Which edition of the rules for points the rows were last worked out by.
CREATE TABLE derived (
    body    TEXT    NOT NULL PRIMARY KEY,
    edition BIGINT  NOT NULL
);

-- Decisions are only ever added. The newest of a subject is the one in force.
CREATE TABLE decisions (
    body       TEXT    NOT NULL,
    subject    BYTEA   NOT NULL,    -- the head of a statement, or the id of a frame set aside
    nth        BIGINT  NOT NULL,    -- 1, 2, … of this subject
    decided_ms BIGINT  NOT NULL,    -- by the office's clock
    account    TEXT    NOT NULL,
    name       TEXT    NOT NULL,    -- as it was then
    verdict    TEXT    NOT NULL,
    reason     TEXT    NOT NULL,
    covers     TEXT    NOT NULL,    -- the points it decides, as JSON
    PRIMARY KEY (body, subject, nth)
);

-- People who work at the office.
CREATE TABLE accounts (
    body      TEXT    NOT NULL,
    account   TEXT    NOT NULL,     -- what they sign in with
    name      TEXT    NOT NULL,
    role      TEXT    NOT NULL,
    password  TEXT    NOT NULL,     -- argon2id, PHC string
    active    BIGINT  NOT NULL,
    misses    BIGINT  NOT NULL,     -- wrong passwords in a row
    missed_ms BIGINT  NOT NULL,     -- when the last one was
    PRIMARY KEY (body, account)
);

-- Who is signed in. Only hashes of the cookies' values are kept.
CREATE TABLE logins (
    body     TEXT    NOT NULL,
    token    BYTEA   NOT NULL,
    account  TEXT    NOT NULL,
    until_ms BIGINT  NOT NULL,
    PRIMARY KEY (body, token)
);
