-- Keys that the office speaks of, enrolled phones, editions of the roster, and what
-- happened at a session.

-- Notices of keys, as they were signed. Only ever added.
CREATE TABLE key_notices (
    body    TEXT    NOT NULL,
    nth     BIGINT  NOT NULL,  -- 1, 2, ... of this body
    key     BYTEA   NOT NULL,  -- a measurer's or a phone's public key
    person  TEXT    NOT NULL,  -- whose: id in the roster; empty for a phone of several
    notice  TEXT    NOT NULL,  -- as it goes to phones
    edition BIGINT  NOT NULL,  -- of the roster, that brings it
    said_ms BIGINT  NOT NULL,  -- by the office's clock
    account TEXT    NOT NULL,
    name    TEXT    NOT NULL,  -- as it was then
    reason  TEXT    NOT NULL,
    PRIMARY KEY (body, nth)
);
CREATE INDEX key_notices_by_key ON key_notices (body, key);
CREATE INDEX people_by_key ON people (body, key);
CREATE INDEX people_by_person ON people (body, person);

-- Phones that were enrolled by a one-time code.
CREATE TABLE phones (
    body        TEXT    NOT NULL,
    device_key  BYTEA   NOT NULL,
    person      TEXT    NOT NULL,  -- whose: id in the roster; empty: several use it
    label       TEXT    NOT NULL,  -- what the secretary calls it
    enrolled_ms BIGINT  NOT NULL,  -- by the office's clock
    account     TEXT    NOT NULL,  -- who made its code
    name        TEXT    NOT NULL,  -- as it was then
    PRIMARY KEY (body, device_key)
);

-- One-time codes. Only hashes of the secrets are kept.
CREATE TABLE enrol_codes (
    body       TEXT    NOT NULL,
    hash       BYTEA   NOT NULL,
    person     TEXT    NOT NULL,
    label      TEXT    NOT NULL,
    made_ms    BIGINT  NOT NULL,
    until_ms   BIGINT  NOT NULL,
    account    TEXT    NOT NULL,
    name       TEXT    NOT NULL,
    device_key BYTEA,              -- the phone that used it
    PRIMARY KEY (body, hash)
);

-- Wrong codes, minute by minute.
CREATE TABLE enrol_misses (
    body   TEXT    NOT NULL,
    minute BIGINT  NOT NULL,
    misses BIGINT  NOT NULL,
    PRIMARY KEY (body, minute)
);

-- Editions of the roster that phones may have.
CREATE TABLE editions (
    body    TEXT    NOT NULL,
    number  BIGINT  NOT NULL,
    digest  BYTEA   NOT NULL,      -- SHA-256 of the text
    roster  BYTEA   NOT NULL,      -- the text, one zstd frame
    made_ms BIGINT  NOT NULL,
    PRIMARY KEY (body, number)
);

-- Bites and falls at a session, as a phone wrote them.
CREATE TABLE incidents (
    body       TEXT    NOT NULL,
    session    BYTEA   NOT NULL,
    device_key BYTEA   NOT NULL,
    journal    BYTEA   NOT NULL,
    seq        BIGINT  NOT NULL,   -- of the event
    at_ms      BIGINT  NOT NULL,   -- by the phone's clock
    visit      BIGINT  NOT NULL,   -- the dog at the table; 0: between two dogs
    what       TEXT    NOT NULL,   -- bite, fall
    whom       TEXT    NOT NULL,   -- measurer, handler, dog, other
    words      TEXT    NOT NULL,
    PRIMARY KEY (body, session, device_key, journal, seq)
);
