INSERT INTO extra_hours (date, opens, closes) VALUES ('2026-11-28', 480, 600);
INSERT INTO stays (person_id, from_date, until_date) VALUES (2, '2026-12-01', '2026-12-02');
INSERT INTO closures (station_id, from_date, until_date) VALUES (1, '2026-12-03', '2026-12-03');
INSERT INTO loans (clamp_class_id, count, from_date, until_date) VALUES (1, 4, '2026-12-01', '2026-12-05');
INSERT INTO wanted (step_id, day, person_id) VALUES (3, '', 1);
INSERT INTO steered (id, act, kept_at, kept_by, change, says, was) VALUES (1, 's1', '2026-11-26 09:00:00+00:00', 1, '{"Kind":"loan"}', '{"say":"4 clamps more."}', '{}');
INSERT INTO plan_moves (id, day, at, cause, steered_id, moved) VALUES (1, '2026-11-26', '2026-11-26 09:00:00+00:00', 'steered', 1, '{"3":-30}');
