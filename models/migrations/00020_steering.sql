-- Steering: hours beside those of the week, hands that are there for some days only,
-- stations that are closed for days, clamps lent and borrowed, on what day or by whom
-- a step is to be done; and what was kept of such changes, by whom.

-- +goose Up
CREATE TABLE extra_hours (
    id     INTEGER PRIMARY KEY,
    date   TEXT    NOT NULL CHECK (date IS date(date)),
    opens  INTEGER NOT NULL CHECK (opens BETWEEN 0 AND 1439),
    closes INTEGER NOT NULL CHECK (closes BETWEEN 1 AND 1440),
    CHECK (opens < closes)
);

-- +goose StatementBegin
CREATE TRIGGER extra_hours_apart BEFORE INSERT ON extra_hours
WHEN EXISTS (SELECT 1 FROM extra_hours h
             WHERE h.date = NEW.date AND h.opens < NEW.closes AND NEW.opens < h.closes)
BEGIN
    SELECT RAISE(ABORT, 'extra hours of one day overlap');
END;
-- +goose StatementEnd

-- Whoever has stays is there only then.
CREATE TABLE stays (
    id         INTEGER PRIMARY KEY,
    person_id  INTEGER NOT NULL REFERENCES people (id) ON DELETE CASCADE,
    from_date  TEXT    NOT NULL CHECK (from_date IS date(from_date)),
    until_date TEXT    NOT NULL CHECK (until_date IS date(until_date) AND until_date >= from_date)
);
CREATE INDEX stays_by_person ON stays (person_id);

CREATE TABLE closures (
    id         INTEGER PRIMARY KEY,
    station_id INTEGER NOT NULL REFERENCES stations (id) ON DELETE CASCADE,
    from_date  TEXT    NOT NULL CHECK (from_date IS date(from_date)),
    until_date TEXT    NOT NULL CHECK (until_date IS date(until_date) AND until_date >= from_date)
);
CREATE INDEX closures_by_station ON closures (station_id);

-- count: lent to somebody; below 0: borrowed.
CREATE TABLE loans (
    id             INTEGER PRIMARY KEY,
    clamp_class_id INTEGER NOT NULL REFERENCES clamp_classes (id) ON DELETE CASCADE,
    count          INTEGER NOT NULL CHECK (count BETWEEN -10000 AND 10000 AND count <> 0),
    from_date      TEXT    NOT NULL CHECK (from_date IS date(from_date)),
    until_date     TEXT    NOT NULL CHECK (until_date IS date(until_date) AND until_date >= from_date)
);
CREATE INDEX loans_by_class ON loans (clamp_class_id);

CREATE TABLE wanted (
    step_id   INTEGER PRIMARY KEY REFERENCES steps (id) ON DELETE CASCADE,
    day       TEXT    NOT NULL CHECK (day = '' OR day IS date(day)),
    person_id INTEGER REFERENCES people (id) ON DELETE CASCADE,
    CHECK (day <> '' OR person_id IS NOT NULL)
);
CREATE INDEX wanted_by_person ON wanted (person_id);

CREATE TABLE steered (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    act       TEXT     NOT NULL CHECK (act <> ''), -- of what was kept together
    kept_at   DATETIME NOT NULL CHECK (kept_at GLOB '????-??-?? ??:??:??*+00:00'),
    kept_by   INTEGER  REFERENCES people (id),
    change    TEXT     NOT NULL CHECK (json_valid(change)),
    says      TEXT     NOT NULL CHECK (json_valid(says)),
    was       TEXT     NOT NULL CHECK (json_valid(was)), -- what letting go puts back
    let_go_at DATETIME CHECK (let_go_at GLOB '????-??-?? ??:??:??*+00:00'),
    let_go_by INTEGER  REFERENCES people (id),
    CHECK (let_go_by IS NULL OR let_go_at IS NOT NULL)
);
CREATE INDEX steered_by_act ON steered (act);

-- What was kept stays on record: only that it was let go is added.
-- +goose StatementBegin
CREATE TRIGGER steered_stays BEFORE UPDATE OF act, kept_at, kept_by, change, says, was ON steered
BEGIN
    SELECT RAISE(ABORT, 'what was kept is not changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER steered_not_deleted BEFORE DELETE ON steered
BEGIN
    SELECT RAISE(ABORT, 'what was kept is not deleted');
END;
-- +goose StatementEnd
