-- Rule packs that were published, each from a day on. Only ever added.
CREATE TABLE packs (
    body         TEXT    NOT NULL,
    nth          INTEGER NOT NULL,  -- 1, 2, ... of this body
    from_day     INTEGER NOT NULL,  -- in force from then on, days since 1970-01-01
    text         TEXT    NOT NULL,  -- as its author wrote it
    published_ms INTEGER NOT NULL,  -- by the office's clock
    account      TEXT    NOT NULL,
    name         TEXT    NOT NULL,  -- as it was then
    PRIMARY KEY (body, nth)
) STRICT, WITHOUT ROWID;
