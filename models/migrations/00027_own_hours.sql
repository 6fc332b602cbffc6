-- Hours of one person beside those of the shop; on what day a day off was noted; and
-- all that came between two plans, where that was several things.

-- +goose Up
ALTER TABLE extra_hours ADD COLUMN person_id INTEGER REFERENCES people (id) ON DELETE CASCADE; -- NULL: the whole shop
CREATE INDEX extra_hours_by_person ON extra_hours (person_id);

DROP TRIGGER extra_hours_apart;
-- +goose StatementBegin
CREATE TRIGGER extra_hours_apart BEFORE INSERT ON extra_hours
WHEN EXISTS (SELECT 1 FROM extra_hours h
             WHERE h.date = NEW.date AND h.opens < NEW.closes AND NEW.opens < h.closes
               AND (h.person_id IS NULL OR h.person_id IS NEW.person_id))
BEGIN
    SELECT RAISE(ABORT, 'extra hours of one day overlap');
END;
-- +goose StatementEnd

ALTER TABLE days_off ADD COLUMN noted_on TEXT NOT NULL DEFAULT '' CHECK (noted_on = '' OR noted_on IS date(noted_on)); -- '': nobody knows

ALTER TABLE plan_moves ADD COLUMN beside TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(beside)); -- what came together with the cause
