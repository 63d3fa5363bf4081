-- Search by name, who looked at what, appeals, and finding a measure's frame.

-- The dog's name as it is searched for: in small letters.
ALTER TABLE visits ADD COLUMN dog_key TEXT COLLATE "C" NOT NULL DEFAULT '';
UPDATE visits SET dog_key = lower(dog);
CREATE INDEX visits_by_dog ON visits (body, dog_key, day);

CREATE INDEX frames_by_journal ON frames (body, device_key, journal, from_seq);

-- Who looked at what. Only ever added.
CREATE TABLE looked (
    body    TEXT    NOT NULL,
    at_ms   BIGINT NOT NULL,   -- by the office's clock
    nth     BIGINT NOT NULL,   -- of that millisecond
    account TEXT    NOT NULL,
    what    TEXT    NOT NULL,   -- dog, measure, session, search, bundle, ...
    which   TEXT    NOT NULL,   -- a chip, a head, a session's id, or what was searched for
    PRIMARY KEY (body, at_ms, nth)
);

-- Objections and appeals about a measure, step by step. Only ever added.
CREATE TABLE appeals (
    body       TEXT    NOT NULL,
    subject    BYTEA    NOT NULL,  -- the head of the measure's statement
    nth        BIGINT NOT NULL,  -- 1, 2, ... of this subject
    noted_ms   BIGINT NOT NULL,  -- by the office's clock
    account    TEXT    NOT NULL,
    name       TEXT    NOT NULL,  -- as it was then
    kind       TEXT    NOT NULL,  -- objection, appeal, decided
    raised_day BIGINT NOT NULL,  -- when it was raised, or heard; days since 1970-01-01
    words      TEXT    NOT NULL,  -- in the handler's words
    interim    TEXT    NOT NULL,  -- category meanwhile; may be empty
    measurers  TEXT    NOT NULL,  -- uninvolved ones who measured again; may be empty
    outcome    TEXT    NOT NULL,  -- once decided: upheld, dismissed, withdrawn
    reason     TEXT    NOT NULL,
    PRIMARY KEY (body, subject, nth)
);
