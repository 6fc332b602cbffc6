-- Steps under one setup may still differ in what the maker sets for them: a stop,
-- a sled. Empty: as the setup says.

-- +goose Up
ALTER TABLE steps ADD COLUMN set_to TEXT NOT NULL DEFAULT '';
