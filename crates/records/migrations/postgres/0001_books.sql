-- A book, and every text it has had. A revision is never changed.
-- COLLATE "C": names come in the order that SQLite gives them.
CREATE TABLE book (
    slug     TEXT COLLATE "C" PRIMARY KEY,
    name     TEXT COLLATE "C" NOT NULL,
    revision BIGINT NOT NULL
);

CREATE TABLE revision (
    slug   TEXT COLLATE "C" NOT NULL REFERENCES book (slug),
    number BIGINT NOT NULL,
    -- What undo goes back to, and what can be done again.
    before BIGINT,
    again  BIGINT,
    at     BIGINT NOT NULL,
    who    TEXT NOT NULL,
    why    TEXT NOT NULL,
    words  TEXT NOT NULL,
    -- To the byte: TEXT takes no byte of zero here.
    text   BYTEA NOT NULL,
    PRIMARY KEY (slug, number)
);
