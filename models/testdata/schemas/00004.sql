INSERT INTO plans (id, made_at, origin, revision, status, objective, bound, seed, schedules, seconds, moved, note, current)
VALUES (1, '2026-11-23 09:45:00+00:00', '2026-11-23 09:45:00+00:00', 41, 'optimal', 100, 100, 1, 20, 0.1, 0, '', 1);
INSERT INTO plan_steps (plan_id, step_id, setup_start, start, attended_end, "end", person_ids)
VALUES (1, 3, '2026-11-23 11:30:00+00:00', '2026-11-23 11:30:00+00:00', '2026-11-23 11:50:00+00:00', '2026-11-23 23:50:00+00:00', '[1]');
INSERT INTO plan_setups (plan_id, station_id, setup_id, step_id, start, minutes) VALUES (1, 1, 1, 3, '2026-11-23 11:20:00+00:00', 8);
