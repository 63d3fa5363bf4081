-- Rule packs that were published, each from a day on. Only ever added.
CREATE TABLE packs (
    body         TEXT   NOT NULL,
    nth          BIGINT NOT NULL,  -- 1, 2, ... of this body
    from_day     BIGINT NOT NULL,  -- in force from then on, days since 1970-01-01
    text         TEXT   NOT NULL,  -- as its author wrote it
    published_ms BIGINT NOT NULL,  -- by the office's clock
    account      TEXT   NOT NULL,
    name         TEXT   NOT NULL,  -- as it was then
    PRIMARY KEY (body, nth)
);
