INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, helper_id) VALUES ('f1', 'manage', 3, 2, '', '', '2026-11-26 08:14:00+00:00', 1);
UPDATE steps SET helpers = NULL, helped = 120 WHERE id = 3;
