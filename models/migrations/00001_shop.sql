-- The shop: itself, its hours and people, stations, clamps, glues and finishes.
--
-- There is no way down from a migration: a backup is the way back.
-- Whole numbers are kept to a range with BETWEEN, which also refuses text.
-- Lengths are nanometres. Times are UTC, as the store writes them.

-- +goose Up
PRAGMA application_id = 1180787557; -- "Face": how the store knows a file of its own

CREATE TABLE shop (
    id            INTEGER PRIMARY KEY CHECK (id = 1),
    name          TEXT    NOT NULL CHECK (trim(name) <> ''),
    time_zone     TEXT    NOT NULL CHECK (time_zone <> ''),
    units         TEXT    NOT NULL CHECK (units IN ('inch', 'mm')),
    fraction      INTEGER NOT NULL CHECK (fraction IN (8, 16, 32, 64)),
    temperature_c REAL    NOT NULL CHECK (temperature_c BETWEEN -30 AND 60),
    humidity_pct  REAL    NOT NULL CHECK (humidity_pct BETWEEN 0 AND 100),
    revision      INTEGER NOT NULL CHECK (revision BETWEEN 0 AND 9223372036854775807)
);

INSERT INTO shop (id, name, time_zone, units, fraction, temperature_c, humidity_pct, revision)
VALUES (1, 'Workshop', 'UTC', 'mm', 16, 21, 50, 0);

CREATE TABLE hours (
    id      INTEGER PRIMARY KEY,
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 0 AND 6),
    opens   INTEGER NOT NULL CHECK (opens BETWEEN 0 AND 1439),
    closes  INTEGER NOT NULL CHECK (closes BETWEEN 1 AND 1440),
    CHECK (opens < closes)
);

-- +goose StatementBegin
CREATE TRIGGER hours_apart BEFORE INSERT ON hours
WHEN EXISTS (SELECT 1 FROM hours h
             WHERE h.weekday = NEW.weekday AND h.opens < NEW.closes AND NEW.opens < h.closes)
BEGIN
    SELECT RAISE(ABORT, 'hours of one weekday overlap');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER hours_replaced BEFORE UPDATE ON hours
BEGIN
    SELECT RAISE(ABORT, 'hours are replaced, not changed');
END;
-- +goose StatementEnd

CREATE TABLE people (
    id     INTEGER PRIMARY KEY,
    name   TEXT    NOT NULL UNIQUE COLLATE NOCASE CHECK (trim(name) <> ''),
    active INTEGER NOT NULL CHECK (active IN (0, 1))
);

CREATE TABLE days_off (
    id        INTEGER PRIMARY KEY,
    date      TEXT    NOT NULL CHECK (date IS date(date)),
    person_id INTEGER REFERENCES people (id) ON DELETE CASCADE,
    reason    TEXT    NOT NULL
);
CREATE UNIQUE INDEX days_off_once ON days_off (date, coalesce(person_id, 0));

CREATE TABLE zones (
    id   INTEGER PRIMARY KEY,
    key  TEXT NOT NULL UNIQUE CHECK (key <> ''),
    name TEXT NOT NULL CHECK (trim(name) <> '')
);

CREATE TABLE stations (
    id            INTEGER PRIMARY KEY,
    key           TEXT    NOT NULL UNIQUE CHECK (key <> ''),
    name          TEXT    NOT NULL CHECK (trim(name) <> ''),
    kind          TEXT    NOT NULL CHECK (kind <> ''),
    places        INTEGER NOT NULL CHECK (places BETWEEN 1 AND 100),
    max_width     INTEGER NOT NULL CHECK (max_width BETWEEN 0 AND 100000000000),
    max_thickness INTEGER NOT NULL CHECK (max_thickness BETWEEN 0 AND 100000000000),
    min_length    INTEGER NOT NULL CHECK (min_length BETWEEN 0 AND 100000000000),
    open_ended    INTEGER NOT NULL CHECK (open_ended IN (0, 1)),
    setup_minutes INTEGER NOT NULL CHECK (setup_minutes BETWEEN 0 AND 1440),
    reset_minutes INTEGER NOT NULL CHECK (reset_minutes BETWEEN 0 AND 1440),
    setup_id      INTEGER,
    zone_id       INTEGER REFERENCES zones (id),
    down          INTEGER NOT NULL CHECK (down IN (0, 1)),
    caution       TEXT    NOT NULL,
    -- A station is only ever set to a setup of its own.
    FOREIGN KEY (setup_id, id) REFERENCES setups (id, station_id)
);

CREATE TABLE setups (
    id          INTEGER PRIMARY KEY,
    station_id  INTEGER NOT NULL REFERENCES stations (id) ON DELETE CASCADE,
    family      TEXT    NOT NULL,
    state       TEXT    NOT NULL CHECK (trim(state) <> ''),
    instruction TEXT    NOT NULL,
    UNIQUE (station_id, state),
    UNIQUE (id, station_id)
);

CREATE TABLE clamp_classes (
    id    INTEGER PRIMARY KEY,
    key   TEXT    NOT NULL UNIQUE CHECK (key <> ''),
    name  TEXT    NOT NULL CHECK (trim(name) <> ''),
    reach INTEGER NOT NULL CHECK (reach BETWEEN 1 AND 100000000000),
    count INTEGER NOT NULL CHECK (count BETWEEN 0 AND 10000)
);

CREATE TABLE glues (
    id           INTEGER PRIMARY KEY,
    key          TEXT    NOT NULL UNIQUE CHECK (key <> ''),
    name         TEXT    NOT NULL CHECK (trim(name) <> ''),
    open_min     INTEGER NOT NULL CHECK (open_min BETWEEN 1 AND 10080),
    clamp_min    INTEGER NOT NULL CHECK (clamp_min BETWEEN 0 AND 100000),
    cure_min     INTEGER NOT NULL CHECK (cure_min BETWEEN 0 AND 100000),
    least_temp_c REAL    NOT NULL CHECK (least_temp_c BETWEEN -30 AND 60),
    caution      TEXT    NOT NULL
);

CREATE TABLE finishes (
    id                  INTEGER PRIMARY KEY,
    key                 TEXT    NOT NULL UNIQUE CHECK (key <> ''),
    name                TEXT    NOT NULL CHECK (trim(name) <> ''),
    dry_min             INTEGER NOT NULL CHECK (dry_min BETWEEN 0 AND 100000),
    recoat_least_min    INTEGER NOT NULL CHECK (recoat_least_min BETWEEN 0 AND 100000),
    recoat_greatest_min INTEGER NOT NULL CHECK (recoat_greatest_min BETWEEN 0 AND 1000000),
    cure_min            INTEGER NOT NULL CHECK (cure_min BETWEEN 0 AND 1000000),
    least_temp_c        REAL    NOT NULL CHECK (least_temp_c BETWEEN -30 AND 60),
    caution             TEXT    NOT NULL,
    CHECK (recoat_greatest_min = 0 OR recoat_greatest_min >= recoat_least_min)
);
