-- What is kept at the bench beside the journal: pieces tapped off one by one,
-- and notes and photos of a step. No plan hangs on any of it.

-- +goose Up
-- Rows are only added: the newest of a piece says whether it is done.
CREATE TABLE part_ticks (
    seq       INTEGER PRIMARY KEY AUTOINCREMENT, -- the server's order
    id        TEXT     NOT NULL UNIQUE CHECK (length(id) BETWEEN 1 AND 64), -- made with the form: the same twice is one
    step_id   INTEGER  NOT NULL REFERENCES steps (id),
    part_id   INTEGER  NOT NULL REFERENCES parts (id),
    number    INTEGER  NOT NULL CHECK (number >= 1), -- which of the parts of that name
    done      INTEGER  NOT NULL CHECK (done IN (0, 1)),
    person_id INTEGER  NOT NULL REFERENCES people (id),
    tablet    TEXT     NOT NULL CHECK (length(tablet) <= 100),
    at        DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00')
);
CREATE INDEX part_ticks_by_piece ON part_ticks (step_id, part_id, number);

-- Photos stand in the database and not beside it, so that one file is the backup.
CREATE TABLE photos (
    hash   TEXT    PRIMARY KEY CHECK (length(hash) = 64 AND hash NOT GLOB '*[^0-9a-f]*'), -- SHA-256 of jpeg
    width  INTEGER NOT NULL CHECK (width BETWEEN 1 AND 65535),
    height INTEGER NOT NULL CHECK (height BETWEEN 1 AND 65535),
    jpeg   BLOB    NOT NULL CHECK (length(jpeg) BETWEEN 1 AND 20971520)
);

CREATE TABLE step_notes (
    id        TEXT     PRIMARY KEY CHECK (length(id) BETWEEN 1 AND 64), -- made with the form: the same twice is one
    step_id   INTEGER  NOT NULL REFERENCES steps (id),
    person_id INTEGER  NOT NULL REFERENCES people (id),
    tablet    TEXT     NOT NULL CHECK (length(tablet) <= 100),
    text      TEXT     NOT NULL CHECK (length(text) <= 2000),
    photo     TEXT     REFERENCES photos (hash),
    at        DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00'),
    CHECK (text <> '' OR photo IS NOT NULL)
);
CREATE INDEX step_notes_by_step ON step_notes (step_id);
CREATE UNIQUE INDEX step_notes_photo_once ON step_notes (step_id, photo) WHERE photo IS NOT NULL; -- the same photo twice is one
