INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, was) VALUES ('g1', 'put-down', 3, 2, '', '', '2026-11-26 08:30:00+00:00', '{"State":"in hand","PersonID":2,"StartedAt":"2026-11-23T10:10:00Z","TakenAt":"2026-11-26T08:10:00Z","Worked":600}');
UPDATE steps SET state = 'put down', taken_at = NULL, worked = 1800 WHERE id = 3;
