-- A second pair of hands on a step in hand, and steps that join a run in hand.

-- +goose Up
-- More kinds of tap; 00012_runs.sql tells of this way, and the ALTERs below count
-- the schema's version.
PRAGMA writable_schema = ON;
UPDATE sqlite_schema SET sql = replace(sql,
    '''settled'', ''set'', ''down'', ''up'', ''undo'')),', '''settled'', ''help'', ''manage'', ''set'', ''down'', ''up'', ''undo'')),')
WHERE type = 'table' AND name = 'taps';
PRAGMA writable_schema = RESET;

-- Whose hands were given, or are free again.
ALTER TABLE taps ADD COLUMN helper_id INTEGER REFERENCES people (id)
    CHECK ((helper_id IS NOT NULL) = (kind IN ('help', 'manage')));
-- A start that joined a run in hand bears the run's act, and is a tap of its own.
ALTER TABLE taps ADD COLUMN joined INTEGER NOT NULL DEFAULT 0
    CHECK (joined = 0 OR (joined = 1 AND kind = 'start' AND act <> ''));
CREATE INDEX taps_by_helper ON taps (helper_id) WHERE helper_id IS NOT NULL;

-- Who else has hands on a step, each with since when; NULL for nobody.
ALTER TABLE steps ADD COLUMN helpers TEXT
    CHECK (helpers IS NULL OR (state = 'in hand' AND json_valid(helpers) AND json_array_length(helpers) > 0));
-- Seconds of those hands, the present ones not counted.
ALTER TABLE steps ADD COLUMN helped INTEGER NOT NULL DEFAULT 0 CHECK (helped >= 0);
CREATE INDEX steps_helped ON steps (id) WHERE helpers IS NOT NULL;

-- Nobody has hands in two places.
-- +goose StatementBegin
CREATE TRIGGER steps_helpers_free BEFORE UPDATE OF helpers ON steps
WHEN NEW.helpers IS NOT NULL AND EXISTS (SELECT 1 FROM json_each(NEW.helpers) h
    WHERE EXISTS (SELECT 1 FROM steps s WHERE s.state = 'in hand' AND s.person_id = h.value ->> 'PersonID')
    OR EXISTS (SELECT 1 FROM steps s, json_each(s.helpers) o
        WHERE s.helpers IS NOT NULL AND s.id <> NEW.id AND o.value ->> 'PersonID' = h.value ->> 'PersonID'))
BEGIN
    SELECT RAISE(ABORT, 'the helper has something else in hand');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER steps_in_hand_no_helper BEFORE UPDATE OF state, person_id ON steps
WHEN NEW.state = 'in hand' AND EXISTS (SELECT 1 FROM steps s, json_each(s.helpers) h
    WHERE s.helpers IS NOT NULL AND h.value ->> 'PersonID' = NEW.person_id)
BEGIN
    SELECT RAISE(ABORT, 'the person helps with something else');
END;
-- +goose StatementEnd
