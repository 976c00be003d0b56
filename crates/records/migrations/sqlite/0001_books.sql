-- A book, and every text it has had. A revision is never changed.
CREATE TABLE book (
    slug     TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    revision INTEGER NOT NULL
);

CREATE TABLE revision (
    slug   TEXT NOT NULL REFERENCES book (slug),
    number INTEGER NOT NULL,
    -- What undo goes back to, and what can be done again.
    before INTEGER,
    again  INTEGER,
    at     INTEGER NOT NULL,
    who    TEXT NOT NULL,
    why    TEXT NOT NULL,
    words  TEXT NOT NULL,
    text   TEXT NOT NULL,
    PRIMARY KEY (slug, number)
);
