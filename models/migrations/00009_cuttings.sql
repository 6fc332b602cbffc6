-- Boards that were cut: what went off the rack and came back, and which parts it
-- gave. And parts that are to match in colour.

-- +goose Up
CREATE TABLE cuttings (
    id        INTEGER PRIMARY KEY,
    form_id   TEXT     NOT NULL UNIQUE CHECK (length(form_id) BETWEEN 1 AND 64), -- the same form twice is one cutting
    name      TEXT     NOT NULL CHECK (trim(name) <> ''),
    at        DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00'),
    undone_at DATETIME CHECK (undone_at GLOB '????-??-?? ??:??:??*+00:00')
);

-- Every record of boards that a cutting changed, as it was and as it was left.
CREATE TABLE cutting_boards (
    id         INTEGER PRIMARY KEY,
    cutting_id INTEGER NOT NULL REFERENCES cuttings (id) ON DELETE CASCADE,
    board_id   INTEGER NOT NULL, -- the number on the wood: the record may be gone
    used       INTEGER NOT NULL CHECK (used BETWEEN 0 AND 500),
    before     TEXT    CHECK (json_valid(before)), -- NULL: it is new
    after      TEXT    CHECK (json_valid(after)),  -- NULL: it was used up
    UNIQUE (cutting_id, board_id),
    CHECK (before IS NOT NULL OR after IS NOT NULL)
);

CREATE TABLE cutting_parts (
    id         INTEGER PRIMARY KEY,
    cutting_id INTEGER NOT NULL REFERENCES cuttings (id) ON DELETE CASCADE,
    part_id    INTEGER NOT NULL REFERENCES parts (id) ON DELETE CASCADE,
    quantity   INTEGER NOT NULL CHECK (quantity > 0),
    UNIQUE (cutting_id, part_id)
);
CREATE INDEX cutting_parts_by_part ON cutting_parts (part_id);

-- The number of the board that an offcut was cut from; 0: it is no offcut.
ALTER TABLE boards ADD COLUMN cut_from INTEGER NOT NULL DEFAULT 0 CHECK (cut_from BETWEEN 0 AND 9223372036854775807);

-- Parts of a commission with the same name here come from one board, or from one log.
ALTER TABLE parts ADD COLUMN together TEXT NOT NULL DEFAULT '';
