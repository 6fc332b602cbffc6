UPDATE commissions SET edition = 2;
INSERT INTO removed_steps (commission_id, key, name, removed_at) VALUES (1, 'trim', 'Trim', '2026-11-22 10:00:00+00:00');
INSERT INTO own_patterns (key, title, source, made_at) VALUES ('our-shelf', 'Our shelf', 'title: Our shelf', '2026-11-22 10:00:00+00:00');
