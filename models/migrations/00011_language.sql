-- The language that the screens are read in, as a BCP 47 code.

-- +goose Up
ALTER TABLE shop ADD COLUMN language TEXT NOT NULL DEFAULT 'en' CHECK (language IN ('en', 'de'));
