-- A sheet that was printed from a revision and handed out. Taken back, it stays here.
CREATE TABLE issued (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    slug     TEXT NOT NULL,
    revision INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    who      TEXT NOT NULL,
    kind     TEXT NOT NULL,
    subject  TEXT NOT NULL,
    title    TEXT NOT NULL,
    units    TEXT NOT NULL,
    size     TEXT NOT NULL,
    -- The day that stands on it.
    date     TEXT NOT NULL,
    code     TEXT NOT NULL,
    digest   TEXT NOT NULL,
    -- All that it says, as JSON.
    told     TEXT NOT NULL,
    withdrawn_at  INTEGER,
    withdrawn_by  TEXT,
    withdrawn_why TEXT,
    FOREIGN KEY (slug, revision) REFERENCES revision (slug, number)
);

CREATE INDEX issued_code ON issued (code);
CREATE INDEX issued_slug ON issued (slug);
