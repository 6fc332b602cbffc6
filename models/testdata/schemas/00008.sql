UPDATE steps SET set_to = 'stop at 800 mm' WHERE id = 1;
