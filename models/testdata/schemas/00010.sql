INSERT INTO tablets (id, name, person_id, clock_off, tapped_at) VALUES ('t1', 'Red', 1, 3600, '2026-11-23 09:30:00.25+00:00');
INSERT INTO tap_queues (id, tablet, last) VALUES ('q1', 't1', 2);
INSERT INTO taps (id, kind, station_id, setup_id, person_id, tablet, note, at, queue, tablet_seq, came_at) VALUES ('b1', 'set', 1, 1, 1, 't1', '', '2026-11-23 09:50:00+00:00', 'q1', 1, '2026-11-23 09:55:00+00:00');
INSERT INTO returned_taps (id, tablet, queue, tablet_seq, request, why, at, came_at, answer) VALUES ('b2', 't1', 'q1', 2, '{"Kind":"start","StepID":1,"PersonID":1}', '{"say":"It is done."}', '2026-11-23 09:51:00+00:00', '2026-11-23 09:55:00+00:00', '');
