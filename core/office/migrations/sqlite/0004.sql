-- Checks of hoops, and records of practice that a trainer signed.

-- Only ever added.
CREATE TABLE hoop_checks (
    body     TEXT    NOT NULL,
    hoop     TEXT    NOT NULL,  -- id in the roster
    nth      INTEGER NOT NULL,  -- 1, 2, ... of this hoop
    noted_ms INTEGER NOT NULL,  -- by the office's clock
    account  TEXT    NOT NULL,
    name     TEXT    NOT NULL,  -- as it was then
    checked  TEXT    NOT NULL,  -- the check, as JSON
    PRIMARY KEY (body, hoop, nth)
) STRICT, WITHOUT ROWID;

-- As phones brought them; the signature was checked with the trainer's key in that journal.
CREATE TABLE practice (
    body      TEXT    NOT NULL,
    trainee   TEXT    NOT NULL,  -- id in the roster
    id        BLOB    NOT NULL,  -- SHA-256 of the record
    trainer   TEXT    NOT NULL,  -- id in the roster
    day       TEXT    NOT NULL,  -- YYYY-MM-DD
    signed_ms INTEGER NOT NULL,  -- by the phone's clock
    record    BLOB    NOT NULL,  -- as it was signed
    signature BLOB    NOT NULL,
    PRIMARY KEY (body, trainee, id)
) STRICT, WITHOUT ROWID;
