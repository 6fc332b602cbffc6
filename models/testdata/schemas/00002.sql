INSERT INTO commissions (id, name, client, promised_on, weight, state, taken_at, note) VALUES (1, 'Shelf', 'A. Client', '2026-12-18', 3, 'open', '2026-11-20 08:00:00+00:00', 'by the door');
INSERT INTO pieces (id, commission_id, name, pattern, measures, choices) VALUES (1, 1, 'Shelf', 'shelf', '{"width":"800 mm"}', '{"species":"ash"}');
INSERT INTO parts (id, commission_id, piece_id, key, name, quantity, length, width, thickness, rough_length, rough_width, rough_thickness, species, grain, note)
VALUES (1, 1, 1, 'board', 'Board', 3, 800000000, 100000000, 22000000, 840000000, 110000000, 27000000, 'ash', 'length', '');
INSERT INTO assemblies (id, commission_id, piece_id, key, name) VALUES (1, 1, 1, 'panel', 'Panel'), (2, 1, 1, 'shelf', 'Shelf');
INSERT INTO assembly_parts (assembly_id, part_id, quantity) VALUES (1, 1, 3);
INSERT INTO assembly_assemblies (assembly_id, inner_id) VALUES (2, 1);
INSERT INTO steps (id, commission_id, piece_id, position, key, name, kind, phase, verb, station_id, setup_id, attended, unattended, rest, interruptible, hands, dusty, wet, open_time, glue_id, finish_id, makes_id, cautions, note, state, person_id, started_at, taken_at, worked, finished_at, rest_ends_at, done_at, trouble)
VALUES (1, 1, 1, 0, 'plane', 'Plane', 'plane', 'milling', 'plane', 1, 1, 15, 0, '', 1, 1, 1, 0, 0, NULL, NULL, NULL, '[]', '', 'done', 1, '2026-11-23 08:00:00+00:00', NULL, 900, '2026-11-23 08:15:00+00:00', NULL, '2026-11-23 08:15:00+00:00', ''),
       (2, 1, 1, 1, 'glue', 'Glue up', 'glue', 'glue-up', 'glue', 2, NULL, 30, 60, 'in clamps', 0, 1, 0, 0, 8, 1, NULL, 1, '["Gloves on."]', '', 'resting', 1, '2026-11-23 09:00:00.25+00:00', NULL, 1800, '2026-11-23 09:30:00.25+00:00', '2026-11-23 10:30:00.25+00:00', NULL, ''),
       (3, 1, 1, 2, 'oil', 'Oil', 'coat', 'finishing', 'oil', 2, NULL, 20, 720, 'drying', 0, 1, 0, 1, 0, NULL, 1, NULL, '[]', '', 'todo', NULL, NULL, NULL, 0, NULL, NULL, NULL, '');
INSERT INTO step_parts (step_id, part_id, quantity) VALUES (1, 1, 3);
INSERT INTO step_assemblies (step_id, assembly_id) VALUES (3, 1);
INSERT INTO step_clamps (step_id, clamp_class_id, count) VALUES (2, 1, 5);
INSERT INTO links (commission_id, before_id, after_id, "from", min_lag, max_lag, why) VALUES (1, 1, 2, 'end', 0, NULL, 'flat first'), (1, 2, 3, 'end', 60, 2880, 'cured');
