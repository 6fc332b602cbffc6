-- When a station last went out of order is looked up at every plan that is saved.

-- +goose Up
CREATE INDEX taps_of_order ON taps (station_id) WHERE kind IN ('down', 'up');
