-- Handlers' objections made at the table, as phones wrote them. The words are personal data:
-- the phone's record holds a commitment, and the words come beside it, before or after.
CREATE TABLE objections (
    body       TEXT    NOT NULL,
    session    BLOB    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    seq        INTEGER NOT NULL,   -- of the event
    at_ms      INTEGER NOT NULL,   -- by the phone's clock
    visit      INTEGER NOT NULL,
    words_id   BLOB    NOT NULL,   -- random, stands for the words in the record
    commitment BLOB    NOT NULL,   -- to them, under the salt
    salt       BLOB,
    words      TEXT,               -- null until they come
    words_ms   INTEGER,            -- when they came, by the office's clock
    PRIMARY KEY (body, session, device_key, journal, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX objections_by_words ON objections (body, device_key, journal, words_id);

-- Keys of signatures that came from the signers' own phones: the journal they are in never
-- made those keys, and whose they are only the office's notices say.
CREATE TABLE signed_elsewhere (
    body       TEXT    NOT NULL,
    session    BLOB    NOT NULL,
    device_key BLOB    NOT NULL,
    journal    BLOB    NOT NULL,
    visit      INTEGER NOT NULL,
    seq        INTEGER NOT NULL,   -- of the event
    person     TEXT    NOT NULL,
    key        BLOB    NOT NULL,
    PRIMARY KEY (body, session, device_key, journal, visit, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX signed_elsewhere_by_key ON signed_elsewhere (body, key);
