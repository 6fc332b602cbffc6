-- A step may be pinned to a time: if it is not begun, it is to start then.

-- +goose Up
ALTER TABLE steps ADD COLUMN pinned_at DATETIME CHECK (pinned_at GLOB '????-??-?? ??:??:00+00:00');
