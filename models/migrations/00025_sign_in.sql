-- Who may do what: the planner's passphrase, people's PINs, the tablets that are
-- enrolled, who is signed in, and a journal of it all. No secret stands here: only
-- what holds one against it.

-- +goose Up
CREATE TABLE sign_in (
    id         INTEGER  PRIMARY KEY CHECK (id = 1),
    passphrase TEXT     NOT NULL CHECK (length(passphrase) <= 200), -- its hash; empty: nobody is asked who they are
    set_at     DATETIME CHECK ((set_at IS NULL) = (passphrase = '') AND set_at GLOB '????-??-?? ??:??:??*+00:00'),
    idle       INTEGER  NOT NULL CHECK (idle BETWEEN 1 AND 480) -- minutes after which a person is asked again
);
INSERT INTO sign_in (id, passphrase, idle) VALUES (1, '', 15);

CREATE TABLE pins (
    person_id INTEGER  PRIMARY KEY REFERENCES people (id),
    hash      TEXT     NOT NULL CHECK (length(hash) BETWEEN 1 AND 200),
    given     INTEGER  NOT NULL CHECK (given IN (0, 1)), -- drawn by the program; the person sets one of their own
    set_at    DATETIME NOT NULL CHECK (set_at GLOB '????-??-?? ??:??:??*+00:00')
);

-- Tries are counted before they are looked at: neither a thousand at once nor a
-- restart makes more of them.
CREATE TABLE tries (
    whose      INTEGER  PRIMARY KEY CHECK (whose >= 0), -- a person; 0: the planner's passphrase
    failed     INTEGER  NOT NULL CHECK (failed >= 1),   -- in a row
    wait_until DATETIME CHECK (wait_until GLOB '????-??-?? ??:??:??*+00:00'),
    locked_at  DATETIME CHECK (locked_at IS NULL OR (whose > 0 AND locked_at GLOB '????-??-?? ??:??:??*+00:00'))
);

-- What a tablet, or a program, shows to be let in.
CREATE TABLE access_keys (
    id         INTEGER  PRIMARY KEY AUTOINCREMENT,
    kind       TEXT     NOT NULL CHECK (kind IN ('tablet', 'program')),
    name       TEXT     NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    code       TEXT     UNIQUE CHECK (length(code) = 64),   -- of the code that enrols a tablet, once
    code_until DATETIME CHECK ((code_until IS NULL) = (code IS NULL) AND code_until GLOB '????-??-?? ??:??:??*+00:00'),
    secret     TEXT     UNIQUE CHECK (length(secret) = 64), -- empty until the code was used
    tablet     TEXT     CHECK (length(tablet) BETWEEN 1 AND 100),
    made_at    DATETIME NOT NULL CHECK (made_at GLOB '????-??-?? ??:??:??*+00:00'),
    seen_at    DATETIME CHECK (seen_at GLOB '????-??-?? ??:??:??*+00:00'),
    ended_at   DATETIME CHECK (ended_at GLOB '????-??-?? ??:??:??*+00:00'),
    CHECK (kind = 'tablet' OR (code IS NULL AND tablet IS NULL AND secret IS NOT NULL)),
    CHECK ((kind = 'tablet' AND secret IS NOT NULL) = (tablet IS NOT NULL))
);
CREATE UNIQUE INDEX access_keys_by_name ON access_keys (kind, name) WHERE ended_at IS NULL;
CREATE UNIQUE INDEX access_keys_by_tablet ON access_keys (tablet) WHERE ended_at IS NULL AND tablet IS NOT NULL;

CREATE TABLE sessions (
    id        INTEGER  PRIMARY KEY AUTOINCREMENT,
    token     TEXT     NOT NULL UNIQUE CHECK (length(token) = 64),
    role      TEXT     NOT NULL CHECK (role IN ('bench', 'planner')),
    person_id INTEGER  REFERENCES people (id),
    key_id    INTEGER  REFERENCES access_keys (id), -- of the tablet
    made_at   DATETIME NOT NULL CHECK (made_at GLOB '????-??-?? ??:??:??*+00:00'),
    seen_at   DATETIME NOT NULL CHECK (seen_at GLOB '????-??-?? ??:??:??*+00:00'),
    ended_at  DATETIME CHECK ((ended_at IS NULL) = (ended = '') AND ended_at GLOB '????-??-?? ??:??:??*+00:00'),
    ended     TEXT     NOT NULL CHECK (ended IN ('', 'off', 'idle', 'stopped')), -- by the person, by itself, by the planner
    CHECK (role = 'planner' OR (person_id IS NOT NULL AND key_id IS NOT NULL))
);
CREATE INDEX sessions_by_person ON sessions (person_id, key_id);
CREATE INDEX sessions_by_key ON sessions (key_id);
CREATE INDEX sessions_open ON sessions (id) WHERE ended_at IS NULL;

CREATE TABLE sign_in_events (
    seq       INTEGER  PRIMARY KEY AUTOINCREMENT,
    at        DATETIME NOT NULL CHECK (at GLOB '????-??-?? ??:??:??*+00:00'),
    kind      TEXT     NOT NULL CHECK (kind <> ''),
    person_id INTEGER  REFERENCES people (id),
    key_id    INTEGER  REFERENCES access_keys (id)
);
CREATE INDEX sign_in_events_by_person ON sign_in_events (person_id);
CREATE INDEX sign_in_events_by_key ON sign_in_events (key_id);
