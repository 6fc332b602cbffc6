-- What moved since the first plan of the shop's day, and why.

-- +goose Up
CREATE TABLE plan_days (
    day           TEXT    PRIMARY KEY CHECK (day IS date(day)), -- only the newest is kept
    first_plan_id INTEGER NOT NULL REFERENCES plans (id),
    journal       INTEGER NOT NULL CHECK (journal >= 0), -- the newest tap when the newest plan was made
    moves_id      INTEGER REFERENCES plan_moves (id) ON DELETE SET NULL -- what the newest plan was made for
);
CREATE INDEX plan_days_by_plan ON plan_days (first_plan_id);
CREATE INDEX plan_days_by_moves ON plan_days (moves_id);

CREATE TABLE plan_moves (
    id            INTEGER  PRIMARY KEY,
    day           TEXT     NOT NULL REFERENCES plan_days (day) ON DELETE CASCADE,
    at            DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00'),
    cause         TEXT     NOT NULL CHECK (cause IN ('tap', 'work', 'taken', 'steered', 'commission', 'shop', 'clock')),
    tap_seq       INTEGER  REFERENCES taps (seq),
    step_id       INTEGER  REFERENCES steps (id) ON DELETE CASCADE,
    commission_id INTEGER  REFERENCES commissions (id) ON DELETE CASCADE,
    steered_id    INTEGER  REFERENCES steered (id),
    moved         TEXT     NOT NULL CHECK (json_valid(moved)), -- minutes by step
    CHECK ((cause IN ('tap', 'work')) = (tap_seq IS NOT NULL)),
    CHECK ((cause = 'work') = (step_id IS NOT NULL)),
    CHECK ((cause = 'taken') = (commission_id IS NOT NULL)),
    CHECK ((cause = 'steered') = (steered_id IS NOT NULL))
);
CREATE INDEX plan_moves_by_day ON plan_moves (day);
CREATE INDEX plan_moves_by_tap ON plan_moves (tap_seq);
CREATE INDEX plan_moves_by_step ON plan_moves (step_id);
CREATE INDEX plan_moves_by_commission ON plan_moves (commission_id);
CREATE INDEX plan_moves_by_steered ON plan_moves (steered_id);
