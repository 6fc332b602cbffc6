-- The journal of taps. Rows are only ever added: what was tapped stays, and an
-- undo is a row of its own.

-- +goose Up
CREATE TABLE taps (
    seq        INTEGER PRIMARY KEY AUTOINCREMENT, -- never used twice
    id         TEXT     NOT NULL UNIQUE CHECK (length(id) BETWEEN 1 AND 64),
    kind       TEXT     NOT NULL CHECK (kind IN ('start', 'put-down', 'finish', 'out', 'trouble', 'settled', 'set', 'undo')),
    step_id    INTEGER  REFERENCES steps (id),
    station_id INTEGER  REFERENCES stations (id),
    setup_id   INTEGER,
    person_id  INTEGER  NOT NULL REFERENCES people (id),
    tablet     TEXT     NOT NULL,
    undoes     INTEGER  UNIQUE REFERENCES taps (seq), -- a tap is taken back once
    note       TEXT     NOT NULL,
    at         DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00'),
    said_at    DATETIME CHECK (said_at GLOB '????-??-?? ??:??:??*+00:00'),
    FOREIGN KEY (setup_id, station_id) REFERENCES setups (id, station_id),
    CHECK ((kind = 'undo') = (undoes IS NOT NULL)),
    CHECK (undoes IS NULL OR undoes < seq),
    CHECK (kind <> 'set' OR (station_id IS NOT NULL AND step_id IS NULL)),
    CHECK (kind IN ('set', 'undo') OR step_id IS NOT NULL),
    CHECK (setup_id IS NULL OR station_id IS NOT NULL)
);
CREATE INDEX taps_by_step ON taps (step_id);
CREATE INDEX taps_by_station ON taps (station_id) WHERE station_id IS NOT NULL;

-- +goose StatementBegin
CREATE TRIGGER taps_stay BEFORE DELETE ON taps
BEGIN
    SELECT RAISE(ABORT, 'the journal is only added to');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER taps_unchanged BEFORE UPDATE ON taps
BEGIN
    SELECT RAISE(ABORT, 'the journal is only added to');
END;
-- +goose StatementEnd

-- REPLACE would delete the old row without asking the trigger above, so a row
-- whose number or id is already there is refused before it comes to that.
-- +goose StatementBegin
CREATE TRIGGER taps_once BEFORE INSERT ON taps
WHEN EXISTS (SELECT 1 FROM taps t WHERE t.seq = NEW.seq OR t.id = NEW.id OR t.undoes = NEW.undoes)
BEGIN
    SELECT RAISE(ABORT, 'the journal already has this tap');
END;
-- +goose StatementEnd
