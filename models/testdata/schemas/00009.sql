INSERT INTO cuttings (id, form_id, name, at) VALUES (1, 'f1', 'Shelf', '2026-11-22 11:00:00+00:00');
INSERT INTO cutting_boards (cutting_id, board_id, used, before, after) VALUES (1, 1, 1, '{}', '{}');
INSERT INTO cutting_parts (cutting_id, part_id, quantity) VALUES (1, 1, 3);
UPDATE parts SET together = 'front';
