-- A test: a sheet of readings for one line, hose, nozzle, pump or hydrant of a book.
CREATE TABLE test (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    slug TEXT NOT NULL REFERENCES book (slug),
    -- The revision that was the newest when it was begun.
    revision INTEGER NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    title TEXT NOT NULL,
    -- The day of it, as 2026-05-11.
    date TEXT NOT NULL,
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    FOREIGN KEY (slug, revision) REFERENCES revision (slug, number)
);

CREATE INDEX test_slug ON test (slug);

-- A reading is never changed. One that corrects another is a row of its own.
CREATE TABLE reading (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    test INTEGER NOT NULL REFERENCES test (id),
    -- Made by the form that sends it: sent twice, it is entered once.
    token TEXT NOT NULL,
    point INTEGER NOT NULL,
    place TEXT NOT NULL,
    quantity TEXT NOT NULL,
    -- In SI, and as it was written. Neither: the one it corrects is struck out.
    value REAL,
    written TEXT NOT NULL,
    gauge TEXT NOT NULL,
    resolution REAL,
    calibrated TEXT,
    remark TEXT NOT NULL,
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    corrects INTEGER UNIQUE REFERENCES reading (id),
    UNIQUE (test, token)
);

-- A piece of equipment, by the number that stands on it.
CREATE TABLE equipment (
    slug TEXT NOT NULL REFERENCES book (slug),
    serial TEXT NOT NULL,
    kind TEXT NOT NULL,
    -- What it is in the book: a hose, a nozzle. May be empty.
    item TEXT NOT NULL,
    title TEXT NOT NULL,
    since TEXT NOT NULL,
    -- Tested every so many months.
    months INTEGER NOT NULL,
    retired TEXT,
    retired_why TEXT,
    PRIMARY KEY (slug, serial)
);

-- A test that it is due for, as each year. Never changed.
CREATE TABLE trial (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    slug TEXT NOT NULL,
    serial TEXT NOT NULL,
    date TEXT NOT NULL,
    passed INTEGER NOT NULL,
    remark TEXT NOT NULL,
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    FOREIGN KEY (slug, serial) REFERENCES equipment (slug, serial)
);

CREATE INDEX trial_serial ON trial (slug, serial);

CREATE TABLE person (
    name TEXT PRIMARY KEY,
    -- Of the password, by argon2. None: cannot sign in.
    hash TEXT,
    since INTEGER NOT NULL
);

-- What somebody may do in a department.
CREATE TABLE post (
    slug TEXT NOT NULL REFERENCES book (slug),
    name TEXT NOT NULL REFERENCES person (name),
    role TEXT NOT NULL,
    PRIMARY KEY (slug, name)
);

-- Who did what, and when. Never changed.
CREATE TABLE audit (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    -- The department; none for what concerns them all.
    slug TEXT,
    what TEXT NOT NULL,
    about TEXT NOT NULL
);

CREATE INDEX audit_slug ON audit (slug);
