-- Runs: several steps at one station under one setup, in one person's hands
-- together. And a station goes out of order, and back, by a tap.
--
-- The journal stays one row for each step. Rows that one tap wrote together bear
-- its id as their act. A step in hand within a run bears the act that took it.

-- +goose Up
-- More kinds of tap. SQLite has no statement that widens a CHECK; this is the
-- way its manual describes for it ("Making Other Kinds Of Table Schema Changes",
-- sqlite.org/lang_altertable.html). The ALTER below counts the schema's version.
PRAGMA writable_schema = ON;
UPDATE sqlite_schema SET sql = replace(replace(replace(sql,
    '''set'', ''undo'')),', '''set'', ''down'', ''up'', ''undo'')),'),
    'CHECK (kind <> ''set'' OR', 'CHECK (kind NOT IN (''set'', ''down'', ''up'') OR'),
    'CHECK (kind IN (''set'', ''undo'') OR', 'CHECK (kind IN (''set'', ''down'', ''up'', ''undo'') OR')
WHERE type = 'table' AND name = 'taps';
PRAGMA writable_schema = RESET;

ALTER TABLE taps ADD COLUMN act TEXT NOT NULL DEFAULT '' CHECK (length(act) <= 64);
-- A step's part of its run's time: its estimate, in minutes, when the run was taken.
ALTER TABLE taps ADD COLUMN share INTEGER NOT NULL DEFAULT 0
    CHECK (share BETWEEN 0 AND 100000 AND (share > 0) = (kind = 'start' AND act <> ''));
-- The plan that was followed when a station went out of order, or back. Plans
-- do not stay for ever, so it is no foreign key.
ALTER TABLE taps ADD COLUMN plan_id INTEGER CHECK (plan_id IS NULL OR kind IN ('down', 'up'));
CREATE INDEX taps_by_act ON taps (act) WHERE act <> '';

ALTER TABLE steps ADD COLUMN run TEXT NOT NULL DEFAULT '' CHECK (run = '' OR state = 'in hand');
ALTER TABLE steps ADD COLUMN run_share INTEGER NOT NULL DEFAULT 0
    CHECK (run_share BETWEEN 0 AND 100000 AND (run_share > 0) = (run <> ''));
-- Up to when the time of its run is counted in worked.
ALTER TABLE steps ADD COLUMN counted_at DATETIME
    CHECK ((counted_at IS NULL) = (run = '') AND counted_at GLOB '????-??-?? ??:??:??*+00:00');
CREATE INDEX steps_by_run ON steps (run) WHERE run <> '';

-- A person has at most one thing in hand: one step or one run.
DROP INDEX steps_one_in_hand;
CREATE INDEX steps_in_hand ON steps (person_id) WHERE state = 'in hand';

-- +goose StatementBegin
CREATE TRIGGER steps_one_in_hand BEFORE UPDATE OF state, person_id, run ON steps
WHEN NEW.state = 'in hand' AND EXISTS (SELECT 1 FROM steps s
    WHERE s.state = 'in hand' AND s.person_id = NEW.person_id AND s.id <> NEW.id AND (NEW.run = '' OR s.run <> NEW.run))
BEGIN
    SELECT RAISE(ABORT, 'the person has something else in hand');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER steps_one_in_hand_new BEFORE INSERT ON steps
WHEN NEW.state = 'in hand' AND EXISTS (SELECT 1 FROM steps s
    WHERE s.state = 'in hand' AND s.person_id = NEW.person_id AND (NEW.run = '' OR s.run <> NEW.run))
BEGIN
    SELECT RAISE(ABORT, 'the person has something else in hand');
END;
-- +goose StatementEnd
