-- Tablets by name; each tablet's own order of its taps; the taps that could not
-- be written down when they came.

-- +goose Up
CREATE TABLE tablets (
    id         TEXT     PRIMARY KEY CHECK (length(id) BETWEEN 1 AND 100),
    name       TEXT     NOT NULL COLLATE NOCASE CHECK (length(name) <= 120), -- empty until somebody names it
    person_id  INTEGER  REFERENCES people (id),
    station_id INTEGER  REFERENCES stations (id),
    clock_off  INTEGER, -- seconds its clock was ahead of the server's when it last tapped
    tapped_at  DATETIME CHECK (tapped_at GLOB '????-??-?? ??:??:??*+00:00'),
    CHECK (person_id IS NULL OR station_id IS NULL)
);
CREATE UNIQUE INDEX tablets_by_name ON tablets (name) WHERE name <> '';

-- Each tablet keeps a queue of its taps and numbers them from 1.
CREATE TABLE tap_queues (
    id     TEXT    PRIMARY KEY CHECK (length(id) BETWEEN 1 AND 64),
    tablet TEXT    NOT NULL,
    last   INTEGER NOT NULL CHECK (last >= 1) -- the last number that was answered
);

ALTER TABLE taps ADD COLUMN queue TEXT;
ALTER TABLE taps ADD COLUMN tablet_seq INTEGER CHECK ((tablet_seq IS NULL) = (queue IS NULL) AND (tablet_seq IS NULL OR tablet_seq >= 1));
ALTER TABLE taps ADD COLUMN came_at DATETIME CHECK (came_at IS NULL OR came_at GLOB '????-??-?? ??:??:??*+00:00' AND came_at >= at);
CREATE UNIQUE INDEX taps_by_queue ON taps (queue, tablet_seq) WHERE queue IS NOT NULL;

-- A tap that the records did not allow any more when it came: kept with the
-- reason until a person has answered what is to become of it.
CREATE TABLE returned_taps (
    id          TEXT     PRIMARY KEY CHECK (length(id) BETWEEN 1 AND 64), -- of the tap
    tablet      TEXT     NOT NULL,
    queue       TEXT     NOT NULL,
    tablet_seq  INTEGER  NOT NULL CHECK (tablet_seq >= 1),
    request     TEXT     NOT NULL CHECK (json_valid(request)),
    why         TEXT     NOT NULL CHECK (why <> ''),
    at          DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00'),
    came_at     DATETIME NOT NULL CHECK (came_at GLOB '????-??-?? ??:??:??*+00:00'),
    answer      TEXT     NOT NULL CHECK (answer IN ('', 'told', 'left', 'tapped')),
    answered_by INTEGER  REFERENCES people (id),
    answered_at DATETIME CHECK (answered_at GLOB '????-??-?? ??:??:??*+00:00'),
    CHECK ((answer IN ('left', 'tapped')) = (answered_at IS NOT NULL)),
    UNIQUE (queue, tablet_seq, id)
);
CREATE INDEX returned_taps_open ON returned_taps (came_at) WHERE answer = '';
