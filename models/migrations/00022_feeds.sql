-- Calendars that other programs read by a secret address.

-- +goose Up
-- Tells the records of this shop from those of any other, once they have left it.
ALTER TABLE shop ADD COLUMN uid TEXT NOT NULL DEFAULT '' CHECK (length(uid) <= 64);
UPDATE shop SET uid = lower(hex(randomblob(16)));

CREATE TABLE feeds (
    id        INTEGER  PRIMARY KEY,
    person_id INTEGER  REFERENCES people (id), -- NULL: of the whole shop
    secret    TEXT     NOT NULL UNIQUE CHECK (length(secret) BETWEEN 26 AND 100),
    made_at   DATETIME NOT NULL CHECK (made_at GLOB '????-??-?? ??:??:??*+00:00'),
    ended_at  DATETIME CHECK (ended_at IS NULL OR ended_at GLOB '????-??-?? ??:??:??*+00:00' AND ended_at >= made_at)
);
-- One address at a time; those before it are kept, so that they can be told to be over.
CREATE UNIQUE INDEX feeds_open ON feeds (coalesce(person_id, 0)) WHERE ended_at IS NULL;
CREATE INDEX feeds_by_person ON feeds (person_id);
