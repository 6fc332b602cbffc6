-- Editing: an order of work that its maker changes after it was taken, and the
-- patterns a shop keeps for itself.

-- +goose Up

-- How often the steps and links of a commission were changed: what was read of
-- an earlier edition does not hold any more.
ALTER TABLE commissions ADD COLUMN edition INTEGER NOT NULL DEFAULT 0 CHECK (edition BETWEEN 0 AND 9223372036854775807);

-- The steps that were taken out. Their numbers are not given again: a tablet
-- that still shows one must not tap another.
CREATE TABLE removed_steps (
    id            INTEGER PRIMARY KEY,
    commission_id INTEGER  NOT NULL REFERENCES commissions (id) ON DELETE CASCADE,
    key           TEXT     NOT NULL,
    name          TEXT     NOT NULL,
    removed_at    DATETIME NOT NULL CHECK (removed_at GLOB '????-??-?? ??:??:??*+00:00')
);
CREATE INDEX removed_steps_by_commission ON removed_steps (commission_id);

-- A maker's own patterns, as the text of their files.
CREATE TABLE own_patterns (
    id      INTEGER PRIMARY KEY,
    key     TEXT     NOT NULL UNIQUE CHECK (key <> ''),
    title   TEXT     NOT NULL CHECK (trim(title) <> ''),
    source  TEXT     NOT NULL CHECK (length(source) BETWEEN 1 AND 262144),
    made_at DATETIME NOT NULL CHECK (made_at GLOB '????-??-?? ??:??:??*+00:00')
);

-- What the checks of an order of work must know of a piece beyond its rows.
ALTER TABLE pieces ADD COLUMN facts TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(facts));
