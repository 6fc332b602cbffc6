-- A tap is taken back without reading all that was ever tapped for its step.

-- +goose Up
-- Where the step stood before the tap, as JSON; NULL where that hangs on other
-- steps too (runs), and in rows of before this column.
ALTER TABLE taps ADD COLUMN was TEXT CHECK (was IS NULL OR (json_valid(was) AND step_id IS NOT NULL AND act = ''));
CREATE INDEX taps_of_step_in_run ON taps (step_id) WHERE act <> '';
