-- Plans: the order of work for the whole shop, and the ones before it.

-- +goose Up
CREATE TABLE plans (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    made_at   DATETIME NOT NULL CHECK (made_at GLOB '????-??-?? ??:??:??*+00:00'),
    origin    DATETIME NOT NULL CHECK (origin GLOB '????-??-?? ??:??:??*+00:00'),
    revision  INTEGER  NOT NULL CHECK (revision BETWEEN 0 AND 9223372036854775807),
    status    TEXT     NOT NULL CHECK (status IN ('optimal', 'feasible')),
    objective INTEGER  NOT NULL,
    bound     INTEGER  NOT NULL,
    seed      INTEGER  NOT NULL,
    schedules INTEGER  NOT NULL CHECK (schedules BETWEEN 0 AND 9223372036854775807),
    seconds   REAL     NOT NULL CHECK (seconds BETWEEN 0 AND 1000000000),
    moved     INTEGER  NOT NULL CHECK (moved BETWEEN 0 AND 1000000),
    note      TEXT     NOT NULL,
    current   INTEGER  NOT NULL CHECK (current IN (0, 1)),
    CHECK (bound <= objective)
);
CREATE UNIQUE INDEX plans_one_current ON plans (current) WHERE current = 1;

CREATE TABLE plan_steps (
    id           INTEGER PRIMARY KEY,
    plan_id      INTEGER  NOT NULL REFERENCES plans (id) ON DELETE CASCADE,
    step_id      INTEGER  NOT NULL REFERENCES steps (id) ON DELETE CASCADE,
    setup_start  DATETIME NOT NULL CHECK (setup_start GLOB '????-??-?? ??:??:??*+00:00'),
    start        DATETIME NOT NULL CHECK (start GLOB '????-??-?? ??:??:??*+00:00'),
    attended_end DATETIME NOT NULL CHECK (attended_end GLOB '????-??-?? ??:??:??*+00:00'),
    "end"        DATETIME NOT NULL CHECK ("end" GLOB '????-??-?? ??:??:??*+00:00'),
    person_ids   TEXT     NOT NULL CHECK (json_valid(person_ids)),
    UNIQUE (plan_id, step_id),
    -- Times as text compare as times: same length up to the second, and '+'
    -- sorts before the point of a fraction.
    CHECK (setup_start <= start AND start <= attended_end AND attended_end <= "end")
);
CREATE INDEX plan_steps_by_step ON plan_steps (step_id);

CREATE TABLE plan_setups (
    id         INTEGER PRIMARY KEY,
    plan_id    INTEGER  NOT NULL REFERENCES plans (id) ON DELETE CASCADE,
    station_id INTEGER  NOT NULL,
    setup_id   INTEGER  NOT NULL,
    step_id    INTEGER  NOT NULL REFERENCES steps (id) ON DELETE CASCADE,
    start      DATETIME NOT NULL CHECK (start GLOB '????-??-?? ??:??:??*+00:00'),
    minutes    INTEGER  NOT NULL CHECK (minutes BETWEEN 0 AND 100000),
    FOREIGN KEY (setup_id, station_id) REFERENCES setups (id, station_id)
);
CREATE INDEX plan_setups_by_plan ON plan_setups (plan_id);
CREATE INDEX plan_setups_by_step ON plan_setups (step_id);
