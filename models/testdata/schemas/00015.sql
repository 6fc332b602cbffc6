INSERT INTO part_ticks (id, step_id, part_id, number, done, person_id, tablet, at) VALUES ('k1', 1, 1, 1, 1, 1, 't1', '2026-11-23 08:05:00+00:00');
INSERT INTO photos (hash, width, height, jpeg) VALUES ('0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef', 2, 2, x'ffd8ffd9');
INSERT INTO step_notes (id, step_id, person_id, tablet, text, photo, at) VALUES ('n1', 1, 1, 't1', 'tear-out', '0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef', '2026-11-23 08:10:00+00:00');
