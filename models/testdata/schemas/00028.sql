INSERT INTO known_browsers (secret, seen_at) VALUES ('00000000000000000000000000000000000000000000000000000000000000ab', '2026-11-28 08:00:00+00:00');
INSERT INTO tries (whose, asker, failed) VALUES (0, 'browser 1', 2);
INSERT INTO tries (whose, asker, failed) VALUES (0, '', 9);
