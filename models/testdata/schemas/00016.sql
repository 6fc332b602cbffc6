INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('e1', 'settled', 3, 2, '', '', '2026-11-26 08:00:00+00:00'), ('e2', 'start', 3, 2, '', '', '2026-11-26 08:10:00+00:00');
INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, helper_id) VALUES ('e3', 'help', 3, 2, '', '', '2026-11-26 08:12:00+00:00', 1);
UPDATE steps SET state = 'in hand', taken_at = '2026-11-26 08:10:00+00:00', trouble = '', trouble_kind = '', expected_on = '' WHERE id = 3;
UPDATE steps SET helpers = '[{"PersonID":1,"Since":"2026-11-26T08:12:00Z"}]' WHERE id = 3;
