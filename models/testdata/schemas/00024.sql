INSERT INTO taps (id, kind, station_id, person_id, tablet, note, at) VALUES ('h1', 'down', 1, 1, '', 'knives dull', '2026-11-26 08:40:00+00:00');
UPDATE stations SET down = 1 WHERE id = 1;
