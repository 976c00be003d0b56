-- A comparison that a department keeps, and every text it has had. A version is never
-- changed.
CREATE TABLE comparison (
    slug         TEXT NOT NULL REFERENCES book (slug),
    -- Its own name in addresses.
    name         TEXT NOT NULL,
    version      INTEGER NOT NULL,
    withdrawn_at INTEGER,
    withdrawn_by TEXT,
    PRIMARY KEY (slug, name)
);

CREATE TABLE comparison_version (
    slug   TEXT NOT NULL,
    name   TEXT NOT NULL,
    number INTEGER NOT NULL,
    title  TEXT NOT NULL,
    at     INTEGER NOT NULL,
    who    TEXT NOT NULL,
    text   TEXT NOT NULL,
    PRIMARY KEY (slug, name, number),
    FOREIGN KEY (slug, name) REFERENCES comparison (slug, name)
);
