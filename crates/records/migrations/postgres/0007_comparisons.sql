-- A comparison that a department keeps, and every text it has had. A version is never
-- changed.
CREATE TABLE comparison (
    slug         TEXT COLLATE "C" NOT NULL REFERENCES book (slug),
    -- Its own name in addresses.
    name         TEXT COLLATE "C" NOT NULL,
    version      BIGINT NOT NULL,
    withdrawn_at BIGINT,
    withdrawn_by TEXT,
    PRIMARY KEY (slug, name)
);

CREATE TABLE comparison_version (
    slug   TEXT COLLATE "C" NOT NULL,
    name   TEXT COLLATE "C" NOT NULL,
    number BIGINT NOT NULL,
    title  TEXT NOT NULL,
    at     BIGINT NOT NULL,
    who    TEXT NOT NULL,
    -- To the byte: TEXT takes no byte of zero here.
    text   BYTEA NOT NULL,
    PRIMARY KEY (slug, name, number),
    FOREIGN KEY (slug, name) REFERENCES comparison (slug, name)
);
