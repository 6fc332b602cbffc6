-- Rows of an invented shop, written as the program of this schema wrote them: each file
-- fills what its migration brought. TestEverySchemaIsBroughtUpToDate plays them.
UPDATE shop SET name = 'Elder Yard', time_zone = 'Europe/Zurich', units = 'inch', revision = 41;
INSERT INTO hours (weekday, opens, closes) VALUES (1, 480, 720), (1, 750, 1020);
INSERT INTO people (id, name, active) VALUES (1, 'Ana', 1), (2, 'Ben', 1), (3, 'Cleo', 0);
INSERT INTO days_off (date, person_id, reason) VALUES ('2026-12-24', NULL, 'Eve'), ('2026-12-23', 2, '');
INSERT INTO zones (id, key, name) VALUES (1, 'machines', 'Machine room');
INSERT INTO stations (id, key, name, kind, places, max_width, max_thickness, min_length, open_ended, setup_minutes, reset_minutes, setup_id, zone_id, down, caution)
VALUES (1, 'planer', 'Planer', 'planer', 1, 400000000, 220000000, 200000000, 0, 8, 3, NULL, 1, 0, 'Guards on; see the manual.'),
       (2, 'bench', 'Bench', 'bench', 3, 0, 0, 0, 0, 0, 0, NULL, NULL, 0, '');
INSERT INTO setups (id, station_id, family, state, instruction) VALUES (1, 1, 'thickness', 'thickness 22 mm', 'Planer: set 22 mm');
UPDATE stations SET setup_id = 1 WHERE id = 1;
INSERT INTO clamp_classes (id, key, name, reach, count) VALUES (1, 'bar-600', 'Bar clamps', 600000000, 10);
INSERT INTO glues (id, key, name, open_min, clamp_min, cure_min, least_temp_c, caution) VALUES (1, 'pva', 'PVA glue', 8, 45, 1440, 10, '');
INSERT INTO finishes (id, key, name, dry_min, recoat_least_min, recoat_greatest_min, cure_min, least_temp_c, caution) VALUES (1, 'oil', 'Oil', 720, 720, 4320, 20160, 10, 'Rags flat to dry.');
