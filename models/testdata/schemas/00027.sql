INSERT INTO extra_hours (date, opens, closes, person_id) VALUES ('2026-11-28', 600, 720, 1);
INSERT INTO days_off (date, person_id, reason, noted_on) VALUES ('2026-12-08', 1, 'Cold', '2026-12-08');
INSERT INTO plan_moves (id, day, at, cause, moved, beside) VALUES (2, '2026-11-26', '2026-11-26 10:00:00+00:00', 'shop', '{"3":45}', '[{"cause":"steered","steered":1}]');
