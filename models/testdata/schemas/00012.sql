INSERT INTO taps (id, kind, station_id, person_id, tablet, note, at, plan_id) VALUES ('c1', 'down', 2, 1, '', 'vise broken', '2026-11-23 10:00:00+00:00', 1), ('c2', 'up', 2, 1, '', '', '2026-11-23 10:05:00+00:00', 1);
INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, act, share) VALUES ('c3', 'start', 3, 2, '', '', '2026-11-23 10:10:00+00:00', 'c3', 20);
UPDATE steps SET state = 'in hand', person_id = 2, started_at = '2026-11-23 10:10:00+00:00', taken_at = '2026-11-23 10:10:00+00:00', run = 'c3', run_share = 20, counted_at = '2026-11-23 10:10:00+00:00' WHERE id = 3;
