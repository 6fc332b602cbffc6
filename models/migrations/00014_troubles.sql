-- Trouble says of which kind it is, and what it changed in the records, so that
-- an undo can put those back.

-- +goose Up
ALTER TABLE taps ADD COLUMN trouble TEXT NOT NULL DEFAULT ''
    CHECK (trouble IN ('', 'spoiled', 'order', 'missing', 'help', 'estimate') AND (trouble = '' OR kind = 'trouble'));
-- What a step waits for is expected on a day.
ALTER TABLE taps ADD COLUMN expected_on TEXT NOT NULL DEFAULT ''
    CHECK (expected_on = '' OR (trouble = 'missing' AND expected_on IS date(expected_on)));
-- What was said beyond that, and what became of the order of work by it.
ALTER TABLE taps ADD COLUMN details TEXT NOT NULL DEFAULT ''
    CHECK ((details = '') = (trouble = '') AND (details = '' OR json_valid(details)));
CREATE INDEX taps_troubles ON taps (seq) WHERE trouble <> '';

-- The plan that was followed is kept for trouble too. The way to widen a CHECK
-- is told in 00012_runs.sql; the ALTERs below count the schema's version.
PRAGMA writable_schema = ON;
UPDATE sqlite_schema SET sql = replace(sql, 'plan_id IS NULL OR kind IN (''down'', ''up'')', 'plan_id IS NULL OR kind IN (''down'', ''up'', ''trouble'')')
WHERE type = 'table' AND name = 'taps';
PRAGMA writable_schema = RESET;

ALTER TABLE steps ADD COLUMN trouble_kind TEXT NOT NULL DEFAULT ''
    CHECK (trouble_kind IN ('', 'missing') AND (trouble_kind = '' OR state = 'in trouble'));
ALTER TABLE steps ADD COLUMN expected_on TEXT NOT NULL DEFAULT ''
    CHECK (expected_on = '' OR (trouble_kind = 'missing' AND expected_on IS date(expected_on)));
-- The step whose work a step does again for parts that were spoiled.
ALTER TABLE steps ADD COLUMN again_of INTEGER REFERENCES steps (id);
CREATE INDEX steps_by_again ON steps (again_of) WHERE again_of IS NOT NULL;
-- What was estimated first, where somebody has said since that it takes longer; else 0.
ALTER TABLE steps ADD COLUMN first_attended INTEGER NOT NULL DEFAULT 0 CHECK (first_attended BETWEEN 0 AND 100000);
