INSERT INTO boards (id, species, quarter, thickness, length, width, count, log, in_log, note) VALUES (1, 'ash', '', 27000000, 2400000000, 180000000, 4, 'L1', 1, 'by the wall');
INSERT INTO board_defects (board_id, x, y, length, width, note) VALUES (1, 100000000, 0, 50000000, 30000000, 'knot');
