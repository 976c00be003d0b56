-- Lists are read a page at a time, the latest first; a page is found, not looked for.
CREATE INDEX test_slug_id ON test (slug, id);
CREATE INDEX test_slug_date ON test (slug, date);
CREATE INDEX issued_slug_id ON issued (slug, id);
CREATE INDEX trial_latest ON trial (slug, serial, date, id);
DROP INDEX test_slug;
DROP INDEX issued_slug;
DROP INDEX trial_serial;
DROP INDEX audit_slug;
-- It is compared with a person's name, which is in "C"; an index in another order is of no use.
DROP INDEX audit_person;
CREATE INDEX audit_person ON audit (about COLLATE "C", id) WHERE slug IS NULL;
