-- How plans were made: what the engine was asked, and what makes the same plan again.

-- +goose Up
CREATE TABLE plan_problems (
    id   INTEGER PRIMARY KEY AUTOINCREMENT,
    hash TEXT    NOT NULL UNIQUE CHECK (length(hash) = 64), -- SHA-256 of the problem
    text BLOB    NOT NULL CHECK (length(text) > 0)          -- the problem, by gzip
);

CREATE TABLE plan_runs (
    plan_id    INTEGER PRIMARY KEY REFERENCES plans (id) ON DELETE CASCADE,
    problem_id INTEGER NOT NULL REFERENCES plan_problems (id),
    tap_seq    INTEGER NOT NULL CHECK (tap_seq >= 0),       -- the newest tap that counted; 0: there was none
    work       INTEGER NOT NULL CHECK (work >= 0),          -- that makes it again; 0: nothing does for sure
    searches   INTEGER NOT NULL CHECK (searches >= 0),
    answer     TEXT    NOT NULL CHECK (length(answer) = 64), -- SHA-256 of the engine's plan, times of the search left out
    program    TEXT    NOT NULL                             -- that made it; empty: it did not know its version
);
CREATE INDEX plan_runs_by_problem ON plan_runs (problem_id);
