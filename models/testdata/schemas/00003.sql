INSERT INTO taps (id, kind, step_id, station_id, setup_id, person_id, tablet, undoes, note, at, said_at)
VALUES ('a1', 'start', 1, 1, 1, 1, 't1', NULL, '', '2026-11-23 08:00:00+00:00', '2026-11-23 08:00:01+00:00'),
       ('a2', 'finish', 1, NULL, NULL, 1, 't1', NULL, '', '2026-11-23 08:15:00+00:00', NULL),
       ('a3', 'start', 2, NULL, NULL, 1, 't1', NULL, '', '2026-11-23 09:00:00.25+00:00', NULL),
       ('a4', 'finish', 2, NULL, NULL, 1, 't1', NULL, '', '2026-11-23 09:30:00.25+00:00', NULL),
       ('a5', 'start', 3, NULL, NULL, 2, '', NULL, '', '2026-11-23 09:40:00+00:00', NULL),
       ('a6', 'undo', 3, NULL, NULL, 2, '', 5, '', '2026-11-23 09:41:00+00:00', NULL),
       ('a7', 'set', NULL, 1, 1, 1, '', NULL, '', '2026-11-23 09:42:00+00:00', NULL);
