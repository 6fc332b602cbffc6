-- Boards on hand: the wood in the rack, and the places its maker marked.

-- +goose Up
CREATE TABLE boards (
    id        INTEGER PRIMARY KEY AUTOINCREMENT, -- chalked on the board: never used twice
    species   TEXT    NOT NULL CHECK (species <> ''),
    quarter   TEXT    NOT NULL,
    thickness INTEGER NOT NULL CHECK (thickness BETWEEN 0 AND 100000000000),
    length    INTEGER NOT NULL CHECK (length BETWEEN 1 AND 100000000000),
    width     INTEGER NOT NULL CHECK (width BETWEEN 1 AND 100000000000),
    count     INTEGER NOT NULL CHECK (count BETWEEN 1 AND 500),
    log       TEXT    NOT NULL,
    in_log    INTEGER NOT NULL CHECK (in_log BETWEEN 0 AND 100000),
    note      TEXT    NOT NULL,
    CHECK (quarter <> '' OR thickness > 0),
    CHECK ((log = '') = (in_log = 0))
);
CREATE INDEX boards_by_log ON boards (log) WHERE log <> '';

-- Rectangles that no part may cover: x along the grain from the left end, y
-- across it from the lower edge.
CREATE TABLE board_defects (
    id       INTEGER PRIMARY KEY,
    board_id INTEGER NOT NULL REFERENCES boards (id) ON DELETE CASCADE,
    x        INTEGER NOT NULL CHECK (x BETWEEN 0 AND 100000000000),
    y        INTEGER NOT NULL CHECK (y BETWEEN 0 AND 100000000000),
    length   INTEGER NOT NULL CHECK (length BETWEEN 1 AND 100000000000),
    width    INTEGER NOT NULL CHECK (width BETWEEN 1 AND 100000000000),
    note     TEXT    NOT NULL
);
CREATE INDEX board_defects_by_board ON board_defects (board_id);
