-- Whose wrong tries at the passphrase are counted together: strangers with strangers, and
-- who is known each for themselves.

-- +goose Up
-- Browsers, beside the tablets that are enrolled, on which the planner signed in.
CREATE TABLE known_browsers (
    id      INTEGER  PRIMARY KEY AUTOINCREMENT,
    secret  TEXT     NOT NULL UNIQUE CHECK (length(secret) = 64), -- hash of what it shows
    seen_at DATETIME NOT NULL CHECK (seen_at GLOB '????-??-?? ??:??:??*+00:00') -- when the planner last signed in there
);

CREATE TABLE tries_by_asker (
    whose      INTEGER  NOT NULL CHECK (whose >= 0),  -- a person; 0: the planner's passphrase
    asker      TEXT     NOT NULL DEFAULT '' CHECK (asker = '' OR (whose = 0 AND (asker GLOB 'tablet [1-9]*' OR asker GLOB 'browser [1-9]*'))), -- who tried; '': whoever it was
    failed     INTEGER  NOT NULL CHECK (failed >= 1), -- in a row
    wait_until DATETIME CHECK (wait_until GLOB '????-??-?? ??:??:??*+00:00'),
    locked_at  DATETIME CHECK (locked_at IS NULL OR (whose > 0 AND locked_at GLOB '????-??-?? ??:??:??*+00:00')),
    PRIMARY KEY (whose, asker)
);
INSERT INTO tries_by_asker (whose, failed, wait_until, locked_at) SELECT whose, failed, wait_until, locked_at FROM tries;
DROP TABLE tries;
ALTER TABLE tries_by_asker RENAME TO tries;
