-- The solid tip on which pitot pressures were read, by its name in the book.
ALTER TABLE test ADD COLUMN pitot_tip TEXT;
-- "open" takes readings; "closed" takes none; "accepted": the book rests on it.
ALTER TABLE test ADD COLUMN state TEXT NOT NULL DEFAULT 'open';
-- The revision that took its result in, last.
ALTER TABLE test ADD COLUMN accepted INTEGER;
-- When it was read, as 10:32; may be empty.
ALTER TABLE reading ADD COLUMN time TEXT NOT NULL DEFAULT '';
