-- Somebody is signed in. Of the token in the browser only its SHA-256 is kept.
CREATE TABLE session (
    token TEXT PRIMARY KEY,
    name TEXT NOT NULL REFERENCES person (name),
    made INTEGER NOT NULL,
    -- The last page asked for, to the minute.
    seen INTEGER NOT NULL,
    -- Over at this moment, whatever is done until then.
    ends INTEGER NOT NULL
);

CREATE INDEX session_name ON session (name);

-- Tries to sign in that came to nothing, by the SHA-256 of what they are counted for.
CREATE TABLE attempt (
    key TEXT PRIMARY KEY,
    failed INTEGER NOT NULL,
    last INTEGER NOT NULL
);

-- A reader's link: shows one issued sheet to whoever has it.
CREATE TABLE link (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    token TEXT NOT NULL UNIQUE,
    slug TEXT NOT NULL REFERENCES book (slug),
    issue INTEGER NOT NULL REFERENCES issued (id),
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    ends INTEGER NOT NULL,
    withdrawn_at INTEGER,
    withdrawn_by TEXT
);

CREATE INDEX link_slug ON link (slug);

-- Lets somebody set a password of their own, once. A person has one such link or none.
CREATE TABLE welcome (
    name TEXT PRIMARY KEY REFERENCES person (name),
    token TEXT NOT NULL UNIQUE,
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    ends INTEGER NOT NULL
);

CREATE INDEX post_name ON post (name);
CREATE INDEX audit_person ON audit (about, id) WHERE slug IS NULL;
CREATE INDEX audit_slug_id ON audit (slug, id);
