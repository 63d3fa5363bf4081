-- The office's first tables. `body` (the league's id) leads every key: it is what a
-- large office would spread its data by. Times are Unix milliseconds, days are days
-- since 1970-01-01, lengths are micrometres.

-- What phones sent, as they sent it. Never edited but for `state` and `reason`.
CREATE TABLE frames (
    body        TEXT    NOT NULL,
    id          BLOB    NOT NULL,   -- SHA-256 under its own domain
    device_key  BLOB    NOT NULL,
    journal     BLOB    NOT NULL,
    from_seq    INTEGER NOT NULL,
    to_seq      INTEGER NOT NULL,
    state       INTEGER NOT NULL,   -- 1 in the record, 2 waiting for earlier ones, 3 set aside
    reason      TEXT    NOT NULL,   -- why it was set aside; else empty
    received_ms INTEGER NOT NULL,
    bytes       BLOB    NOT NULL,
    PRIMARY KEY (body, id)
) STRICT, WITHOUT ROWID;

CREATE INDEX frames_by_journal ON frames (body, device_key, journal, state, from_seq);
CREATE INDEX frames_set_aside ON frames (body, state, received_ms);

-- How far each device's journal has come.
CREATE TABLE journals (
    body       TEXT    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    head_seq   INTEGER NOT NULL,    -- 0: nothing yet
    head_hash  BLOB    NOT NULL,
    league     TEXT    NOT NULL,    -- of the roster in use at the head
    session    BLOB,                -- under way at the head
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
    PRIMARY KEY (body, session, device_key, journal)
) STRICT, WITHOUT ROWID;

CREATE INDEX sessions_by_day ON sessions (body, day DESC, session);

-- What was stated of each dog, newest statement of the visit.
CREATE TABLE visits (
    body        TEXT    NOT NULL,
    session     BLOB    NOT NULL,
    device_key  BLOB    NOT NULL,
    journal     BLOB    NOT NULL,
    visit       INTEGER NOT NULL,
    head        BLOB    NOT NULL,   -- the chain's head that is signed
    stated_ms   INTEGER NOT NULL,
    day         INTEGER NOT NULL,
    dog         TEXT    NOT NULL,
    chip        TEXT    NOT NULL,
    measure     INTEGER NOT NULL,
    measurers   INTEGER NOT NULL,   -- how many have to sign
    demo        INTEGER NOT NULL,
    statement   BLOB    NOT NULL,   -- as it was signed
    PRIMARY KEY (body, session, device_key, journal, visit)
) STRICT, WITHOUT ROWID;

CREATE INDEX visits_by_chip ON visits (body, chip, day);

-- Who signed which statement; every signature here has been checked.
CREATE TABLE signatures (
    body       TEXT    NOT NULL,
    session    BLOB    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    visit      INTEGER NOT NULL,
    person     TEXT    NOT NULL,
    number     TEXT    NOT NULL,
    seq        INTEGER NOT NULL,    -- of the event: the order of signing
    signed_ms  INTEGER NOT NULL,
    signature  BLOB    NOT NULL,
    PRIMARY KEY (body, session, device_key, journal, visit, person)
) STRICT, WITHOUT ROWID;
