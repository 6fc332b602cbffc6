-- Commissions: their pieces, parts, assemblies, steps and links.
-- What belongs to a piece belongs to the piece's commission: the pairs of
-- foreign keys say so.

-- +goose Up
CREATE TABLE commissions (
    id          INTEGER PRIMARY KEY,
    name        TEXT     NOT NULL CHECK (trim(name) <> ''),
    client      TEXT     NOT NULL,
    promised_on TEXT     NOT NULL CHECK (promised_on IS date(promised_on)),
    weight      INTEGER  NOT NULL CHECK (weight BETWEEN 1 AND 9),
    state       TEXT     NOT NULL CHECK (state IN ('open', 'held', 'delivered', 'dropped')),
    taken_at    DATETIME NOT NULL CHECK (taken_at GLOB '????-??-?? ??:??:??*+00:00'),
    note        TEXT     NOT NULL
);
CREATE INDEX commissions_by_state ON commissions (state);

CREATE TABLE pieces (
    id            INTEGER PRIMARY KEY,
    commission_id INTEGER NOT NULL REFERENCES commissions (id) ON DELETE CASCADE,
    name          TEXT    NOT NULL CHECK (trim(name) <> ''),
    pattern       TEXT    NOT NULL,
    measures      TEXT    NOT NULL CHECK (json_valid(measures)),
    choices       TEXT    NOT NULL CHECK (json_valid(choices)),
    UNIQUE (id, commission_id)
);
CREATE INDEX pieces_by_commission ON pieces (commission_id);

CREATE TABLE parts (
    id              INTEGER PRIMARY KEY,
    commission_id   INTEGER NOT NULL,
    piece_id        INTEGER NOT NULL,
    key             TEXT    NOT NULL CHECK (key <> ''),
    name            TEXT    NOT NULL CHECK (trim(name) <> ''),
    quantity        INTEGER NOT NULL CHECK (quantity BETWEEN 1 AND 10000),
    length          INTEGER NOT NULL CHECK (length BETWEEN 1 AND 100000000000),
    width           INTEGER NOT NULL CHECK (width BETWEEN 1 AND 100000000000),
    thickness       INTEGER NOT NULL CHECK (thickness BETWEEN 1 AND 100000000000),
    rough_length    INTEGER NOT NULL CHECK (rough_length BETWEEN 1 AND 100000000000),
    rough_width     INTEGER NOT NULL CHECK (rough_width BETWEEN 1 AND 100000000000),
    rough_thickness INTEGER NOT NULL CHECK (rough_thickness BETWEEN 1 AND 100000000000),
    species         TEXT    NOT NULL,
    grain           TEXT    NOT NULL CHECK (grain IN ('length', 'width', 'none')),
    note            TEXT    NOT NULL,
    UNIQUE (piece_id, key),
    FOREIGN KEY (piece_id, commission_id) REFERENCES pieces (id, commission_id) ON DELETE CASCADE
);
CREATE INDEX parts_by_commission ON parts (commission_id);

CREATE TABLE assemblies (
    id            INTEGER PRIMARY KEY,
    commission_id INTEGER NOT NULL,
    piece_id      INTEGER NOT NULL,
    key           TEXT    NOT NULL CHECK (key <> ''),
    name          TEXT    NOT NULL CHECK (trim(name) <> ''),
    UNIQUE (piece_id, key),
    FOREIGN KEY (piece_id, commission_id) REFERENCES pieces (id, commission_id) ON DELETE CASCADE
);
CREATE INDEX assemblies_by_commission ON assemblies (commission_id);

CREATE TABLE assembly_parts (
    id          INTEGER PRIMARY KEY,
    assembly_id INTEGER NOT NULL REFERENCES assemblies (id) ON DELETE CASCADE,
    part_id     INTEGER NOT NULL REFERENCES parts (id) ON DELETE CASCADE,
    quantity    INTEGER NOT NULL CHECK (quantity BETWEEN 1 AND 10000),
    UNIQUE (assembly_id, part_id)
);
CREATE INDEX assembly_parts_by_part ON assembly_parts (part_id);

CREATE TABLE assembly_assemblies (
    id          INTEGER PRIMARY KEY,
    assembly_id INTEGER NOT NULL REFERENCES assemblies (id) ON DELETE CASCADE,
    inner_id    INTEGER NOT NULL REFERENCES assemblies (id) ON DELETE CASCADE,
    UNIQUE (assembly_id, inner_id),
    CHECK (assembly_id <> inner_id)
);
CREATE INDEX assembly_assemblies_by_inner ON assembly_assemblies (inner_id);

CREATE TABLE steps (
    id            INTEGER PRIMARY KEY,
    commission_id INTEGER NOT NULL,
    piece_id      INTEGER NOT NULL,
    position      INTEGER NOT NULL CHECK (position BETWEEN 0 AND 1000000),
    key           TEXT    NOT NULL CHECK (key <> ''),
    name          TEXT    NOT NULL CHECK (trim(name) <> ''),
    kind          TEXT    NOT NULL,
    phase         TEXT    NOT NULL,
    verb          TEXT    NOT NULL,
    station_id    INTEGER NOT NULL REFERENCES stations (id),
    setup_id      INTEGER,
    attended      INTEGER NOT NULL CHECK (attended BETWEEN 1 AND 100000),
    unattended    INTEGER NOT NULL CHECK (unattended BETWEEN 0 AND 1000000),
    rest          TEXT    NOT NULL CHECK (rest IN ('', 'in clamps', 'drying', 'resting')),
    interruptible INTEGER NOT NULL CHECK (interruptible IN (0, 1)),
    hands         INTEGER NOT NULL CHECK (hands BETWEEN 1 AND 100),
    dusty         INTEGER NOT NULL CHECK (dusty IN (0, 1)),
    wet           INTEGER NOT NULL CHECK (wet IN (0, 1)),
    open_time     INTEGER NOT NULL CHECK (open_time BETWEEN 0 AND 10080),
    glue_id       INTEGER REFERENCES glues (id),
    finish_id     INTEGER REFERENCES finishes (id),
    makes_id      INTEGER REFERENCES assemblies (id),
    cautions      TEXT    NOT NULL CHECK (json_valid(cautions)),
    note          TEXT    NOT NULL,

    -- Where it stands. The journal is the authority; these columns are what it
    -- says, written in the same transaction as each row of it.
    state         TEXT    NOT NULL CHECK (state IN ('todo', 'in hand', 'put down', 'resting', 'done', 'in trouble')),
    person_id     INTEGER REFERENCES people (id),
    started_at    DATETIME CHECK (started_at GLOB '????-??-?? ??:??:??*+00:00'),
    taken_at      DATETIME CHECK (taken_at GLOB '????-??-?? ??:??:??*+00:00'),
    worked        INTEGER NOT NULL CHECK (worked BETWEEN 0 AND 1000000000),
    finished_at   DATETIME CHECK (finished_at GLOB '????-??-?? ??:??:??*+00:00'),
    rest_ends_at  DATETIME CHECK (rest_ends_at GLOB '????-??-?? ??:??:??*+00:00'),
    done_at       DATETIME CHECK (done_at GLOB '????-??-?? ??:??:??*+00:00'),
    trouble       TEXT    NOT NULL,

    UNIQUE (piece_id, key),
    UNIQUE (id, commission_id),
    FOREIGN KEY (piece_id, commission_id) REFERENCES pieces (id, commission_id) ON DELETE CASCADE,
    FOREIGN KEY (setup_id, station_id) REFERENCES setups (id, station_id),
    CHECK ((rest = '') = (unattended = 0)),
    CHECK ((state = 'in hand') = (taken_at IS NOT NULL)),
    CHECK ((state IN ('resting', 'done')) = (finished_at IS NOT NULL)),
    CHECK ((state = 'done') = (done_at IS NOT NULL)),
    CHECK ((state IN ('resting', 'done') AND unattended > 0) = (rest_ends_at IS NOT NULL)),
    CHECK ((started_at IS NULL) = (person_id IS NULL)),
    CHECK (state NOT IN ('in hand', 'put down', 'resting', 'done') OR started_at IS NOT NULL),
    CHECK (state <> 'todo' OR started_at IS NULL),
    CHECK (trouble = '' OR state = 'in trouble')
);
CREATE INDEX steps_by_commission ON steps (commission_id, piece_id, position);
CREATE INDEX steps_by_station ON steps (station_id);
-- A person has at most one step in hand.
CREATE UNIQUE INDEX steps_one_in_hand ON steps (person_id) WHERE state = 'in hand';

CREATE TABLE step_parts (
    id       INTEGER PRIMARY KEY,
    step_id  INTEGER NOT NULL REFERENCES steps (id) ON DELETE CASCADE,
    part_id  INTEGER NOT NULL REFERENCES parts (id) ON DELETE CASCADE,
    quantity INTEGER NOT NULL CHECK (quantity BETWEEN 1 AND 10000),
    UNIQUE (step_id, part_id)
);
CREATE INDEX step_parts_by_part ON step_parts (part_id);

CREATE TABLE step_assemblies (
    id          INTEGER PRIMARY KEY,
    step_id     INTEGER NOT NULL REFERENCES steps (id) ON DELETE CASCADE,
    assembly_id INTEGER NOT NULL REFERENCES assemblies (id) ON DELETE CASCADE,
    UNIQUE (step_id, assembly_id)
);
CREATE INDEX step_assemblies_by_assembly ON step_assemblies (assembly_id);

CREATE TABLE step_clamps (
    id             INTEGER PRIMARY KEY,
    step_id        INTEGER NOT NULL REFERENCES steps (id) ON DELETE CASCADE,
    clamp_class_id INTEGER NOT NULL REFERENCES clamp_classes (id),
    count          INTEGER NOT NULL CHECK (count BETWEEN 1 AND 10000),
    UNIQUE (step_id, clamp_class_id)
);
CREATE INDEX step_clamps_by_class ON step_clamps (clamp_class_id);

CREATE TABLE links (
    id            INTEGER PRIMARY KEY,
    commission_id INTEGER NOT NULL REFERENCES commissions (id) ON DELETE CASCADE,
    before_id     INTEGER NOT NULL,
    after_id      INTEGER NOT NULL,
    "from"        TEXT    NOT NULL CHECK ("from" IN ('end', 'start', 'attended')),
    min_lag       INTEGER NOT NULL CHECK (min_lag BETWEEN -1000000 AND 1000000),
    max_lag       INTEGER CHECK (max_lag BETWEEN -1000000 AND 1000000),
    why           TEXT    NOT NULL,
    UNIQUE (before_id, after_id, "from"),
    CHECK (before_id <> after_id),
    CHECK (max_lag IS NULL OR max_lag >= min_lag),
    FOREIGN KEY (before_id, commission_id) REFERENCES steps (id, commission_id) ON DELETE CASCADE,
    FOREIGN KEY (after_id, commission_id) REFERENCES steps (id, commission_id) ON DELETE CASCADE
);
CREATE INDEX links_by_commission ON links (commission_id);
CREATE INDEX links_by_after ON links (after_id);
