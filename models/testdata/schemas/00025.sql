INSERT INTO pins (person_id, hash, given, set_at) VALUES (1, '$argon2id$invented', 1, '2026-11-27 08:00:00+00:00');
INSERT INTO tries (whose, failed) VALUES (2, 3);
INSERT INTO access_keys (id, kind, name, secret, tablet, made_at) VALUES (1, 'tablet', 'Red', '0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef', 't1', '2026-11-27 08:00:00+00:00');
INSERT INTO sessions (token, role, person_id, key_id, made_at, seen_at, ended) VALUES ('fedcba9876543210fedcba9876543210fedcba9876543210fedcba9876543210', 'bench', 1, 1, '2026-11-27 08:00:00+00:00', '2026-11-27 08:05:00+00:00', '');
INSERT INTO sign_in_events (at, kind, person_id, key_id) VALUES ('2026-11-27 08:00:00+00:00', 'in', 1, 1);
