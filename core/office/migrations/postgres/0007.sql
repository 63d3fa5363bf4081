-- Handlers' objections made at the table, as phones wrote them. The words are personal data:
-- the phone's record holds a commitment, and the words come beside it, before or after.
CREATE TABLE objections (
    body       TEXT    NOT NULL,
    session    BYTEA   NOT NULL,
    device_key BYTEA   NOT NULL,
    journal    BYTEA   NOT NULL,
    seq        BIGINT  NOT NULL,   -- of the event
    at_ms      BIGINT  NOT NULL,   -- by the phone's clock
    visit      BIGINT  NOT NULL,
    words_id   BYTEA   NOT NULL,   -- random, stands for the words in the record
    commitment BYTEA   NOT NULL,   -- to them, under the salt
    salt       BYTEA,
    words      TEXT,               -- null until they come
    words_ms   BIGINT,            -- when they came, by the office's clock
    PRIMARY KEY (body, session, device_key, journal, seq)
);

CREATE INDEX objections_by_words ON objections (body, device_key, journal, words_id);

-- Keys of signatures that came from the signers' own phones: the journal they are in never
-- made those keys, and whose they are only the office's notices say.
CREATE TABLE signed_elsewhere (
    body       TEXT    NOT NULL,
    session    BYTEA   NOT NULL,
    device_key BYTEA   NOT NULL,
    journal    BYTEA   NOT NULL,
    visit      BIGINT  NOT NULL,
    seq        BIGINT  NOT NULL,   -- of the event
    person     TEXT    NOT NULL,
    key        BYTEA   NOT NULL,
    PRIMARY KEY (body, session, device_key, journal, visit, seq)
);

CREATE INDEX signed_elsewhere_by_key ON signed_elsewhere (body, key);
