-- Keys that the office speaks of, enrolled phones, editions of the roster, and what
-- happened at a session.

-- Notices of keys, as they were signed. Only ever added.
CREATE TABLE key_notices (
    body    TEXT    NOT NULL,
    nth     INTEGER NOT NULL,  -- 1, 2, ... of this body
    key     BLOB    NOT NULL,  -- a measurer's or a phone's public key
    person  TEXT    NOT NULL,  -- whose: id in the roster; empty for a phone of several
    notice  TEXT    NOT NULL,  -- as it goes to phones
    edition INTEGER NOT NULL,  -- of the roster, that brings it
    said_ms INTEGER NOT NULL,  -- by the office's clock
    account TEXT    NOT NULL,
    name    TEXT    NOT NULL,  -- as it was then
    reason  TEXT    NOT NULL,
    PRIMARY KEY (body, nth)
) STRICT, WITHOUT ROWID;
CREATE INDEX key_notices_by_key ON key_notices (body, key);
CREATE INDEX people_by_key ON people (body, key);
CREATE INDEX people_by_person ON people (body, person);

-- Phones that were enrolled by a one-time code.
CREATE TABLE phones (
    body        TEXT    NOT NULL,
    device_key  BLOB    NOT NULL,
    person      TEXT    NOT NULL,  -- whose: id in the roster; empty: several use it
    label       TEXT    NOT NULL,  -- what the secretary calls it
    enrolled_ms INTEGER NOT NULL,  -- by the office's clock
    account     TEXT    NOT NULL,  -- who made its code
    name        TEXT    NOT NULL,  -- as it was then
    PRIMARY KEY (body, device_key)
) STRICT, WITHOUT ROWID;

-- One-time codes. Only hashes of the secrets are kept.
CREATE TABLE enrol_codes (
    body       TEXT    NOT NULL,
    hash       BLOB    NOT NULL,
    person     TEXT    NOT NULL,
    label      TEXT    NOT NULL,
    made_ms    INTEGER NOT NULL,
    until_ms   INTEGER NOT NULL,
    account    TEXT    NOT NULL,
    name       TEXT    NOT NULL,
    device_key BLOB,               -- the phone that used it
    PRIMARY KEY (body, hash)
) STRICT, WITHOUT ROWID;

-- Wrong codes, minute by minute.
CREATE TABLE enrol_misses (
    body   TEXT    NOT NULL,
    minute INTEGER NOT NULL,
    misses INTEGER NOT NULL,
    PRIMARY KEY (body, minute)
) STRICT, WITHOUT ROWID;

-- Editions of the roster that phones may have.
CREATE TABLE editions (
    body    TEXT    NOT NULL,
    number  INTEGER NOT NULL,
    digest  BLOB    NOT NULL,      -- SHA-256 of the text
    roster  BLOB    NOT NULL,      -- the text, one zstd frame
    made_ms INTEGER NOT NULL,
    PRIMARY KEY (body, number)
) STRICT, WITHOUT ROWID;

-- Bites and falls at a session, as a phone wrote them.
CREATE TABLE incidents (
    body       TEXT    NOT NULL,
    session    BLOB    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    seq        INTEGER NOT NULL,   -- of the event
    at_ms      INTEGER NOT NULL,   -- by the phone's clock
    visit      INTEGER NOT NULL,   -- the dog at the table; 0: between two dogs
    what       TEXT    NOT NULL,   -- bite, fall
    whom       TEXT    NOT NULL,   -- measurer, handler, dog, other
    words      TEXT    NOT NULL,
    PRIMARY KEY (body, session, device_key, journal, seq)
) STRICT, WITHOUT ROWID;
